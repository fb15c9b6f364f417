package badgerdb_test

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"testing"
	"time"

	"github.com/dgraph-io/badger/v4"
	"github.com/stretchr/testify/require"

	"leafturn/server/badgerdb"
	"leafturn/server/store"
	"leafturn/server/store/storetest"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

var quietLog = slog.New(slog.DiscardHandler)

// gate is a disk that is full when a test says so.
type gate struct {
	mu   sync.Mutex
	full error // guarded by mu
}

func (g *gate) Check() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.full
}

func (g *gate) set(full error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.full = full
}

func open(t testing.TB, dir string, g *gate) *badgerdb.DB {
	t.Helper()
	db, err := badgerdb.Open(dir, badgerdb.Config{Gate: g, Log: quietLog})
	require.NoError(t, err)
	return db
}

// fresh opens an empty store that is closed when the test ends.
func fresh(t testing.TB) *badgerdb.DB {
	db := open(t, t.TempDir(), &gate{})
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}

func TestConformance(t *testing.T) {
	storetest.Run(t, func(t *testing.T) func(t *testing.T) store.Store {
		dir := t.TempDir()
		return func(t *testing.T) store.Store { return open(t, dir, &gate{}) }
	})
}

func TestRemindersConform(t *testing.T) {
	storetest.RunReminders(t, func(t *testing.T) func(t *testing.T) storetest.Reminder {
		dir := t.TempDir()
		return func(t *testing.T) storetest.Reminder { return open(t, dir, &gate{}) }
	})
}

func TestAFullDiskTakesNothingAndHeals(t *testing.T) {
	ctx := context.Background()
	full := errors.New("no room")
	g := &gate{}
	db := open(t, t.TempDir(), g)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	p := logtest.NewPen(storetest.Household("a"), 1)
	log := db.Log(p.Household)
	one, two := p.Batch(t, 1), p.Batch(t, 1)
	require.NoError(t, log.Append(ctx, []*oplog.Batch{one}))

	g.set(full)
	require.ErrorIs(t, log.Append(ctx, []*oplog.Batch{two}), full)
	require.ErrorIs(t, log.Append(ctx, []*oplog.Batch{one}), full, "a retry writes as well")
	got, err := log.Read(ctx, p.Device(), 0, oplog.MaxBatchBytes)
	require.NoError(t, err, "reading goes on")
	require.Len(t, got, 1)

	g.set(nil)
	require.NoError(t, log.Append(ctx, []*oplog.Batch{two}))
}

// A retry is as durable as the first write: it must reach the disk, because the
// answer of a read may come from a write that is going to fail.
func TestARepeatedAppendWritesAgain(t *testing.T) {
	ctx := context.Background()
	db := fresh(t)
	commits := make(chan struct{}, 8)
	db.FailCommits(func(txn *badger.Txn) error {
		commits <- struct{}{}
		return txn.Commit()
	})
	p := logtest.NewPen(storetest.Household("a"), 1)
	b := p.Batch(t, 1)
	for range 3 {
		before := db.Badger().MaxVersion()
		require.NoError(t, db.Log(p.Household).Append(ctx, []*oplog.Batch{b}))
		require.Greater(t, db.Badger().MaxVersion(), before)
	}
	require.Len(t, commits, 3)
}

func TestAfterAFailedWriteNothingIsAnswered(t *testing.T) {
	ctx := context.Background()
	db := fresh(t)
	disk := errors.New("input/output error")
	healthy := true
	db.FailCommits(func(txn *badger.Txn) error {
		if err := txn.Commit(); err != nil {
			return err
		}
		if healthy {
			return nil
		}
		return disk // after Badger took it, as when the sync fails
	})
	p := logtest.NewPen(storetest.Household("a"), 1)
	log := db.Log(p.Household)
	one, two := p.Batch(t, 1), p.Batch(t, 1)
	require.NoError(t, log.Append(ctx, []*oplog.Batch{one}))
	select {
	case <-db.Broken():
		require.Fail(t, "broken without a failure")
	default:
	}

	healthy = false
	err := log.Append(ctx, []*oplog.Batch{two})
	require.ErrorIs(t, err, store.ErrBroken)
	require.ErrorIs(t, err, disk)
	<-db.Broken()
	healthy = true
	for range 50 {
		require.ErrorIs(t, log.Append(ctx, []*oplog.Batch{two}), store.ErrBroken, "the retry of the failed write")
		require.ErrorIs(t, log.Append(ctx, []*oplog.Batch{one}), store.ErrBroken)
	}
	_, err = log.Read(ctx, p.Device(), 0, 1)
	require.ErrorIs(t, err, store.ErrBroken)
	_, err = log.Heads(ctx)
	require.ErrorIs(t, err, store.ErrBroken)
	_, err = db.Households(ctx)
	require.ErrorIs(t, err, store.ErrBroken)
}

