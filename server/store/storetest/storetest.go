// Package storetest is the conformance suite of store.Store and store.Reminders.
// Every implementation runs it.
package storetest

import (
	"bytes"
	"context"
	"slices"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/store"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// Household makes the id of a household for tests.
func Household(name string) model.HouseholdID {
	return model.HouseholdID(uuid.NewSHA1(uuid.NameSpaceOID, []byte(name)))
}

// Run runs the suite. fresh makes a new, empty place for a store and returns a
// function that opens it, again and again, as long as it is closed in between. It
// proves, besides what logtest proves for each log:
//
//  1. a household exists once something was appended, and not before, also when
//     the append was refused;
//  2. households of one store do not see each other's batches or devices;
//  3. all of that survives reopening;
//  4. many writers of many households lose nothing and double nothing;
//  5. after Close every call says that the store is closed, also one that was
//     waiting;
//  6. it has an epoch, which stays until it is renewed, and lasts.
func Run(t *testing.T, fresh func(t *testing.T) (open func(t *testing.T) store.Store)) {
	ctx := context.Background()
	t.Run("log", func(t *testing.T) {
		logtest.Run(t, func(t *testing.T) logtest.Store { return logStore(t, fresh(t)) })
	})
	t.Run("a household exists once it holds something", func(t *testing.T) {
		s := opened(t, fresh(t))
		a := logtest.NewPen(Household("a"), 1)
		first, second := a.Batch(t, 1), a.Batch(t, 1)
		require.Empty(t, households(t, s))
		require.ErrorIs(t, s.Log(a.Household).Append(ctx, []*oplog.Batch{second}), oplog.ErrGap)
		require.Empty(t, households(t, s))
		require.NoError(t, s.Log(a.Household).Append(ctx, []*oplog.Batch{first}))
		require.Equal(t, []model.HouseholdID{a.Household}, households(t, s))
	})
	t.Run("households are apart, also after reopening", func(t *testing.T) {
		open := fresh(t)
		s := open(t)
		pens := map[model.HouseholdID]*logtest.Pen{}
		want := map[model.HouseholdID][]byte{}
		for _, name := range []string{"a", "b", "c"} {
			p := logtest.NewPen(Household(name), 1) // the same device in all of them
			b := p.Batch(t, 3)
			require.NoError(t, s.Log(p.Household).Append(ctx, []*oplog.Batch{b}))
			pens[p.Household], want[p.Household] = p, b.Encode()
		}
		check := func(s store.Store) {
			require.Len(t, households(t, s), len(pens))
			for _, h := range households(t, s) {
				got, err := s.Log(h).Read(ctx, pens[h].Device(), 0, oplog.MaxBatchBytes)
				require.NoError(t, err)
				require.Len(t, got, 1)
				require.True(t, bytes.Equal(want[h], got[0].Encode()))
			}
		}
		check(s)
		require.NoError(t, s.Close())
		s = open(t)
		check(s)
		require.NoError(t, s.Close())
		require.NoError(t, s.Close(), "closing twice")
	})
	t.Run("many writers", func(t *testing.T) { manyWriters(t, opened(t, fresh(t))) })
	t.Run("epoch", func(t *testing.T) { epoch(t, fresh(t), fresh(t)) })
	t.Run("closed", func(t *testing.T) { closed(t, fresh(t)(t)) })
}

func epoch(t *testing.T, open, openOther func(t *testing.T) store.Store) {
	ctx := context.Background()
	s := open(t)
	first := s.Epoch()
	require.False(t, first.IsZero())
	require.NotEqual(t, first.Store, opened(t, openOther).Epoch().Store)
	require.NoError(t, s.Close())
	s = open(t)
	require.Equal(t, first, s.Epoch())
	require.NoError(t, s.Renew(ctx))
	second := s.Epoch()
	require.Equal(t, first.Store, second.Store)
	require.NotEqual(t, first.Age, second.Age)
	require.NoError(t, s.Close())
	s = open(t)
	require.Equal(t, second, s.Epoch())
	require.Empty(t, households(t, s), "it is nobody's")
	require.NoError(t, s.Close())
	require.ErrorIs(t, s.Renew(ctx), store.ErrClosed)
	require.Equal(t, second, s.Epoch())
}

func opened(t *testing.T, open func(t *testing.T) store.Store) store.Store {
	s := open(t)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func logStore(t *testing.T, open func(t *testing.T) store.Store) logtest.Store {
	var s store.Store
	t.Cleanup(func() {
		if s != nil {
			require.NoError(t, s.Close())
		}
	})
	return logtest.Store{
		Open: func(t *testing.T, h model.HouseholdID) oplog.Log {
			if s == nil {
				s = open(t)
			}
			return s.Log(h)
		},
		Close: func(t *testing.T) {
			require.NoError(t, s.Close())
			s = nil
		},
	}
}

// manyWriters lets several devices of several households write at once, each batch
// twice from two goroutines, in order.
func manyWriters(t *testing.T, s store.Store) {
	const writers, rounds = 12, 15
	errs := make(chan error, 2*writers)
	want := map[model.HouseholdID]map[model.DeviceID]uint64{}
	var wg sync.WaitGroup
	for w := range writers {
		p := logtest.NewPen(Household(string(rune('a'+w%3))), byte(w+1))
		var batches []*oplog.Batch
		for range rounds {
			batches = append(batches, p.Batch(t, 2))
		}
		if want[p.Household] == nil {
			want[p.Household] = map[model.DeviceID]uint64{}
		}
		want[p.Household][p.Device()] = batches[rounds-1].Last()
		for range 2 {
			wg.Go(func() { errs <- appendAll(s.Log(p.Household), batches) })
		}
	}
	wg.Wait()
	for range cap(errs) {
		require.NoError(t, <-errs)
	}
	for h, devices := range want {
		heads, err := s.Log(h).Heads(context.Background())
		require.NoError(t, err)
		require.Len(t, heads, len(devices))
		for d, seq := range devices {
			require.Equal(t, seq, heads[d].Seq)
			got, err := s.Log(h).Read(context.Background(), d, 0, oplog.MaxBatchBytes)
			require.NoError(t, err)
			require.Len(t, got, rounds)
		}
	}
}

func appendAll(log oplog.Log, batches []*oplog.Batch) error {
	for _, b := range batches {
		if err := log.Append(context.Background(), []*oplog.Batch{b}); err != nil {
			return err
		}
	}
	return nil
}

func closed(t *testing.T, s store.Store) {
	ctx := context.Background()
	p := logtest.NewPen(Household("a"), 1)
	batches := make([]*oplog.Batch, 300)
	for i := range batches {
		batches[i] = p.Batch(t, 1)
	}
	log := s.Log(p.Household)
	started, done := make(chan struct{}), make(chan error, 1)
	go func() {
		for i, b := range batches {
			if i == 1 {
				close(started)
			}
			if err := log.Append(ctx, []*oplog.Batch{b}); err != nil {
				done <- err
				return
			}
		}
		done <- nil
	}()
	<-started
	require.NoError(t, s.Close())
	if err := <-done; err != nil {
		require.ErrorIs(t, err, store.ErrClosed)
	}
	require.ErrorIs(t, log.Append(ctx, batches[:1]), store.ErrClosed)
	_, err := log.Read(ctx, p.Device(), 0, 1)
	require.ErrorIs(t, err, store.ErrClosed)
	_, err = log.Heads(ctx)
	require.ErrorIs(t, err, store.ErrClosed)
	_, err = s.Households(ctx)
	require.ErrorIs(t, err, store.ErrClosed)
}

func households(t *testing.T, s store.Store) []model.HouseholdID {
	t.Helper()
	hs, err := s.Households(context.Background())
	require.NoError(t, err)
	require.True(t, slices.IsSortedFunc(hs, model.CompareIDs))
	return hs
}
