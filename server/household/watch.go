package household

import (
	"context"
	"sync"

	"leafturn/model"
	"leafturn/sync/hint"
	"leafturn/sync/merge"
)

// watchers are those who want to hear of changes, by household.
type watchers struct {
	mu  sync.Mutex
	of  map[model.HouseholdID]map[*Watch]struct{} // guarded by mu
	all func(model.HouseholdID)                   // guarded by mu; nil for nobody
}

// OnChange calls f after the log of any household has changed on the disk. f must
// not wait for anything, and must not call the service. There is one such f.
func (s *Service) OnChange(f func(model.HouseholdID)) {
	ws := &s.rooms.watchers
	ws.mu.Lock()
	defer ws.mu.Unlock()
	ws.all = f
}

// Watch is somebody's wish to hear of changes in one household, until End.
type Watch struct {
	all       *watchers
	household model.HouseholdID
	changed   chan struct{}
}

// Watch begins to watch a household, whether or not it exists.
func (s *Service) Watch(h model.HouseholdID) *Watch {
	w := &Watch{all: &s.rooms.watchers, household: h, changed: make(chan struct{}, 1)}
	w.all.mu.Lock()
	defer w.all.mu.Unlock()
	if w.all.of == nil {
		w.all.of = map[model.HouseholdID]map[*Watch]struct{}{}
	}
	if w.all.of[h] == nil {
		w.all.of[h] = map[*Watch]struct{}{}
	}
	w.all.of[h][w] = struct{}{}
	return w
}

// Changed receives after the household's log has changed on the disk. Changes that
// come faster than they are received are received as one.
func (w *Watch) Changed() <-chan struct{} { return w.changed }

// End ends the watching.
func (w *Watch) End() {
	w.all.mu.Lock()
	defer w.all.mu.Unlock()
	delete(w.all.of[w.household], w)
	if len(w.all.of[w.household]) == 0 {
		delete(w.all.of, w.household)
	}
}

// tell wakes who watches a household. It never waits for any of them: who has not
// received yet that something changed, will receive it and look for itself.
func (ws *watchers) tell(h model.HouseholdID) {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	if ws.all != nil {
		ws.all(h)
	}
	for w := range ws.of[h] {
		select {
		case w.changed <- struct{}{}:
		default:
		}
	}
}

// Mark is the mark of what the server knows of a household now. It is told to the
// household's devices only.
func (s *Service) Mark(ctx context.Context, h model.HouseholdID, d model.DeviceID) (m hint.Mark, err error) {
	r := s.rooms.enter(h)
	defer s.rooms.leave(r)
	err = r.read(ctx, func(st *merge.State) error {
		if err := st.Access(d); err != nil {
			return err
		}
		m = hint.Of(st.Heads())
		return nil
	})
	return m, err
}
