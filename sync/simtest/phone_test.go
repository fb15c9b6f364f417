package simtest_test

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash/crc64"
	"math/rand/v2"

	"github.com/google/uuid"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/model/fault"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// phone is a phone of the household: a replica over a vault whose disk can lose
// power. Everything but the disk and the name is memory and goes with the power.
type phone struct {
	*replica.Replica

	name  string
	w     *world
	disk  *disk[replica.Vault]
	skew  int64 // of the wall clock, milliseconds
	opts  replica.Options
	lines map[*server]*replica.Server
	cut   map[*server]int64 // until when a server cannot be reached
	told  map[*server]*told
	kin   *kin
	out   fault.Code // why the last sync failed, empty if it did not
}

func (w *world) newPhone(name string) *phone {
	random := rand.NewChaCha8(sha256.Sum256(fmt.Appendf(nil, "%d %s", w.seed, name)))
	p := &phone{name: name, w: w, skew: w.between(-2*day, 2*day), cut: map[*server]int64{}, told: map[*server]*told{}, kin: &kin{}}
	p.disk = newDisk(func() replica.Vault { return memvault.New() })
	p.disk.lying = w.opt.lying
	p.opts = replica.Options{Wall: func() int64 { return w.now + p.skew }, Random: random, NewID: func() uuid.UUID {
		id, _ := uuid.NewRandomFromReader(random) // it never fails
		return id
	}}
	return p
}

// vault is the phone's vault as the replica sees it.
func (p *phone) vault() replica.Vault { return &vault{p.disk.now, p.disk} }

// use takes up a replica that was just made or opened.
func (p *phone) use(r *replica.Replica, err error) error {
	p.Replica, p.lines = r, map[*server]*replica.Server{}
	if err == nil {
		p.w.kins[p.Device()] = p.kin
	}
	return err
}

// boot starts the app from what the disk holds.
func (p *phone) boot() error { return p.use(replica.Open(ctx, p.vault(), p.opts)) }

// server is a server as this phone sees it since it was started.
func (p *phone) server(s *server) *replica.Server {
	if p.lines[s] == nil {
		p.lines[s] = p.Server(&line{p: p, s: s})
	}
	return p.lines[s]
}

// do lets a person write, and remembers what was tried and what they were told.
func (p *phone) do(bodies ...any) error {
	return p.w.alive(p, func() error {
		p.kin.tried = append(p.kin.tried, bodies...)
		ids, err := p.Do(ctx, bodies...)
		for i, id := range ids {
			p.w.saved = append(p.w.saved, p.entry(id, bodies[i]))
		}
		return ignore(err, oplog.ErrNotAllowed.Code, oplog.ErrStranger.Code, oplog.ErrRevoked.Code, oplog.ErrUsed.Code, oplog.ErrLastKeeper.Code)
	})
}

// state folds the signed part of the phone's log, as a second pair of eyes.
func (p *phone) state(upTo func(n int) int) (*merge.State, error) {
	heads, err := p.disk.now.Heads(ctx)
	if err != nil {
		return nil, err
	}
	st := merge.New(p.Household())
	var all []*oplog.Batch
	for _, d := range oplog.VectorOf(heads).Devices() {
		batches, err := p.disk.now.Read(ctx, d, 0, 1<<30)
		if err != nil {
			return nil, err
		}
		all = append(all, batches[:upTo(len(batches))]...)
	}
	st.Apply(all...) // some wait for what is not here yet
	return st, nil
}

// keepSnapshot puts a snapshot of now, or of some time ago, into the vault, in the form in
// which package replica reads it. A real replica makes one after hundreds of operations,
// more than these runs have.
func (p *phone) keepSnapshot() error {
	share := p.w.random.IntN(3)
	st, err := p.state(func(n int) int { return n - n*share/4 })
	if err != nil {
		return err
	}
	data, err := st.Snapshot()
	if err != nil {
		return err
	}
	sum := crc64.Checksum(data, crc64.MakeTable(crc64.ECMA))
	return p.vault().SaveSnapshot(ctx, append(binary.BigEndian.AppendUint64(nil, sum), data...))
}

// vault passes reads on and makes writes that the disk may lose.
type vault struct {
	replica.Vault
	disk *disk[replica.Vault]
}

func (v *vault) Begin(ctx context.Context, b replica.Beginning) error {
	return v.disk.keep(func(to replica.Vault) error { return to.Begin(ctx, b) })
}

func (v *vault) Succeed(ctx context.Context, s replica.Succession) error {
	return v.disk.keep(func(to replica.Vault) error { return to.Succeed(ctx, s) })
}

func (v *vault) Replace(ctx context.Context, x replica.Replacement) error {
	return v.disk.keep(func(to replica.Vault) error { return to.Replace(ctx, x) })
}

func (v *vault) Append(ctx context.Context, batches []*oplog.Batch) error {
	return v.disk.keep(func(to replica.Vault) error { return to.Append(ctx, batches) })
}

func (v *vault) AddPending(ctx context.Context, ops []replica.Pending) error {
	return v.disk.keep(func(to replica.Vault) error { return to.AddPending(ctx, ops) })
}

func (v *vault) Seal(ctx context.Context, b *oplog.Batch) error {
	return v.disk.keep(func(to replica.Vault) error { return to.Seal(ctx, b) })
}

func (v *vault) Keep(ctx context.Context, name string, value []byte) error {
	return v.disk.keep(func(to replica.Vault) error { return to.Keep(ctx, name, value) })
}

func (v *vault) Wipe(ctx context.Context) error {
	return v.disk.keep(func(to replica.Vault) error { return to.Wipe(ctx) })
}

// SaveSnapshot is not synced, and may be torn: a lost snapshot costs time and
// nothing else.
func (v *vault) SaveSnapshot(ctx context.Context, data []byte) error {
	return v.disk.write(effect[replica.Vault]{
		do:   func(to replica.Vault) error { return to.SaveSnapshot(ctx, data) },
		torn: func(to replica.Vault) error { return to.SaveSnapshot(ctx, data[:len(data)/2]) },
	})
}
