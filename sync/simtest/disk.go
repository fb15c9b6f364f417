package simtest

import (
	"context"

	"leafturn/model"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
)

// crash is what a disk panics with when its device loses power.
type crash struct{}

// disk is what a device keeps. The device sees its writes at once, but they last only
// when they are synced: a crash keeps some of the writes made since the last sync, in
// order, and drops the rest. That line is all that the device may rely on.
type disk struct {
	lying bool // forgets to sync: a planted fault that the checks must find

	contents          // as the running device sees it
	safe     contents // what a crash leaves
	unsynced []effect // what is in contents and not in safe
	fuse     int      // writes and syncs until the power fails, 0 for never
}

// contents is what is on a disk.
type contents struct {
	log      *memlog.Log
	pending  [][]byte // own operations, not signed yet
	snapshot []byte
}

// effect is one write.
type effect func(*contents) error

func newDisk(h model.HouseholdID) *disk {
	return &disk{contents: contents{log: memlog.New(h)}, safe: contents{log: memlog.New(h)}}
}

// step is a moment at which the power may fail.
func (d *disk) step() {
	if d.fuse == 0 {
		return
	}
	if d.fuse--; d.fuse == 0 {
		panic(crash{})
	}
}

// write makes a write that a crash may drop.
func (d *disk) write(e effect) error {
	d.step()
	if err := e(&d.contents); err != nil {
		return err
	}
	d.unsynced = append(d.unsynced, e)
	return nil
}

// keep makes a write and syncs it.
func (d *disk) keep(e effect) error {
	if err := d.write(e); err != nil {
		return err
	}
	d.step()
	if !d.lying {
		if err := d.settle(len(d.unsynced)); err != nil {
			return err
		}
	}
	d.step()
	return nil
}

// settle makes the first n unsynced writes last, and forgets that the others were not.
func (d *disk) settle(n int) error {
	for _, e := range d.unsynced[:n] {
		if err := e(&d.safe); err != nil {
			return err
		}
	}
	d.unsynced = nil
	return nil
}

// lose is what a power failure does: n unsynced writes had reached the disk.
func (d *disk) lose(n int) error {
	if err := d.settle(n); err != nil {
		return err
	}
	d.fuse = 0
	var err error
	d.contents, err = d.safe.clone(ctx)
	return err
}

func (c *contents) clone(ctx context.Context) (contents, error) {
	out := contents{log: memlog.New(c.log.Household()), pending: c.pending, snapshot: c.snapshot}
	heads, err := c.log.Heads(ctx)
	if err != nil {
		return out, err
	}
	for id := range heads {
		batches, err := c.log.Read(ctx, id, 0, 1<<30)
		if err != nil {
			return out, err
		}
		if err := out.log.Append(ctx, batches); err != nil {
			return out, err
		}
	}
	return out, nil
}

// putPending keeps own operations before anybody is told that they are saved.
func (d *disk) putPending(ops [][]byte) error {
	return d.keep(func(c *contents) error {
		c.pending = append(c.pending[:len(c.pending):len(c.pending)], ops...)
		return nil
	})
}

// seal appends an own batch and drops the operations that it holds, in one write.
func (d *disk) seal(b *oplog.Batch) error {
	return d.keep(func(c *contents) error {
		if err := c.log.Append(ctx, []*oplog.Batch{b}); err != nil {
			return err
		}
		c.pending = c.pending[b.Count:]
		return nil
	})
}

// putSnapshot is not synced: a lost snapshot costs time and nothing else.
func (d *disk) putSnapshot(data []byte) error {
	return d.write(func(c *contents) error {
		c.snapshot = data
		return nil
	})
}

// Append keeps batches, as oplog.Log says.
func (d *disk) Append(ctx context.Context, batches []*oplog.Batch) error {
	return d.keep(func(c *contents) error { return c.log.Append(ctx, batches) })
}

// Read gives batches, as oplog.Log says.
func (d *disk) Read(ctx context.Context, device model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	return d.log.Read(ctx, device, after, maxBytes)
}

// Heads says how far the logs go, as oplog.Log says.
func (d *disk) Heads(ctx context.Context) (map[model.DeviceID]oplog.Head, error) {
	return d.log.Heads(ctx)
}
