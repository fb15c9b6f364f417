// Package memvault is a phone's vault in memory, for tests and scripts.
package memvault

import (
	"bytes"
	"cmp"
	"context"
	"crypto/ed25519"
	"math"
	"slices"
	"sync"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
)

// Vault is a replica.Vault in memory. It is safe for concurrent use.
type Vault struct {
	mu         sync.Mutex // guards all below
	log        *memlog.Log
	identity   *replica.Identity
	device     model.DeviceID
	pending    []replica.Pending
	snapshot   []byte
	kept       map[string][]byte
	photos     map[model.PhotoSum]replica.Photo
	renderings map[rendering]content
}

type rendering struct {
	sum  model.PhotoSum
	size int
}

type content struct {
	mime string
	data []byte
}

// New makes an empty vault.
func New() *Vault {
	v := &Vault{}
	v.clear()
	return v
}

func (v *Vault) clear() {
	v.log, v.identity, v.device, v.pending, v.snapshot = nil, nil, model.DeviceID{}, nil, nil
	v.kept = map[string][]byte{}
	v.photos = map[model.PhotoSum]replica.Photo{}
	v.renderings = map[rendering]content{}
}

// Identity says who this phone is.
func (v *Vault) Identity(context.Context) (*replica.Identity, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.identity == nil {
		return nil, nil
	}
	id := *v.identity
	id.Seed = slices.Clone(id.Seed)
	return &id, nil
}

// Begin makes an empty vault that of a phone.
func (v *Vault) Begin(ctx context.Context, b replica.Beginning) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.identity != nil {
		return replica.ErrTaken
	}
	log := memlog.New(b.Identity.Household)
	if b.First != nil {
		if err := log.Append(ctx, []*oplog.Batch{b.First}); err != nil {
			return err
		}
	}
	v.own(log, b.Identity)
	v.pending = clonePending(b.Pending)
	for name, value := range b.Kept {
		v.kept[name] = bytes.Clone(value)
	}
	return nil
}

// Succeed makes the vault that of the same phone under another key.
func (v *Vault) Succeed(ctx context.Context, s replica.Succession) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	old, err := v.opened()
	if err != nil {
		return err
	}
	if v.device != s.Old {
		return replica.ErrTwoWriters
	}
	log, err := replaced(ctx, old, s.Old, s.Log)
	if err != nil {
		return err
	}
	if err := log.Append(ctx, []*oplog.Batch{s.First}); err != nil {
		return err
	}
	v.own(log, s.Identity)
	v.pending, v.snapshot = nil, nil
	for name, value := range s.Kept {
		v.keep(name, value)
	}
	return nil
}

// Replace puts another history of a log in the place of what is kept of it.
func (v *Vault) Replace(ctx context.Context, x replica.Replacement) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	old, err := v.opened()
	if err != nil {
		return err
	}
	log, err := replaced(ctx, old, x.Device, x.Log)
	if err != nil {
		return err
	}
	v.log, v.snapshot = log, nil
	for name, value := range x.Kept {
		v.keep(name, value)
	}
	return nil
}

// replaced is a copy of all logs but one, which has other batches.
func replaced(ctx context.Context, old *memlog.Log, other model.DeviceID, batches []*oplog.Batch) (*memlog.Log, error) {
	log := memlog.New(old.Household())
	heads, err := old.Heads(ctx)
	if err != nil {
		return nil, err
	}
	delete(heads, other)
	for d := range heads {
		kept, err := old.Read(ctx, d, 0, math.MaxInt)
		if err != nil {
			return nil, err
		}
		if err := log.Append(ctx, kept); err != nil {
			return nil, err
		}
	}
	return log, log.Append(ctx, batches)
}

// own makes a log that of a phone. The caller holds mu.
func (v *Vault) own(log *memlog.Log, id replica.Identity) {
	id.Seed = slices.Clone(id.Seed)
	v.log, v.identity = log, &id
	v.device = model.DeviceIDOf(ed25519.NewKeyFromSeed(id.Seed).Public().(ed25519.PublicKey))
}

func clonePending(ops []replica.Pending) []replica.Pending {
	out := make([]replica.Pending, len(ops))
	for i, op := range ops {
		out[i] = replica.Pending{Seq: op.Seq, Op: slices.Clone(op.Op)}
	}
	return out
}

func (v *Vault) open() (*memlog.Log, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.opened()
}

// opened is open for those who hold mu.
func (v *Vault) opened() (*memlog.Log, error) {
	if v.log == nil {
		return nil, replica.ErrNobody
	}
	return v.log, nil
}

// Append keeps signed batches.
func (v *Vault) Append(ctx context.Context, batches []*oplog.Batch) error {
	log, err := v.open()
	if err != nil {
		return err
	}
	return log.Append(ctx, batches)
}

