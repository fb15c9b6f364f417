package household

import (
	"context"
	"errors"
	"time"

	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Found makes a household from the first batches of the phone that founds it. It
// calls spend with what is to be done, once, while it holds the household: spend
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
	if _, known := st.Key(m.Batches[0].Device); !known {
		if err := admits(st, intro, s.now()); err != nil {
			return nil, err
		}
	}
	if err := newWrite(r, st, m.Batches, s.now()).whole(ctx); err != nil {
		return nil, err
	}
	return s.welcome(m), nil
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

// introduction reads how a phone introduces itself: by batches of its own, the
// first of which says who it is.
func introduction(m *wire.Message) (any, error) {
	if len(m.Batches) == 0 {
		return nil, ErrIntroduction
	}
	for _, b := range m.Batches {
		if b.Device != m.Batches[0].Device {
			return nil, ErrIntroduction
		}
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
