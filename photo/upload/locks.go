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
	last uint64          // guarded by mu; the newest caller's turn
	held map[key]*holder // guarded by mu
}

// holder is who has a lock.
type holder struct {
	turn      uint64        // callers are numbered in the order they come
	free      chan struct{} // closed when the lock is free again
	interrupt func()        // asks the holder to be quick; nil when it needs no asking
}

func newLocks() locks { return locks{held: map[key]*holder{}} }

// lock waits until k is free, or ctx ends. The caller must call unlock.
func (l *locks) lock(ctx context.Context, k key) (unlock func(), err error) {
	return l.wait(ctx, k, &holder{})
}

// seize is lock for requests, of which the newest counts: it interrupts a holder
// that came before it, and with interrupt is itself interrupted by a later one.
func (l *locks) seize(ctx context.Context, k key, interrupt func()) (unlock func(), err error) {
	l.mu.Lock()
	l.last++
	h := &holder{turn: l.last, interrupt: interrupt}
	l.mu.Unlock()
	return l.wait(ctx, k, h)
}

func (l *locks) wait(ctx context.Context, k key, h *holder) (unlock func(), err error) {
	h.free = make(chan struct{})
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		free, ok := l.try(k, h)
		if ok {
			return func() { l.unlock(k) }, nil
		}
		select {
		case <-free:
		case <-ctx.Done():
		}
	}
}

// try takes the lock for h. When another has it, it says when to try again, and
// interrupts the other if that one is older. Interrupting under mu makes sure that
// nobody is interrupted after giving the lock back.
func (l *locks) try(k key, h *holder) (free chan struct{}, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	other, busy := l.held[k]
	if !busy {
		l.held[k] = h
		return nil, true
	}
	if other.interrupt != nil && other.turn < h.turn {
		other.interrupt()
		other.interrupt = nil
	}
	return other.free, false
}

func (l *locks) unlock(k key) {
	l.mu.Lock()
	defer l.mu.Unlock()
	close(l.held[k].free)
	delete(l.held, k)
}
