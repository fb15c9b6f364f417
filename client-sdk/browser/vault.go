//go:build js && wasm

package browser

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"
	"sync"
	"syscall/js"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

// The databases of the phone app.
const (
	Household = "leafturn"        // the household of this phone
	Sample    = "leafturn-sample" // the sample household, apart from the real one
)

// Vault is a replica.Vault in an IndexedDB database. It is safe for concurrent use,
// by other tabs and workers as well.
type Vault struct {
	db      js.Value
	outdate js.Func

	mu sync.Mutex
	me *owner // guarded by mu; nil if not read yet
}

// OpenVault opens the database of a name, and makes it if there is none.
func OpenVault(ctx context.Context, name string) (*Vault, error) {
	db, err := openDatabase(ctx, name)
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	v := &Vault{db: db}
	// A newer page that wants to change the database's form waits until we let go.
	v.outdate = js.FuncOf(func(js.Value, []js.Value) any { db.Call("close"); return nil })
	db.Set("onversionchange", v.outdate)
	return v, nil
}

// Close lets the database go. The vault must not be used afterwards.
func (v *Vault) Close() {
	v.db.Set("onversionchange", js.Null())
	v.db.Call("close")
	v.outdate.Release()
}

// owner is whose vault it is.
type owner struct {
	replica.Identity
	device model.DeviceID
}

const ownerKey = "me"

func ownerOf(id replica.Identity) *owner {
	key := ed25519.NewKeyFromSeed(id.Seed).Public().(ed25519.PublicKey)
	id.Seed = bytes.Clone(id.Seed)
	return &owner{Identity: id, device: model.DeviceIDOf(key)}
}

func (o *owner) record() map[string]any {
	return map[string]any{"household": o.Household.String(), "device": o.device.String(), "seed": jsBytes(o.Seed), "local": o.Local}
}

// readOwner reads the record, ErrNobody if there is none.
func readOwner(r js.Value) (*owner, error) {
	if r.IsUndefined() {
		return nil, replica.ErrNobody
	}
	household, err := model.ParseID[model.Household](r.Get("household").String())
	if err != nil {
		return nil, fmt.Errorf("read identity: %w", err)
	}
	device, err := model.ParseID[model.Device](r.Get("device").String())
	if err != nil {
		return nil, fmt.Errorf("read identity: %w", err)
	}
	id := replica.Identity{Household: household, Seed: goBytes(r.Get("seed")), Local: r.Get("local").Bool()}
	return &owner{Identity: id, device: device}, nil
}

func getOwner(t tx) js.Value { return t.store(identities).Call("get", ownerKey) }

// Identity says who this phone is.
func (v *Vault) Identity(ctx context.Context) (*replica.Identity, error) {
	o, err := v.loadOwner(ctx)
	if errors.Is(err, replica.ErrNobody) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	id := o.Identity
	id.Seed = bytes.Clone(id.Seed)
	return &id, nil
}

func (v *Vault) loadOwner(ctx context.Context) (*owner, error) {
	got, err := v.view(ctx, []string{identities}, func(t tx) []js.Value { return []js.Value{getOwner(t)} })
	if err != nil {
		return nil, err
	}
	o, err := readOwner(got[0])
	if err != nil {
		return nil, err
	}
	v.remember(o)
	return o, nil
}

func (v *Vault) remember(o *owner) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.me = o
}

// owner gives whose vault it is, from memory if it has been read.
func (v *Vault) owner(ctx context.Context) (*owner, error) {
	v.mu.Lock()
	o := v.me
	v.mu.Unlock()
	if o != nil {
		return o, nil
	}
	return v.loadOwner(ctx)
}

// Begin makes an empty vault that of a phone.
func (v *Vault) Begin(ctx context.Context, b replica.Beginning) error {
	o := ownerOf(b.Identity)
	err := v.update(ctx, []string{identities, heads, batches, pendings, kept},
		func(t tx) []js.Value { return []js.Value{getOwner(t)} },
		func(t tx, got []js.Value) error {
			if !got[0].IsUndefined() {
				return replica.ErrTaken
			}
			t.store(identities).Call("add", o.record(), ownerKey)
			for name, value := range b.Kept {
				keep(t, name, value)
			}
			addPending(t, b.Pending)
			if b.First == nil {
				return nil
			}
			return appendTo(t, o.Household, map[model.DeviceID]oplog.Head{}, []*oplog.Batch{b.First})
		})
	if err != nil {
		return err
	}
	v.remember(o)
	return nil
}

// Succeed makes the vault that of the same phone under another key.
func (v *Vault) Succeed(ctx context.Context, s replica.Succession) error {
	o := ownerOf(s.Identity)
	err := v.update(ctx, []string{identities, heads, batches, pendings, kept, snapshots},
		func(t tx) []js.Value { return []js.Value{getOwner(t), t.store(heads).Call("get", o.device.String())} },
		func(t tx, got []js.Value) error {
			old, err := readOwner(got[0])
			if err != nil {
				return err
			}
			known, err := decodeHead(got[1])
			if err != nil {
				return err
			}
			if old.device != s.Old {
				return replica.ErrTwoWriters
			}
			t.store(identities).Call("put", o.record(), ownerKey)
			t.store(pendings).Call("clear")
			dropLog(t, s.Old)
			for name, value := range s.Kept {
				keep(t, name, value)
			}
			return appendTo(t, o.Household, map[model.DeviceID]oplog.Head{o.device: known}, append(slices.Clone(s.Log), s.First))
		})
	if err != nil {
		return err
	}
	v.remember(o)
	return nil
}

// Replace puts another history of a log in the place of what is kept of it.
func (v *Vault) Replace(ctx context.Context, x replica.Replacement) error {
	return v.update(ctx, []string{identities, heads, batches, kept, snapshots},
		func(t tx) []js.Value { return []js.Value{getOwner(t)} },
		func(t tx, got []js.Value) error {
			o, err := readOwner(got[0])
			if err != nil {
				return err
			}
			dropLog(t, x.Device)
			for name, value := range x.Kept {
				keep(t, name, value)
			}
			return appendTo(t, o.Household, map[model.DeviceID]oplog.Head{}, x.Log)
		})
}

// dropLog forgets a log, and the snapshot, which has it too.
func dropLog(t tx, d model.DeviceID) {
	t.store(snapshots).Call("clear")
	t.store(heads).Call("delete", d.String())
	t.store(batches).Call("delete", keyRange.Call("bound", batchKey(d, 0), batchKey(d, 1<<53)))
}

// Wipe forgets everything.
func (v *Vault) Wipe(ctx context.Context) error {
	v.remember(nil)
	return v.write(ctx, allStores, func(t tx) {
		for _, name := range allStores {
			t.store(name).Call("clear")
		}
	})
}
