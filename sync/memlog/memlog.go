// Package memlog keeps a household's batches in memory, for tests, simulations
// and scripts that need no disk.
package memlog

import (
	"context"
	"slices"
	"sync"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// Log is an oplog.Log in memory. It is safe for concurrent use.
type Log struct {
	household model.HouseholdID

	mu      sync.Mutex
	batches map[model.DeviceID][]*oplog.Batch // guarded by mu, in order
	heads   map[model.DeviceID]oplog.Head     // guarded by mu
}

// New makes an empty log.
func New(h model.HouseholdID) *Log {
	return &Log{household: h, batches: map[model.DeviceID][]*oplog.Batch{}, heads: map[model.DeviceID]oplog.Head{}}
}

// Household is the household whose log it is.
func (l *Log) Household() model.HouseholdID { return l.household }

// Append keeps batches, all or none.
func (l *Log) Append(_ context.Context, batches []*oplog.Batch) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	fresh := map[model.DeviceID][]*oplog.Batch{}
	heads := map[model.DeviceID]oplog.Head{}
	for _, b := range batches {
		head, ok := heads[b.Device]
		if !ok {
			head = l.heads[b.Device]
		}
		next, isNew, err := oplog.Continue(l.household, head, b)
		if err != nil {
			return err
		}
		if isNew {
			fresh[b.Device] = append(fresh[b.Device], b)
			heads[b.Device] = next
		}
	}
	for d, bs := range fresh {
		l.batches[d] = append(l.batches[d], bs...)
		l.heads[d] = heads[d]
	}
	return nil
}

// Read gives the batches of a device that hold operations after seq.
func (l *Log) Read(_ context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	var out []*oplog.Batch
	size := 0
	for _, b := range l.batches[d] {
		if b.Last() <= after {
			continue
		}
		size += len(b.Encode())
		if len(out) > 0 && size > maxBytes {
			break
		}
		out = append(out, b)
	}
	return out, nil
}

// PutSegment keeps a batch in place of those that it was made of by oplog.Segment.
// ErrGap if none ends just before it or where it ends, ErrFork if they hold something
// else.
func (l *Log) PutSegment(_ context.Context, s *oplog.Batch) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	log := l.batches[s.Device]
	ends := func(seq uint64) int {
		return slices.IndexFunc(log, func(b *oplog.Batch) bool { return b.Last() == seq })
	}
	before, last := ends(s.First-1), ends(s.Last())
	if before < 0 || last < 0 {
		return oplog.ErrGap
	}
	if err := oplog.SameEnd(log[last], s); err != nil {
		return err
	}
	l.batches[s.Device] = slices.Replace(log, before+1, last+1, s)
	return nil
}

// Heads says how far each device's log goes.
func (l *Log) Heads(context.Context) (map[model.DeviceID]oplog.Head, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	out := make(map[model.DeviceID]oplog.Head, len(l.heads))
	for d, h := range l.heads {
		out[d] = h
	}
	return out, nil
}
