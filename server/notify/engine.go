package notify

import (
	"context"
	"errors"
	"slices"
	"time"

	"leafturn/model"
	"leafturn/server/notify/webpush"
	"leafturn/server/store"
	"leafturn/sync/hint"
)

const (
	// maxWorkers is how many households are reminded at once. Most of the time they
	// wait for push services.
	maxWorkers = 32

	// perClaim is how many households a worker claims at once: few, so that one that
	// takes long holds up few others.
	perClaim = 4

	// lease is how long a worker may take for what it claims. A server that was
	// killed leaves its households to others, or to itself, after that.
	lease = 2 * time.Minute

	// farthest is later than any next moment that a right clock makes.
	farthest = 72 * time.Hour
)

// Changed takes note that a household's log has changed, so that notes are withdrawn
// and hours planned anew. It does not wait.
func (s *Service) Changed(h model.HouseholdID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.changed[h] = struct{}{}
}

// Run tells people what is due, at each tick, until ctx ends. Whoever is being told
// something then is told.
func (s *Service) Run(ctx context.Context, tick <-chan time.Time) {
	defer s.work.Wait()
	s.survey(ctx)
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick:
		}
		s.round(ctx)
	}
}

// Round tells people what is due now, and waits until that is done.
func (s *Service) Round(ctx context.Context) {
	s.round(ctx)
	s.work.Wait()
}

func (s *Service) round(ctx context.Context) {
	if s.wentBack() {
		s.survey(ctx)
	}
	for _, h := range s.takeChanged() {
		if err := s.Store.Wake(ctx, h, s.now()); err != nil {
			s.Changed(h) // the next round tries again
			s.complain(ctx, "wake household", err)
			return
		}
	}
	s.hire(ctx)
}

// wentBack reports whether the clock shows an earlier time than in the last round.
// What was planned meanwhile may be far in the future then.
func (s *Service) wentBack() bool {
	now := s.now()
	s.mu.Lock()
	defer s.mu.Unlock()
	back := now < s.last
	s.last = now
	return back
}

func (s *Service) takeChanged() []model.HouseholdID {
	s.mu.Lock()
	defer s.mu.Unlock()
	all := make([]model.HouseholdID, 0, len(s.changed))
	for h := range s.changed {
		all = append(all, h)
	}
	clear(s.changed)
	slices.SortFunc(all, model.CompareIDs)
	return all
}

// survey wakes the households whose rota does not fit: those that changed while
// nobody listened, or were planned by a clock that was wrong, or sleep.
func (s *Service) survey(ctx context.Context) {
	err := s.Store.Rotas(ctx, func(r store.Rota) error {
		now := s.now()
		if r.Next != 0 && r.Next-now < model.Instant(farthest.Milliseconds()) {
			heads, err := s.Store.Log(r.Household).Heads(ctx)
			if err != nil {
				s.complain(ctx, "look for changes", err)
				return ctx.Err()
			}
			if r.Mark == string(hint.Of(heads)) {
				return nil
			}
		}
		return s.Store.Wake(ctx, r.Household, now)
	})
	s.complain(ctx, "survey households", err)
}

// complain logs an error, unless it only says that the service was told to end.
func (s *Service) complain(ctx context.Context, what string, err error) {
	if err != nil && ctx.Err() == nil {
		s.Log.Error(what, "err", err)
	}
}

// hire lets one more worker work, unless there are enough. Whoever finds as much as
// it can take hires another.
func (s *Service) hire(ctx context.Context) {
	select {
	case s.workers <- struct{}{}:
	default:
		return
	}
	s.work.Go(func() {
		defer func() { <-s.workers }()
		for s.shift(ctx) {
		}
	})
}

// shift reminds some households, and reports whether there may be more of them.
func (s *Service) shift(ctx context.Context) bool {
	if ctx.Err() != nil {
		return false
	}
	now := s.now()
	ends := now + model.Instant(lease.Milliseconds())
	rotas, err := s.Store.Claim(ctx, now, ends, perClaim)
	if err != nil {
		s.complain(ctx, "claim households", err)
		return false
	}
	if len(rotas) == perClaim {
		s.hire(ctx)
	}
	for i := range rotas {
		if err := s.remind(ctx, &rotas[i], ends); errors.Is(err, store.ErrFenced) {
			s.Log.Warn("household was claimed by another meanwhile", "household", rotas[i].Household)
		} else {
			s.complain(ctx, "remind household", err)
		}
	}
	return len(rotas) > 0
}

// remind tells the people of a household what is due. What cannot be settled is
// left to whoever claims the household when the lease has run out.
func (s *Service) remind(ctx context.Context, r *store.Rota, leaseEnds model.Instant) error {
	p, err := s.plan(ctx, r)
	if err != nil {
		return err
	}
	for _, t := range p.turns {
		if s.now() >= leaseEnds || ctx.Err() != nil {
			break // somebody else may be at it, or the server ends
		}
		if err := s.tell(ctx, p.clock, t); err != nil {
			return err
		}
	}
	// What was said must be remembered, also when the server is told to end.
	return s.Store.Settle(context.WithoutCancel(ctx), p.settled(r))
}

// tell tells one phone what it is to be told, and remembers what came of it.
func (s *Service) tell(ctx context.Context, c clock, t *turn) error {
	kind, after := t.step(c)
	if kind != "" && t.held(c) {
		return nil
	}
	if kind != "" {
		m, err := t.message(c, kind)
		if err != nil {
			return err
		}
		err = s.Push.Send(ctx, webpush.Subscription{Endpoint: t.phone.Endpoint, Key: t.phone.Key, Secret: t.phone.Secret}, m)
		after = s.outcome(ctx, t, after, err)
		if errors.Is(err, webpush.ErrGone) {
			err := s.Store.Unsubscribe(ctx, t.phone.Household, t.phone.Device, t.phone.Endpoint)
			s.complain(ctx, "forget phone", err)
		}
	}
	t.told.Said = uint8(after)
	return nil
}

// outcome says what the phone was told, given what came of sending it. A message
// that is refused for good counts as said: the next one would be refused as well, and
// the day after is another day.
func (s *Service) outcome(ctx context.Context, t *turn, after said, err error) said {
	switch {
	case err == nil:
		t.told.Tries, t.told.Again, t.told.Shown = 0, 0, t.counts.due
		return after
	case errors.Is(err, webpush.ErrGone):
		return after
	case errors.Is(err, webpush.ErrRefused):
		s.Log.Warn("message refused", "household", t.phone.Household, "device", t.phone.Device, "err", err)
		return after
	case ctx.Err() != nil: // the server ends; nobody knows whether it arrived
		return said(t.told.Said)
	}
	var later *webpush.Later
	var asked time.Duration
	if errors.As(err, &later) {
		asked = later.After
	}
	t.told.Again = s.now() + model.Instant(max(asked, backOff(t.told.Tries)).Milliseconds())
	t.told.Tries++
	s.Log.Info("message not taken", "household", t.phone.Household, "device", t.phone.Device, "tries", t.told.Tries, "err", err)
	return said(t.told.Said)
}

// How long to wait after a try in vain.
const (
	firstWait   = 30 * time.Second
	longestWait = 30 * time.Minute
)

func backOff(tries int) time.Duration {
	return min(firstWait<<min(tries, 10), longestWait)
}
