package simtest

import (
	"context"
	"crypto/ed25519"
	"fmt"

	"leafturn/model"
	"leafturn/sync/exchange"
	"leafturn/sync/hlc"
	"leafturn/sync/memlog"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

var ctx = context.Background()

// device is a phone, or the server, which has no key and writes nothing. Disk and
// key outlive a crash; the rest is memory.
type device struct {
	name      string
	household model.HouseholdID
	key       ed25519.PrivateKey
	disk      *disk
	skew      int64 // of the wall clock, milliseconds

	*memlog.Replica
	clock  *hlc.Clock
	sealed oplog.Head // own log as far as it is signed
	peers  map[*device]*exchange.Peer
}

func (d *device) id() model.DeviceID {
	if d.key == nil {
		return model.DeviceID{}
	}
	return model.DeviceIDOf(d.key.Public().(ed25519.PublicKey))
}

// boot starts the device from its disk: the snapshot if there is one, the logs from
// there on, and what was written but not signed.
func (d *device) boot(wall func() int64) error {
	d.peers = map[*device]*exchange.Peer{}
	d.clock = hlc.NewClock(func() int64 { return wall() + d.skew })
	state := merge.New(d.household)
	if d.disk.snapshot != nil {
		var err error
		if state, err = merge.Restore(d.disk.snapshot); err != nil {
			return fmt.Errorf("%s: %w", d.name, err)
		}
	}
	d.Replica = &memlog.Replica{State: state, Log: d.disk}
	if err := d.readLogs(); err != nil {
		return err
	}
	d.sealed = state.Tail(d.id()).Head()
	for _, op := range d.disk.pending {
		if err := state.Replay(d.id(), op); err != nil {
			return fmt.Errorf("%s: replay: %w", d.name, err)
		}
	}
	d.clock.Observe(state.Stamp())
	return nil
}

// readLogs folds what the log has and the snapshot had not. The log is in no order
// of devices, so it is offered at once.
func (d *device) readLogs() error {
	heads, err := d.disk.Heads(ctx)
	if err != nil {
		return err
	}
	var all []*oplog.Batch
	for _, id := range oplog.VectorOf(heads).Devices() {
		for after := d.State.Tail(id).Head().Seq; after < heads[id].Seq; {
			batches, err := d.disk.Read(ctx, id, after, oplog.MaxBatchBytes)
			if err != nil {
				return err
			}
			all, after = append(all, batches...), batches[len(batches)-1].Last()
		}
	}
	for _, r := range d.State.Apply(all...) {
		return fmt.Errorf("%s: own disk is refused: %w", d.name, r.Err)
	}
	return nil
}

// write writes an operation, and returns when it is saved.
func (d *device) write(body any) (model.FactID, error) {
	draft, err := d.State.Draft(d.id())
	if err != nil {
		return model.FactID{}, err
	}
	id, err := draft.Write(d.clock.Now(), body)
	if err != nil {
		return id, err
	}
	if err := d.disk.putPending(draft.Ops); err != nil {
		return id, err
	}
	d.State.Accept(draft)
	return id, nil
}

// seal signs what is not signed yet.
func (d *device) seal() error {
	if len(d.disk.pending) == 0 {
		return nil
	}
	tail := d.State.Tail(d.id())
	b, err := tail.Seal(d.key, d.sealed, d.disk.pending)
	if err != nil {
		return err
	}
	if err := d.disk.seal(b); err != nil {
		return err
	}
	d.sealed = tail.Head()
	return nil
}

// Vector says how far each log is known, the own one as far as it is signed.
func (d *device) Vector() oplog.Vector {
	v := d.Replica.Vector()
	if d.key != nil {
		v[d.id()] = d.sealed.Seq
	}
	return v
}

// Take takes in what others wrote; later stamps are greater than theirs.
func (d *device) Take(ctx context.Context, batches []*oplog.Batch) ([]merge.Refusal, error) {
	refused, err := d.Replica.Take(ctx, batches)
	d.clock.Observe(d.State.Stamp())
	return refused, err
}

// peer is what the device knows of a conversation with another.
func (d *device) peer(other *device) *exchange.Peer {
	if d.peers[other] == nil {
		d.peers[other] = &exchange.Peer{}
	}
	return d.peers[other]
}

// keepSnapshot puts the state away. Only signed operations may be in it, so that a
// snapshot never knows what a crash may take.
func (d *device) keepSnapshot() error {
	if len(d.disk.pending) > 0 {
		return nil
	}
	data, err := d.State.Snapshot()
	if err != nil {
		return err
	}
	return d.disk.putSnapshot(data)
}
