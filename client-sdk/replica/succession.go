package replica

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"slices"

	"github.com/fxamacker/cbor/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/hlc"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// succeed lets this phone take its own place under a new key, because another phone
// writes under the old one: a profile was copied. What the two have not in common, the
// new one writes again.
func (r *Replica) succeed(ctx context.Context, s *Server) error {
	theirs, err := r.fetchLog(ctx, s, r.device, r.public())
	if err != nil {
		return err
	}
	key, err := newKey(r.opts)
	if err != nil {
		return err
	}
	return r.moveTo(ctx, key, theirs, oplog.ErrFork, func(common *oplog.Tail) (*oplog.Batch, error) {
		public := key.Public().(ed25519.PublicKey)
		op := &oplog.Succeed{Key: public, Device: r.device, After: common.Head().Seq,
			Proof: ed25519.Sign(r.key, oplog.SucceedBytes(r.identity.Household, public))}
		// The earliest stamp there can be, so that what follows can keep its own.
		return firstOf(r.identity.Household, key, common.Stamp()+1, op)
	})
}

// Rejoin brings this phone back by a new invitation after it was signed off, or after
// another phone had used the invitation it came by. What it had not sent it writes
// again, as far as its new role allows. It needs the server, and may be tried again.
func (r *Replica) Rejoin(ctx context.Context, s *Server, i Invitation) error {
	if i.Household != r.identity.Household {
		return oplog.ErrInvitation
	}
	r.syncing.Lock()
	defer r.syncing.Unlock()
	key, first, err := r.knock(ctx, i)
	if err != nil {
		return err
	}
	as := &Server{transport: s.transport, household: s.household, patience: s.patience, self: func() (model.DeviceID, ed25519.PrivateKey) { return first.Device, key }}
	m := &wire.Message{Household: i.Household, Have: oplog.Vector{first.Device: 1}, Batches: []*oplog.Batch{first}}
	data, err := m.Encode()
	if err != nil {
		return err
	}
	if err := as.join(ctx, data); err != nil {
		return err
	}
	theirs, err := r.fetchLog(ctx, as, r.device, r.public())
	if err != nil {
		return err
	}
	return r.moveTo(ctx, key, theirs, oplog.ErrRevoked, func(*oplog.Tail) (*oplog.Batch, error) { return first, nil })
}

// knock gives the key to join again with, and what the new log begins with. Both are
// kept before they are used, because an invitation lets in one device.
func (r *Replica) knock(ctx context.Context, i Invitation) (ed25519.PrivateKey, *oplog.Batch, error) {
	kept, err := r.vault.Kept(ctx, keptNext)
	if err != nil {
		return nil, nil, err
	}
	if len(kept) > ed25519.SeedSize {
		first, err := oplog.DecodeBatch(kept[ed25519.SeedSize:])
		if err != nil {
			return nil, nil, err
		}
		intro, err := oplog.Introduction(i.Household, first)
		if j, ok := intro.(*oplog.Join); err == nil && ok && j.Via == i.Op {
			return ed25519.NewKeyFromSeed(kept[:ed25519.SeedSize]), first, nil
		}
	}
	key, err := newKey(r.opts)
	if err != nil {
		return nil, nil, err
	}
	r.clock.Observe(i.After)
	first, err := firstOf(i.Household, key, r.clock.Now(), i.accept(key.Public().(ed25519.PublicKey)))
	if err != nil {
		return nil, nil, err
	}
	return key, first, r.vault.Keep(ctx, keptNext, append(key.Seed(), first.Encode()...))
}

// firstOf signs the operation that a log begins with.
func firstOf(h model.HouseholdID, key ed25519.PrivateKey, stamp hlc.Stamp, op any) (*oplog.Batch, error) {
	tail := oplog.NewTail(h, model.DeviceIDOf(key.Public().(ed25519.PublicKey)))
	start := tail.Head()
	ops, err := tail.Write(stamp, op)
	if err != nil {
		return nil, err
	}
	return tail.Seal(key, start, ops)
}

// fetchLog brings a device's log as the server has it, from its beginning, and takes in
// what else comes with it.
func (r *Replica) fetchLog(ctx context.Context, s *Server, of model.DeviceID, key ed25519.PublicKey) ([]*oplog.Batch, error) {
	var log []*oplog.Batch
	tail := oplog.NewTail(r.identity.Household, of)
	for range maxRounds {
		have := (*side)(r).Vector()
		have[of] = tail.Head().Seq
		if d, _ := s.self(); d != r.device {
			have[d] = 1 // the beginning of the log to come, which moveTo keeps
		}
		in, bad, err := r.roundTrip(ctx, s, &wire.Message{Household: r.identity.Household, Have: have})
		if err != nil {
			return nil, err
		}
		if len(bad) > 0 {
			return nil, bad[0]
		}
		var others []*oplog.Batch
		for _, b := range in.Batches {
			if b.Device != of {
				others = append(others, b)
				continue
			}
			_, next, err := tail.Read(key, b)
			if err != nil {
				return nil, err
			}
			if next.Head().Seq > tail.Head().Seq {
				log, tail = append(log, b), next
			}
		}
		if _, err := (*side)(r).Take(ctx, others); err != nil {
			return nil, err
		}
		if tail.Head().Seq >= in.Have[of] && !in.More {
			return r.allowed(ctx, of, log)
		}
	}
	return nil, ErrServer
}

