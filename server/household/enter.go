package household

import (
	"context"
	"errors"
	"slices"
	"time"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Found makes a household from the first batches of the phone that founds it. Where a
// server has lost all it had, any phone of the household can bring it back: it adds what
// it has of the other logs, of which the token lets all or nothing in.
//
// It calls spend with what is to be done, once, while it holds the household: spend
// uses up a set-up token if, and only if, that succeeds. A phone that did not hear
// the answer may ask again; that needs no token, because nothing changes.
func (s *Service) Found(ctx context.Context, m *wire.Message, spend func(found func() error) error) (*wire.Message, error) {
	intro, err := introduction(m)
	if err != nil {
		return nil, err
	}
	if _, ok := intro.(*oplog.Found); !ok {
		return nil, ErrIntroduction
	}
	r := s.rooms.enter(m.Household)
	defer s.rooms.leave(r)
	r.write.Lock()
	defer r.write.Unlock()
	st, err := r.folded(ctx)
	if err == nil {
		return s.repeated(ctx, r, st, m)
	}
	if !errors.Is(err, ErrUnknown) {
		return nil, err
	}
	err = spend(func() error { return newWrite(r, merge.New(m.Household), m.Batches, s.now()).whole(ctx) })
	if err != nil {
		return nil, err
	}
	return s.welcome(m), nil
}

// repeated answers a phone that founds a household which is there already.
func (s *Service) repeated(ctx context.Context, r *room, st *merge.State, m *wire.Message) (*wire.Message, error) {
	w := newWrite(r, st, m.Batches, s.now())
	if len(w.Fresh) > 0 || len(w.Refused) > 0 {
		return nil, ErrExists
	}
	if err := w.whole(ctx); err != nil {
		return nil, err
	}
	return s.welcome(m), nil
}

// Join takes in a phone by its invitation, which must be known, unused and in time
// by the server's clock, or because it takes the place of a phone that may act now. A
// phone that did not hear the answer may ask again, also when the invitation has run
// out since.
//
// A server that was restored may lack what the phone builds on: the log with its
// invitation, or of the phone whose place it takes. Then the phone brings these along.
// They are kept if, with them, the phone may come in, and so could hand them over anyway.
func (s *Service) Join(ctx context.Context, m *wire.Message) (*wire.Message, error) {
	intro, err := introduction(m)
	if err != nil {
		return nil, err
	}
	if _, ok := intro.(*oplog.Found); ok {
		return nil, ErrIntroduction
	}
	r := s.rooms.enter(m.Household)
	defer s.rooms.leave(r)
	r.write.Lock()
	defer r.write.Unlock()
	st, err := r.folded(ctx)
	if errors.Is(err, ErrUnknown) {
		return nil, oplog.ErrInvitation // nobody learns which households exist
	}
	if err != nil {
		return nil, err
	}
	batches, err := s.admitted(ctx, r, st, m, intro)
	if err != nil {
		return nil, err
	}
	w := newWrite(r, st, batches, s.now())
	if err := w.enters(ctx, m.Batches[0].Device); err != nil {
		return nil, err
	}
	if err := w.keep(ctx); err != nil {
		return nil, err
	}
	return s.welcome(m), nil
}

// admitted gives what to take in of the message by which a phone joins, if it may.
func (s *Service) admitted(ctx context.Context, r *room, st *merge.State, m *wire.Message, intro any) ([]*oplog.Batch, error) {
	d, more := m.Batches[0].Device, brought(m)
	if _, known := st.Key(d); known {
		if len(more) > 0 {
			return nil, ErrIntroduction // whoever repeats it has not proven that it is theirs
		}
		return m.Batches, st.Access(d)
	}
	if len(more) > 0 {
		if err := newWrite(r, st, m.Batches, s.now()).enters(ctx, d); err != nil {
			return nil, err
		}
		// Folded anew: what is refused in the end must not stay in the state.
		after, err := fold(ctx, r.id, r.log)
		if err != nil {
			return nil, err
		}
		after.Apply(more...)
		st = after
	}
	return m.Batches, admits(st, intro, s.now())
}

// enters says whether a device's own batches can be taken in.
func (w *write) enters(ctx context.Context, d model.DeviceID) error {
	if err := w.check(ctx); err != nil {
		return err
	}
	for _, x := range w.Refused {
		if x.Batch.Device == d {
			return x.Err
		}
	}
	return nil
}

// brought are the batches of a message that are not its sender's.
func brought(m *wire.Message) []*oplog.Batch {
	return slices.DeleteFunc(slices.Clone(m.Batches), func(b *oplog.Batch) bool { return b.Device == m.Batches[0].Device })
}

// admits says whether a new device may come in now.
func admits(st *merge.State, intro any, now time.Time) error {
	if x, ok := intro.(*oplog.Succeed); ok {
		return st.Access(x.Device)
	}
	invite, used := st.Invitation(intro.(*oplog.Join).Via)
	switch {
	case invite == nil:
		return oplog.ErrInvitation
	case len(used) > 0:
		return oplog.ErrUsed
	case now.UnixMilli() >= int64(invite.Expires):
		return ErrExpired
	}
	return nil
}

// introduction reads how a phone introduces itself: by the first batch of a message.
func introduction(m *wire.Message) (any, error) {
	if len(m.Batches) == 0 {
		return nil, ErrIntroduction
	}
	return oplog.Introduction(m.Household, m.Batches[0])
}

// whole keeps all of a write or nothing.
func (w *write) whole(ctx context.Context) error {
	if err := w.check(ctx); err != nil {
		return err
	}
	if len(w.Refused) > 0 {
		return w.Refused[0].Err
	}
	return w.keep(ctx)
}

// welcome answers a phone that founded or joined. It holds nothing of the household:
// who repeats somebody's first batch has not proven yet that it is theirs.
func (s *Service) welcome(m *wire.Message) *wire.Message {
	last := m.Batches[len(m.Batches)-1]
	return &wire.Message{Household: m.Household, Have: oplog.Vector{last.Device: last.Last()}, Now: s.now().UnixMilli()}
}
