package upload

import (
	"context"
	"sync"

	"leafturn/model"
)

// key is what is locked: an upload, or with no id the household's creators.
type key struct {
	hh model.HouseholdID
	id ID
}

// locks holds one lock for each key in use.
type locks struct {
	mu   sync.Mutex
	held map[key]chan struct{} // guarded by mu; closed when the lock is free again
}

func newLocks() locks { return locks{held: map[key]chan struct{}{}} }

// lock waits until k is free, or ctx ends. The caller must call unlock.
func (l *locks) lock(ctx context.Context, k key) (unlock func(), err error) {
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		free, ok := l.try(k)
		if ok {
			return func() { l.unlock(k) }, nil
		}
		select {
		case <-free:
		case <-ctx.Done():
		}
	}
}

func (l *locks) try(k key) (free chan struct{}, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if free, busy := l.held[k]; busy {
		return free, false
	}
	l.held[k] = make(chan struct{})
	return nil, true
}

func (l *locks) unlock(k key) {
	l.mu.Lock()
	defer l.mu.Unlock()
	close(l.held[k])
	delete(l.held, k)
}
