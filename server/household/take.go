package household

import (
	"context"
	"errors"
	"time"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// side is the server's side of one exchange.
type side struct {
	room  *room
	now   func() time.Time
	heads map[model.DeviceID]oplog.Head
	state *merge.State // guarded by room.mu
}

func newSide(ctx context.Context, r *room, now func() time.Time) (*side, error) {
	s := &side{room: r, now: now}
	return s, r.read(ctx, s.look)
}

// look notes what the household knows. The answer to one message is made from what
// was known at one moment, although others write meanwhile.
func (s *side) look(st *merge.State) error {
	s.heads, s.state = st.Heads(), st
	return nil
}

func (s *side) Household() model.HouseholdID { return s.room.id }

// Devices puts them in order only when it is asked, which is when there is something to
// send. Of those that came since, no heads are known here.
func (s *side) Devices() []model.DeviceID {
	s.room.mu.RLock()
	defer s.room.mu.RUnlock()
	return s.state.Devices()
}

func (s *side) Heads() map[model.DeviceID]oplog.Head { return s.heads }

// Read puts small batches together: a phone that comes new would have to fetch and
// verify a signature for nearly every entry.
func (s *side) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	if b := s.room.last(d, after, s.heads[d].Seq); b != nil {
		return []*oplog.Batch{b}, nil
	}
	batches, err := s.room.log.Read(ctx, d, after, maxBytes)
	if err != nil {
		return nil, err
	}
	return oplog.Segments(batches)
}

func (s *side) Take(ctx context.Context, batches []*oplog.Batch) ([]merge.Refusal, error) {
	r := s.room
	r.write.Lock()
	st, err := r.folded(ctx)
	if err != nil {
		r.write.Unlock()
		return nil, err
	}
	w := newWrite(r, st, batches, s.now())
	err = w.check(ctx)
	if err == nil {
		err = w.keep(ctx)
	}
	r.write.Unlock()
	if err != nil {
		return nil, err
	}
	return w.Refused, r.read(ctx, s.look)
}

// write is one change of a household's log. Whoever makes one holds the room's
// write lock until it is kept.
type write struct {
	*merge.Prepared
	room  *room
	state *merge.State
}

// newWrite checks batches against the household's rules, and their stamps against the
// server's clock: no phone's clock is right for certain, and a stamp of next year
// would win every quarrel for a year.
//
// Whether an invitation was in time, and used once, is checked when its holder knocks,
// see Join, and not here: a member who hands over another's log vouches for it, and a
// server that was restored from a backup must be able to take back who joined long
// ago. Of two who joined by one invitation over different servers, the household's
// rules let one count.
func newWrite(r *room, st *merge.State, batches []*oplog.Batch, now time.Time) *write {
	absurd := func(_ *oplog.Batch, ops []*oplog.Op) error {
		return hlc.Check(ops[len(ops)-1].Stamp, now.UnixMilli())
	}
	return &write{Prepared: st.Prepare(batches, absurd), room: r, state: st}
}

// check tells repeated batches from those of a second history and refuses the
// latter.
func (w *write) check(ctx context.Context) error {
	var known []*oplog.Batch
	for _, b := range w.Known {
		switch err := w.repeats(ctx, b); {
		case err == nil:
			known = append(known, b)
		case errors.Is(err, oplog.ErrFork):
			w.Refused = append(w.Refused, merge.Refusal{Batch: b, Err: err})
		default:
			return err
		}
	}
	w.Known = known
	return nil
}

// repeats compares a batch that brings nothing new with what is known: with the
// head, which is what a phone repeats whose answer was lost, with the batches of
// this write, and else with the disk.
func (w *write) repeats(ctx context.Context, b *oplog.Batch) error {
	if head := w.state.Tail(b.Device).Head(); head.Seq == b.Last() {
		return sameAt(b, b.Last(), head.Hash)
	}
	for _, f := range w.Fresh {
		if f.Device != b.Device || b.Last() < f.First || f.Last() < b.Last() {
			continue
		}
		want, err := f.HashAt(b.Last())
		if err != nil {
			return err
		}
		return sameAt(b, b.Last(), want)
	}
	return oplog.Repeats(ctx, w.room.log, b)
}

func sameAt(b *oplog.Batch, seq uint64, want oplog.Hash) error {
	have, err := b.HashAt(seq)
	if err != nil {
		return err
	}
	if have != want {
		return oplog.ErrFork
	}
	return nil
}

// keep puts what is new on the disk and folds it in. What is known is written as
// well, because it may have been read from a write that has not reached the disk.
// If the log says anything but yes, the state is forgotten: what is on the disk is
// the truth, and it is read again.
func (w *write) keep(ctx context.Context) error {
	batches := append(w.Fresh[:len(w.Fresh):len(w.Fresh)], w.Known...)
	if len(batches) == 0 {
		return nil
	}
	if err := w.room.log.Append(ctx, batches); err != nil {
		if !unwritten(err) {
			w.room.keep(nil)
		}
		return err
	}
	w.commit()
	if len(w.Fresh) > 0 {
		w.room.watchers.tell(w.room.id)
	}
	return nil
}

func (w *write) commit() {
	w.room.mu.Lock()
	defer w.room.mu.Unlock()
	w.state.Commit(w.Prepared)
	w.room.state = w.state
	for _, b := range w.Fresh {
		w.room.kept(b)
	}
}
