package badgerdb

import (
	"context"
	"fmt"
	"maps"
	"runtime"

	"github.com/dgraph-io/badger/v4"

	"leafturn/model"
	"leafturn/server/store"
	"leafturn/sync/oplog"
)

const (
	// queueLength is how many appends may wait. Whoever comes later waits with its
	// own goroutine, so what is waiting is bounded by the connections.
	queueLength = 256

	// groupLength is how many appends may share a transaction.
	groupLength = 256
)

// request is a change that waits for the committer.
type request struct {
	ctx context.Context

	// change says what to write, as things stand in the group. It may be called again
	// for a later group; it is the last call that counts. taken, if it is not nil, is
	// called once the rows are in the group.
	change func(*group) (rows []row, taken func(), err error)
	done   chan error // holds one
}

// Append keeps batches. Once the committer has taken the request, Append waits for
// the outcome even if ctx ends, so that a caller always knows what happened.
func (l *household) Append(ctx context.Context, batches []*oplog.Batch) error {
	if len(batches) == 0 {
		return nil
	}
	return l.db.write(ctx, func(g *group) ([]row, func(), error) {
		rows, heads, err := g.rowsOf(l.id, batches)
		return rows, func() { maps.Copy(g.heads, heads) }, err
	})
}

// write hands a change to the committer and waits for the outcome.
func (d *DB) write(ctx context.Context, change func(*group) ([]row, func(), error)) error {
	r := &request{ctx: ctx, change: change, done: make(chan error, 1)}
	if err := d.enqueue(r); err != nil {
		return err
	}
	return d.await(r)
}

func (d *DB) enqueue(r *request) error {
	select { // select picks at random, so the reasons to refuse are asked first
	case <-d.stop:
		return store.ErrClosed
	case <-d.broken:
		return store.ErrBroken
	case <-r.ctx.Done():
		return r.ctx.Err()
	default:
	}
	select {
	case d.queue <- r:
		return nil
	case <-d.stop:
		return store.ErrClosed
	case <-d.broken:
		return store.ErrBroken
	case <-r.ctx.Done():
		return r.ctx.Err()
	}
}

func (d *DB) await(r *request) error {
	select {
	case err := <-r.done:
		return err
	case <-d.stopped:
	}
	select { // the committer answers all it takes before it stops
	case err := <-r.done:
		return err
	default:
		return d.refusal()
	}
}

func (d *DB) refusal() error {
	if d.isBroken() {
		return store.ErrBroken
	}
	return store.ErrClosed
}

// commitAll is the committer. While the disk works on one group, the next one
// gathers in the queue.
func (d *DB) commitAll() {
	defer close(d.stopped)
	var first *request // did not fit into the group before
	for {
		if first == nil {
			select {
			case <-d.stop:
				return
			case first = <-d.queue:
			}
		}
		g := d.newGroup()
		first = g.gather(first)
		if err := g.commit(); err != nil {
			d.log.Error("write failed, the store takes and gives nothing more", "err", err)
			if first != nil {
				first.done <- store.ErrBroken
			}
			return
		}
	}
}

// logID names a device's log in a household.
type logID struct {
	household model.HouseholdID
	device    model.DeviceID
}

// maxHeads is how many heads the committer remembers. When there are more it
// forgets all, which costs a read for each log that is still being written.
const maxHeads = 1 << 14

// group is the appends that share one transaction.
type group struct {
	db       *DB
	txn      *badger.Txn
	size     int64
	rows     int64
	accepted []*request
	heads    map[logID]oplog.Head // after the accepted requests
}

func (d *DB) newGroup() *group {
	return &group{db: d, txn: d.db.NewTransaction(true), heads: map[logID]oplog.Head{}}
}

// head is where a log stands when the group is written.
func (g *group) head(id logID) (oplog.Head, error) {
	if head, ok := g.heads[id]; ok {
		return head, nil
	}
	if head, ok := g.db.heads[id]; ok {
		return head, nil
	}
	return readHead(g.txn, id.household, id.device)
}

// gather adds requests as long as some are waiting and there is room. It gives back
// a request that found no room.
func (g *group) gather(first *request) (left *request) {
	if full := g.db.gate.Check(); full != nil {
		first.done <- full // and nobody else: by the next one there may be room
		return nil
	}
	for r := first; r != nil; {
		if !g.add(r) {
			return r
		}
		if len(g.accepted) == groupLength {
			return nil
		}
		r = g.db.waiting()
	}
	return nil
}