// Appends that wait while a write fails are all told; none is left hanging.
func TestWhoWaitsWhenAWriteFailsIsTold(t *testing.T) {
	db := fresh(t)
	entered, release := make(chan struct{}), make(chan struct{})
	db.FailCommits(func(*badger.Txn) error {
		close(entered)
		<-release
		return errors.New("input/output error")
	})
	const writers = 40
	errs := make(chan error, writers)
	for i := range writers {
		p := logtest.NewPen(storetest.Household("a"), byte(i))
		b := p.Batch(t, 1)
		go func() { errs <- db.Log(p.Household).Append(context.Background(), []*oplog.Batch{b}) }()
	}
	<-entered
	close(release)
	for range writers {
		require.ErrorIs(t, <-errs, store.ErrBroken)
	}
}

// While the disk is slow, appends gather up to a bound, and whoever finds no place
// can leave. Those that found one share few transactions.
func TestAppendsGatherAndWaitingEndsWithTheContext(t *testing.T) {
	ctx := context.Background()
	db := fresh(t)
	entered, release := make(chan struct{}, 1000), make(chan struct{})
	db.FailCommits(func(txn *badger.Txn) error {
		entered <- struct{}{}
		<-release
		return txn.Commit()
	})
	const writers = badgerdb.QueueLength + 1
	errs := make(chan error, writers)
	for i := range writers {
		p := logtest.NewPen(storetest.Household(string(rune('a'+i))), 1)
		b := p.Batch(t, 1)
		go func() { errs <- db.Log(p.Household).Append(ctx, []*oplog.Batch{b}) }()
	}
	<-entered // one or more are being written, the others fill the queue
	late, cancel := context.WithCancel(ctx)
	cancel()
	p := logtest.NewPen(storetest.Household("late"), 1)
	require.ErrorIs(t, db.Log(p.Household).Append(late, []*oplog.Batch{p.Batch(t, 1)}), context.Canceled)
	close(release)
	for range writers {
		require.NoError(t, <-errs)
	}
	require.Less(t, len(entered), writers/4, "transactions beside the first")
	hs, err := db.Households(ctx)
	require.NoError(t, err)
	require.Len(t, hs, writers, "who left has written nothing")
}

// More than fits into one transaction is split between requests, never inside one.
func TestLargeAppendsShareSeveralTransactions(t *testing.T) {
	ctx := context.Background()
	db := fresh(t)
	const writers, each = 6, 3
	errs := make(chan error, writers)
	pens := make([]*logtest.Pen, writers)
	for i := range pens {
		pens[i] = logtest.NewPen(storetest.Household("a"), byte(i+1))
		batches := make([]*oplog.Batch, each)
		for n := range batches {
			batches[n] = bulky(t, pens[i], 300_000)
		}
		go func() { errs <- db.Log(pens[i].Household).Append(ctx, batches) }()
	}
	for range writers {
		require.NoError(t, <-errs)
	}
	for _, p := range pens {
		got, err := db.Log(p.Household).Read(ctx, p.Device(), 0, 10<<20)
		require.NoError(t, err)
		require.Len(t, got, each)
	}

	p := logtest.NewPen(storetest.Household("a"), 100)
	var tooMuch []*oplog.Batch
	for range 10 {
		tooMuch = append(tooMuch, bulky(t, p, 300_000))
	}
	require.ErrorIs(t, db.Log(p.Household).Append(ctx, tooMuch), oplog.ErrTooBig)
	require.NoError(t, db.Log(p.Household).Append(ctx, tooMuch[:2]), "nothing of it was kept")
}

func TestTwoAppendersOfDifferentHistories(t *testing.T) {
	ctx := context.Background()
	for range 20 {
		db := fresh(t)
		h := storetest.Household("a")
		p, twin := logtest.NewPen(h, 1), logtest.NewPen(h, 1)
		mine, theirs := p.Batch(t, 1), twin.Photos(t, 1)
		errs := make(chan error, 2)
		go func() { errs <- db.Log(h).Append(ctx, []*oplog.Batch{mine}) }()
		go func() { errs <- db.Log(h).Append(ctx, []*oplog.Batch{theirs}) }()
		a, b := <-errs, <-errs
		if a != nil {
			a, b = b, a
		}
		require.NoError(t, a, "one of them wins")
		require.ErrorIs(t, b, oplog.ErrFork)
		got, err := db.Log(h).Read(ctx, p.Device(), 0, oplog.MaxBatchBytes)
		require.NoError(t, err)
		require.Len(t, got, 1)
	}
}

// The ticker only says when; a value log without garbage stays as it is and the
// store goes on.
func TestCollectingLeavesTheLogAlone(t *testing.T) {
	ctx := context.Background()
	tick := make(chan time.Time)
	db, err := badgerdb.Open(t.TempDir(), badgerdb.Config{Gate: &gate{}, Tick: tick, Log: quietLog})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	p := logtest.NewPen(storetest.Household("a"), 1)
	var want []*oplog.Batch
	for range 4 {
		b := bulky(t, p, 900_000)
		want = append(want, b)
		require.NoError(t, db.Log(p.Household).Append(ctx, []*oplog.Batch{b}))
		tick <- time.Time{}
	}
	got, err := db.Log(p.Household).Read(ctx, p.Device(), 0, 10<<20)
	require.NoError(t, err)
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i].Encode(), got[i].Encode())
	}
}
