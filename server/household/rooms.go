package household

import (
	"container/list"
	"context"
	"errors"
	"fmt"
	"maps"
	"sync"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/store"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// maxWeight bounds what is in memory: the operations of all folded states, each
// state counting as stateWeight more. An operation takes about half a kilobyte.
const (
	maxWeight   = 250_000
	stateWeight = 64
)

// rooms are the households in use. There is one room for a household at a time, so
// that its lock means something; a room that nobody is in may be cleared away.
type rooms struct {
	store    store.Store
	max      int
	watchers watchers

	mu     sync.Mutex
	open   map[model.HouseholdID]*room // guarded by mu
	recent *list.List                  // guarded by mu; of *room, the last used first
	weight int                         // guarded by mu; of all rooms
}

func newRooms(s store.Store, max int) *rooms {
	return &rooms{store: s, max: max, open: map[model.HouseholdID]*room{}, recent: list.New()}
}

// room is one household in memory.
type room struct {
	id       model.HouseholdID
	log      oplog.Log
	watchers *watchers

	place  *list.Element // guarded by rooms.mu
	inside int           // guarded by rooms.mu; how many are in it
	weight int           // guarded by rooms.mu
	used   bool          // guarded by rooms.mu; by somebody who may come back soon

	// write is held by whoever changes the log, from checking to folding in, and
	// by whoever makes the state.
	write sync.Mutex
	mu    sync.RWMutex
	state *merge.State // guarded by mu; nil if it is not folded
	ops   int          // guarded by mu; about how many are folded

	// latest is of each log the batch that was kept last, unless it is large: most
	// phones that ask lack nothing else, and need not wait for the disk.
	latest map[model.DeviceID]*oplog.Batch // guarded by mu
}

// largeLatest is from how many bytes on a batch is left on the disk.
const largeLatest = 2 << 10

// enter goes into the room of a household. Whoever enters must leave.
func (rs *rooms) enter(h model.HouseholdID) *room { return rs.come(h, true) }

// glance is enter for whoever goes through many households: a room that is used by
// nobody else is cleared away afterwards.
func (rs *rooms) glance(h model.HouseholdID) *room { return rs.come(h, false) }

func (rs *rooms) come(h model.HouseholdID, use bool) *room {
	rs.mu.Lock()
	defer rs.mu.Unlock()
	r := rs.open[h]
	if r == nil {
		r = &room{id: h, log: rs.store.Log(h), watchers: &rs.watchers}
		r.place = rs.recent.PushFront(r)
		rs.open[h] = r
	}
	rs.recent.MoveToFront(r.place)
	r.used = r.used || use
	r.inside++
	return r
}

// leave goes out of a room, and clears rooms away that nobody is in: this one if it
// has no state, as when somebody asked for a household that does not exist, or was only
// glanced at, and those used longest ago while there are too many.
func (rs *rooms) leave(r *room) {
	weight := r.weigh()
	rs.mu.Lock()
	defer rs.mu.Unlock()
	r.inside--
	rs.weight += weight - r.weight
	r.weight = weight
	if r.inside == 0 && (weight == 0 || !r.used) {
		rs.clear(r)
	}
	for e := rs.recent.Back(); e != nil && rs.weight > rs.max && rs.recent.Len() > 1; {
		before := e.Prev()
		if old := e.Value.(*room); old.inside == 0 {
			rs.clear(old)
		}
		e = before
	}
}

func (rs *rooms) clear(r *room) {
	delete(rs.open, r.id)
	rs.recent.Remove(r.place)
	rs.weight -= r.weight
}

// weigh is about how much memory the room takes, 0 without a state.
func (r *room) weigh() int {
	r.mu.RLock()
	defer r.mu.RUnlock()
	if r.state == nil {
		return 0
	}
	return stateWeight + r.ops
}

// read lets f look at the state, beside others that do the same. f must not keep it.
func (r *room) read(ctx context.Context, f func(*merge.State) error) error {
	for {
		if done, err := r.tryRead(f); done {
			return err
		}
		r.write.Lock()
		_, err := r.folded(ctx)
		r.write.Unlock()
		if err != nil {
			return err
		}
	}
}

func (r *room) tryRead(f func(*merge.State) error) (done bool, err error) {
	r.mu.RLock()
	defer r.mu.RUnlock()
	if r.state == nil {
		return false, nil
	}
	return true, f(r.state)
}

// alone lets f have the state for itself, for what changes it inside although it
// says the same afterwards.
func (r *room) alone(ctx context.Context, f func(*merge.State) error) error {
	r.write.Lock()
	defer r.write.Unlock()
	st, err := r.folded(ctx)
	if err != nil {
		return err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	return f(st)
}

// folded gives the state, folding it from the log if need be. The caller holds
// write. It returns ErrUnknown for a household whose log is empty.
func (r *room) folded(ctx context.Context) (*merge.State, error) {
	if r.state != nil { // only holders of write change it
		return r.state, nil
	}
	st, err := fold(ctx, r.id, r.log)
	if err != nil {
		return nil, err
	}
	r.keep(st)
	return st, nil
}

func (r *room) keep(st *merge.State) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.state, r.ops, r.latest = st, 0, nil
	if st == nil {
		return
	}
	for _, seq := range st.Vector() {
		r.ops += int(seq)
	}
}

// kept notes a batch that is folded in. The caller holds mu.
func (r *room) kept(b *oplog.Batch) {
	r.ops += b.Count
	if len(b.Encode()) >= largeLatest {
		delete(r.latest, b.Device)
		return
	}
	if r.latest == nil {
		r.latest = map[model.DeviceID]*oplog.Batch{}
	}
	r.latest[b.Device] = b
}

// last gives the batch after a place in a log that reaches to its head, if it is in memory.
func (r *room) last(d model.DeviceID, after, head uint64) *oplog.Batch {
	r.mu.RLock()
	defer r.mu.RUnlock()
	if b := r.latest[d]; b != nil && b.First == after+1 && b.Last() == head {
		return b
	}
	return nil
}

// fold makes the state of a household from its log and checks everything on the
// way: each signature, each chain, and that the log goes as far as it says.
func fold(ctx context.Context, h model.HouseholdID, log oplog.Log) (*merge.State, error) {
	heads, err := log.Heads(ctx)
	if err != nil {
		return nil, err
	}
	if len(heads) == 0 {
		return nil, ErrUnknown
	}
	var all []*oplog.Batch
	for _, d := range oplog.VectorOf(heads).Devices() {
		if all, err = readAll(ctx, log, d, heads[d].Seq, all); err != nil {
			return nil, err
		}
	}
	st := merge.New(h)
	if refused := st.Apply(all...); len(refused) > 0 {
		b := refused[0].Batch
		return nil, damaged(fmt.Errorf("household %s: batch %d of %s: %w", h, b.First, b.Device, refused[0].Err))
	}
	if !maps.Equal(st.Heads(), heads) {
		return nil, damaged(fmt.Errorf("household %s: the heads do not fit the log", h))
	}
	return st, nil
}

// damaged is a store.ErrDamaged. The cause is flattened to text: it may carry a
// fault of its own, whose code would be a lie to whoever asks.
func damaged(cause error) error {
	return store.ErrDamaged.Because(errors.New(cause.Error()))
}

const readBytes = 1 << 20

func readAll(ctx context.Context, log oplog.Log, d model.DeviceID, to uint64, into []*oplog.Batch) ([]*oplog.Batch, error) {
	for at := uint64(0); at < to; {
		page, err := log.Read(ctx, d, at, readBytes)
		if err != nil {
			return nil, err
		}
		if len(page) == 0 {
			return nil, damaged(fmt.Errorf("log of %s ends at %d instead of %d", d, at, to))
		}
		into = append(into, page...)
		at = page[len(page)-1].Last()
	}
	return into, nil
}

// unwritten reports whether an error of Append means that the log is as it was and
// the state with it.
func unwritten(err error) bool { return fault.CodeOf(err) == "storage_full" }