// Read gives the batches of a device.
func (v *Vault) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	log, err := v.open()
	if err != nil {
		return nil, err
	}
	return log.Read(ctx, d, after, maxBytes)
}

// Heads says how far each device's log goes.
func (v *Vault) Heads(ctx context.Context) (map[model.DeviceID]oplog.Head, error) {
	log, err := v.open()
	if err != nil {
		return nil, err
	}
	return log.Heads(ctx)
}

// AddPending keeps unsigned operations.
func (v *Vault) AddPending(ctx context.Context, ops []replica.Pending) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	log, err := v.opened()
	if err != nil {
		return err
	}
	heads, err := log.Heads(ctx)
	if err != nil {
		return err
	}
	next := heads[v.device].Seq + 1
	if n := len(v.pending); n > 0 {
		next = v.pending[n-1].Seq + 1
	}
	for i, op := range ops {
		if op.Seq != next+uint64(i) {
			return replica.ErrTwoWriters
		}
	}
	v.pending = append(v.pending, clonePending(ops)...)
	return nil
}

// Pending gives the unsigned operations.
func (v *Vault) Pending(context.Context) ([]replica.Pending, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if _, err := v.opened(); err != nil {
		return nil, err
	}
	return clonePending(v.pending), nil
}

// Seal appends this phone's own batch and drops what it holds from the pending.
func (v *Vault) Seal(ctx context.Context, b *oplog.Batch) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	log, err := v.opened()
	if err != nil {
		return err
	}
	if err := log.Append(ctx, []*oplog.Batch{b}); err != nil {
		return err
	}
	v.pending = slices.DeleteFunc(v.pending, func(p replica.Pending) bool { return p.Seq <= b.Last() })
	return nil
}

// PutSegment keeps a batch in place of those that it was made of.
func (v *Vault) PutSegment(ctx context.Context, s *oplog.Batch) error {
	log, err := v.open()
	if err != nil {
		return err
	}
	return log.PutSegment(ctx, s)
}

// SaveSnapshot keeps a snapshot.
func (v *Vault) SaveSnapshot(_ context.Context, data []byte) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.snapshot = slices.Clone(data)
	return nil
}

// Snapshot gives the last snapshot.
func (v *Vault) Snapshot(context.Context) ([]byte, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	return bytes.Clone(v.snapshot), nil
}

// Keep holds a setting.
func (v *Vault) Keep(_ context.Context, name string, value []byte) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.keep(name, value)
	return nil
}

// keep is Keep for those who hold mu.
func (v *Vault) keep(name string, value []byte) {
	if value == nil {
		delete(v.kept, name)
		return
	}
	v.kept[name] = slices.Clone(value)
}

// Kept gives a setting.
func (v *Vault) Kept(_ context.Context, name string) ([]byte, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	return bytes.Clone(v.kept[name]), nil
}

// PutPhoto keeps a photo.
func (v *Vault) PutPhoto(_ context.Context, p replica.Photo, data []byte) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	if _, ok := v.photos[p.Sum]; ok {
		return nil
	}
	v.photos[p.Sum] = p
	v.renderings[rendering{p.Sum, 0}] = content{p.Type, slices.Clone(data)}
	return nil
}

// PutRendering keeps a smaller rendering of a photo.
func (v *Vault) PutRendering(_ context.Context, sum model.PhotoSum, size int, mime string, data []byte) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.renderings[rendering{sum, size}] = content{mime, slices.Clone(data)}
	return nil
}

// PhotoBytes gives the bytes of a photo or rendering.
func (v *Vault) PhotoBytes(_ context.Context, sum model.PhotoSum, size int) ([]byte, string, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	c, ok := v.renderings[rendering{sum, size}]
	if !ok {
		return nil, "", replica.ErrNoPhoto
	}
	return slices.Clone(c.data), c.mime, nil
}

// Queue gives the photos that are not sent.
func (v *Vault) Queue(context.Context) ([]replica.Photo, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	var out []replica.Photo
	for _, p := range v.photos {
		if !p.Sent {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b replica.Photo) int {
		return cmp.Or(cmp.Compare(a.Added, b.Added), slices.Compare(a.Sum[:], b.Sum[:]))
	})
	return out, nil
}

// UpdatePhoto replaces what is known about a photo.
func (v *Vault) UpdatePhoto(_ context.Context, p replica.Photo) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	if _, ok := v.photos[p.Sum]; !ok {
		return replica.ErrNoPhoto
	}
	v.photos[p.Sum] = p
	return nil
}

// DropPhoto forgets a photo.
func (v *Vault) DropPhoto(_ context.Context, sum model.PhotoSum) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	delete(v.photos, sum)
	for r := range v.renderings {
		if r.sum == sum {
			delete(v.renderings, r)
		}
	}
	return nil
}

// Wipe forgets everything.
func (v *Vault) Wipe(context.Context) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.clear()
	return nil
}