// waiting gives a request that waits, nil if there is none. Before it gives up it lets
// go on who could: on a busy machine many phones are about to ask, and each disk sync
// that they share is one less. With nothing else to do that takes no time.
func (d *DB) waiting() *request {
	select {
	case r := <-d.queue:
		return r
	default:
	}
	runtime.Gosched()
	select {
	case r := <-d.queue:
		return r
	default:
		return nil
	}
}

// add puts a request into the transaction, or answers it if it cannot be done. It
// reports false if the transaction has no room left.
func (g *group) add(r *request) bool {
	rows, taken, err := g.rowsFor(r)
	if err != nil {
		r.done <- err
		return true
	}
	size := int64(0)
	for _, row := range rows {
		size += int64(len(row.key)+len(row.value)) + rowOverhead
	}
	if !g.fits(size, int64(len(rows))) {
		if len(g.accepted) == 0 {
			r.done <- oplog.ErrTooBig
			return true
		}
		return false
	}
	for _, row := range rows {
		if err := row.put(g.txn); err != nil {
			// Part of the request is in the transaction, so nothing of it may go on.
			g.giveUp(r, fmt.Errorf("write row %x: %w", row.key, err))
			return true
		}
	}
	g.size, g.rows = g.size+size, g.rows+int64(len(rows))
	g.accepted = append(g.accepted, r)
	if taken != nil {
		taken()
	}
	return true
}

func (g *group) rowsFor(r *request) ([]row, func(), error) {
	if err := r.ctx.Err(); err != nil {
		return nil, nil, err
	}
	return r.change(g)
}

// rowOverhead is more than what Badger counts for a row besides its bytes.
const rowOverhead = 32

func (g *group) fits(size, rows int64) bool {
	db := g.db.db
	return g.size+size < db.MaxBatchSize() && g.rows+rows < db.MaxBatchCount()-1
}

// giveUp answers everybody in the group and starts over with an empty transaction.
func (g *group) giveUp(r *request, err error) {
	for _, r := range append(g.accepted, r) {
		r.done <- err
	}
	g.txn.Discard()
	g.db.earliest = dueAt{}
	*g = *g.db.newGroup()
}

// row is a row to be written, or to be removed if it has no value.
type row struct{ key, value []byte }

func (r row) put(txn *badger.Txn) error {
	if r.value == nil {
		return txn.Delete(r.key)
	}
	return txn.Set(r.key, r.value)
}

// rowsOf is what an append writes, and where its logs stand then. The heads are
// written even if it brings nothing new: a batch that is known may be known only
// because a write before this one has not failed yet.
func (g *group) rowsOf(h model.HouseholdID, batches []*oplog.Batch) ([]row, map[logID]oplog.Head, error) {
	heads := make(map[logID]oplog.Head, 1)
	rows := make([]row, 0, len(batches)+2)
	for _, b := range batches {
		id := logID{h, b.Device}
		head, ok := heads[id]
		if !ok {
			var err error
			if head, err = g.head(id); err != nil {
				return nil, nil, err
			}
		}
		next, fresh, err := oplog.Continue(h, head, b)
		if err != nil {
			return nil, nil, err
		}
		heads[id] = next
		if fresh {
			key := batchKey(h, b.Device, b.Last())
			rows = append(rows, row{key, sealed(key, b.Encode())})
		}
	}
	for id, head := range heads {
		for _, kind := range []byte{rowHead, rowTwin} {
			key := headKey(kind, id.household, id.device)
			rows = append(rows, row{key, sealed(key, headBytes(head))})
		}
	}
	return rows, heads, nil
}

// commit writes the group and answers everybody in it. An error means that nobody
// knows what is on the disk.
func (g *group) commit() error {
	defer g.txn.Discard()
	if len(g.accepted) == 0 {
		return nil
	}
	err := g.db.commit(g.txn)
	answer := err
	if err != nil {
		close(g.db.broken) // before anybody is answered, so that nobody asks again
		answer = store.ErrBroken.Because(err)
	} else {
		g.db.remember(g.heads)
	}
	for _, r := range g.accepted {
		r.done <- answer
	}
	return err
}

func (d *DB) remember(heads map[logID]oplog.Head) {
	if len(d.heads)+len(heads) > maxHeads {
		clear(d.heads)
	}
	maps.Copy(d.heads, heads)
}