// allowed is a log up to what its author might not write. A server may add such a thing
// to its answer, signed and all; in the vault it would keep the phone from opening, which
// reads every log to its end. A log of which nothing can be read yet waits as it is.
func (r *Replica) allowed(ctx context.Context, d model.DeviceID, log []*oplog.Batch) ([]*oplog.Batch, error) {
	others, err := r.logsBut(ctx, d)
	if err != nil {
		return nil, err
	}
	end := r.fold(log, others).Tail(d).Head().Seq
	cut := slices.IndexFunc(log, func(b *oplog.Batch) bool { return b.Last() > end })
	if end == 0 || cut < 0 {
		return log, nil
	}
	return log[:cut], nil
}

// fold is the state of a log and others.
func (r *Replica) fold(log []*oplog.Batch, others map[model.DeviceID][]*oplog.Batch) *merge.State {
	all := slices.Clone(log)
	for _, one := range others {
		all = append(all, one...)
	}
	st := merge.New(r.identity.Household)
	st.Apply(all...)
	return st
}

// logsBut are all logs that are here but one.
func (r *Replica) logsBut(ctx context.Context, d model.DeviceID) (map[model.DeviceID][]*oplog.Batch, error) {
	heads, err := r.vault.Heads(ctx)
	if err != nil {
		return nil, err
	}
	logs := map[model.DeviceID][]*oplog.Batch{}
	for other := range heads {
		if other == d {
			continue
		}
		if logs[other], err = r.vault.Read(ctx, other, 0, maxOwnLog); err != nil {
			return nil, err
		}
	}
	return logs, nil
}

// moveTo makes this phone one with another key. Its old log is from now on theirs; what
// the phone has beyond the beginning that both share waits to be written again.
func (r *Replica) moveTo(ctx context.Context, key ed25519.PrivateKey, theirs []*oplog.Batch, why *fault.Fault, first func(common *oplog.Tail) (*oplog.Batch, error)) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	common, rest, err := r.unshared(ctx, r.device, r.pending, theirs)
	if err != nil {
		return err
	}
	m := move{Code: string(why.Code), Words: why.Words, When: int64(r.Now()), Device: r.device, Tail: common.Save(), Ops: rest}
	data, err := cbor.Marshal(m)
	if err != nil {
		return err
	}
	x := Succession{Old: r.device, Log: theirs, Identity: Identity{Household: r.identity.Household, Seed: key.Seed()},
		Kept: map[string][]byte{keptMove: data, keptNext: nil, keptContact: nil}}
	if x.First, err = first(common); err != nil {
		return err
	}
	if err := r.keepOrphans(ctx, &x); err != nil {
		return err
	}
	if err := r.vault.Succeed(ctx, x); err != nil {
		return err
	}
	r.who.Lock()
	r.key, r.device = key, x.First.Device
	r.who.Unlock()
	return r.reload(ctx)
}

// keepOrphans keeps what phones wrote that were invited in the history that is given up:
// this phone may be the only one that has it, from a file.
func (r *Replica) keepOrphans(ctx context.Context, x *Succession) error {
	orphans, _, err := r.fits(ctx, x.Old, x.Log)
	if err != nil || len(orphans) == 0 {
		return err
	}
	kept, err := r.givenUp(ctx)
	if err != nil {
		return err
	}
	x.Kept[keptGivenUp], err = cbor.Marshal(append(kept, orphans...))
	return err
}

// unshared compares what is here of a log, signed or pending, with what others have of
// it. It gives the log where the two part, and the operations that are here from there
// on.
func (r *Replica) unshared(ctx context.Context, d model.DeviceID, pending [][]byte, theirs []*oplog.Batch) (*oplog.Tail, [][]byte, error) {
	signed, err := r.vault.Read(ctx, d, 0, maxOwnLog)
	if err != nil {
		return nil, nil, err
	}
	mine, err := opsOf(signed)
	if err != nil {
		return nil, nil, err
	}
	mine = append(mine, pending...)
	shared, err := opsOf(theirs)
	if err != nil {
		return nil, nil, err
	}
	tail, n := oplog.NewTail(r.identity.Household, d), 0
	for n < len(mine) && n < len(shared) && bytes.Equal(mine[n], shared[n]) {
		if _, err := tail.Replay(mine[n]); err != nil {
			return nil, nil, err
		}
		n++
	}
	return tail, mine[n:], nil
}

// maxOwnLog is more than one phone ever writes.
const maxOwnLog = 1 << 30

// opsOf gives the operations of a log. A batch may repeat what the one before it ends
// with: a phone whose disk was set back signs it once more, with what came after.
func opsOf(log []*oplog.Batch) ([][]byte, error) {
	var all [][]byte
	for _, b := range log {
		ops, err := b.Split()
		if err != nil {
			return nil, err
		}
		all = append(all, ops[len(all)+1-int(b.First):]...)
	}
	return all, nil
}
