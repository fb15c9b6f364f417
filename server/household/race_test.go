package household_test

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/server/store"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// each runs f in n goroutines and gives what they return.
func each[T any](n int, f func(i int) T) []T {
	type numbered struct {
		i int
		v T
	}
	results := make(chan numbered, n)
	for i := range n {
		go func() { results <- numbered{i, f(i)} }()
	}
	out := make([]T, n)
	for range n {
		r := <-results
		out[r.i] = r.v
	}
	return out
}

type answered struct {
	m   *wire.Message
	err error
}

// The same batch arrives many times at once, as when a phone retries over a bad
// line: it is stored once and everybody gets the same answer.
func TestTheSameBatchManyTimesAtOnce(t *testing.T) {
	w := newWorld(t)
	for round := range 25 {
		a := w.founded(t, byte(1+round))
		a.Look(t, 1)
		m := a.Message(a.Look(t, 2)) // its predecessor has not arrived yet
		whole := a.Message(a.Batches(t, a.Device())...)
		n := 2 + 2*round
		if round%5 == 0 {
			w.restart() // all of them find the household unfolded
		}
		require.Equal(t, oplog.ErrGap.Code, refusedAs(t, w, a, m.Batches...)[0].Code)
		answers := each(n, func(int) answered {
			got, err := w.Exchange(ctx, a.Household(), a.Device(), whole)
			return answered{got, err}
		})
		for _, got := range answers {
			require.NoError(t, got.err)
			require.Equal(t, answers[0].m, got.m)
			require.Empty(t, got.m.Refused)
		}
		kept, err := w.db.Log(a.Household()).Read(ctx, a.Device(), 0, 1<<20)
		require.NoError(t, err)
		require.Len(t, kept, 3, "found and two looks, once each")
		require.Equal(t, a.Digest(t), w.digest(t, a))
	}
}

func TestManyPhonesWriteAtOnce(t *testing.T) {
	w := newWorld(t)
	hosts := []*phonetest.Phone{w.founded(t, 1), w.founded(t, 2), w.founded(t, 3)}
	phones := append([]*phonetest.Phone{}, hosts...)
	for i := range 6 {
		phones = append(phones, w.joined(t, hosts[i%3], byte(10+i)))
	}
	for round := range 4 {
		for i, p := range phones {
			for range 5 {
				p.Look(t, byte(1+round*len(phones)+i))
			}
		}
		errs := each(len(phones), func(i int) error {
			_, err := phones[i].Sync(w.sendAs(phones[i]))
			return err
		})
		for _, err := range errs {
			require.NoError(t, err)
		}
	}
	for _, p := range phones {
		w.sync(t, p)
		require.Equal(t, w.digest(t, p), p.Digest(t))
	}
	w.restart()
	for _, p := range phones {
		require.Equal(t, w.digest(t, p), p.Digest(t))
	}
}

func TestOneInvitationLetsOnePhoneIn(t *testing.T) {
	w := newWorld(t)
	for round := range 10 {
		a := w.founded(t, byte(1+round))
		i := a.Invite(t, 200, 15*time.Minute)
		w.sync(t, a)
		phones := make([]*phonetest.Phone, 50)
		for n := range phones {
			phones[n] = phonetest.Join(t, byte(20+n), w.clock.now, i)
		}
		errs := each(len(phones), func(n int) error {
			_, err := w.Join(ctx, phones[n].Introduction())
			return err
		})
		admitted := 0
		for n, err := range errs {
			if err == nil {
				admitted++
				w.sync(t, phones[n])
				continue
			}
			require.ErrorIs(t, err, oplog.ErrUsed)
		}
		require.Equal(t, 1, admitted)
	}
}

func TestOneTokenFoundsOneHousehold(t *testing.T) {
	w := newWorld(t)
	var spent atomic.Bool
	spend := func(found func() error) error {
		if !spent.CompareAndSwap(false, true) {
			return fault.New("setup_token_used", "used")
		}
		return found()
	}
	phones := make([]*phonetest.Phone, 20)
	for n := range phones {
		phones[n] = phonetest.Found(t, byte(1+n), w.clock.now)
	}
	errs := each(len(phones), func(n int) error {
		_, err := w.Found(ctx, phones[n].Introduction(), spend)
		return err
	})
	failed := 0
	for _, err := range errs {
		if err != nil {
			failed++
		}
	}
	require.Equal(t, len(phones)-1, failed)
	hs, err := w.db.Households(ctx)
	require.NoError(t, err)
	require.Len(t, hs, 1)
}

// Folded states are cleared away under pressure, while others are in use, and
// nothing but time is lost.
func TestFewRoomsForManyHouseholds(t *testing.T) {
	w := newWorld(t)
	w.Service = household.WithRoom(w.db, w.clock.now, 200)
	const n, rounds = 12, 5
	phones := make([]*phonetest.Phone, n)
	for i := range phones {
		phones[i] = w.founded(t, byte(1+i))
	}
	for range rounds {
		for i, p := range phones {
			p.Look(t, byte(1+i))
		}
		errs := each(3*n, func(i int) error {
			p := phones[i%n]
			if i >= n {
				_, err := w.DeviceKey(ctx, p.Household(), p.Device())
				return err
			}
			_, err := p.Sync(w.sendAs(p))
			return err
		})
		for _, err := range errs {
			require.NoError(t, err)
		}
		require.LessOrEqual(t, household.Weight(w.Service), 200)
	}
	for _, p := range phones {
		require.Equal(t, p.Digest(t), w.digest(t, p))
	}
}

func TestAskingForUnknownHouseholdsKeepsNothing(t *testing.T) {
	w := newWorld(t)
	for i := range 100 {
		_, err := w.DeviceKey(ctx, model.HouseholdID{byte(i), 1}, model.DeviceID{1})
		require.ErrorIs(t, err, household.ErrUnknown)
	}
	require.Zero(t, household.Rooms(w.Service))
}

// When a write fails the state is forgotten, so that the server never says it has
// what the disk did not confirm; and the directory does not call a device unknown
// because the store is in trouble.
func TestAFailedWriteIsNeverAcknowledged(t *testing.T) {
	w := newWorld(t)
	a := phonetest.Found(t, 1, w.clock.now)
	log := &flaky{Log: memlog.New(a.Household())}
	w.Service = household.New(oneLog{log}, w.clock.now)
	_, err := w.Found(ctx, a.Introduction(), free)
	require.NoError(t, err)

	a.Look(t, 1)
	log.broken = true
	for range 3 {
		_, err = a.Sync(w.sendAs(a))
		require.ErrorIs(t, err, store.ErrBroken)
	}
	_, err = w.DeviceKey(ctx, a.Household(), a.Device())
	require.Error(t, err)
	_, isFault := fault.From(err)
	require.False(t, isFault)
}

// flaky is a log whose next append fails, with or without having written.
type flaky struct {
	*memlog.Log
	fail   error
	write  bool
	broken bool // from now on
}

func (f *flaky) Heads(ctx context.Context) (map[model.DeviceID]oplog.Head, error) {
	if f.broken {
		return nil, store.ErrBroken
	}
	return f.Log.Heads(ctx)
}

func (f *flaky) Append(_ context.Context, batches []*oplog.Batch) error {
	if f.broken {
		return store.ErrBroken
	}
	if f.fail == nil || f.write {
		if err := f.Log.Append(ctx, batches); err != nil {
			return err
		}
	}
	err := f.fail
	f.fail = nil
	return err
}

// oneLog is a store with one household.
type oneLog struct{ log oplog.Log }

func (o oneLog) Log(model.HouseholdID) oplog.Log                         { return o.log }
func (o oneLog) Households(context.Context) ([]model.HouseholdID, error) { return nil, nil }
func (o oneLog) Broken() <-chan struct{}                                 { return nil }
func (o oneLog) Close() error                                            { return nil }
func (o oneLog) Epoch() wire.Epoch                                       { return wire.Epoch{} }
func (o oneLog) Renew(context.Context) error                             { return nil }

// After an append of unknown outcome the server goes by what is in the log.
func TestAnAppendOfUnknownOutcome(t *testing.T) {
	for _, wrote := range []bool{false, true} {
		t.Run(fmt.Sprintf("wrote=%t", wrote), func(t *testing.T) {
			w := newWorld(t)
			a := phonetest.Found(t, 1, w.clock.now)
			log := &flaky{Log: memlog.New(a.Household())}
			w.Service = household.New(oneLog{log}, w.clock.now)
			_, err := w.Found(ctx, a.Introduction(), free)
			require.NoError(t, err)

			lost := errors.New("no answer")
			log.fail, log.write = lost, wrote
			look := a.Look(t, 1)
			_, err = w.Exchange(ctx, a.Household(), a.Device(), a.Message(look))
			require.ErrorIs(t, err, lost)
			answer, err := w.Exchange(ctx, a.Household(), a.Device(), a.Message())
			require.NoError(t, err)
			require.Equal(t, wrote, answer.Have[a.Device()] == look.Last())
			w.sync(t, a)
			require.Equal(t, a.Digest(t), w.digest(t, a))
		})
	}
}

// What lies on the disk is checked like what comes over the network: a log that
// holds what the household's rules forbid is damaged, and nothing of it is served.
func TestALogThatCannotBeRightIsDamaged(t *testing.T) {
	w := newWorld(t)
	a, stranger := phonetest.Found(t, 1, w.clock.now), phonetest.Found(t, 2, w.clock.now)
	log := memlog.New(a.Household())
	require.NoError(t, log.Append(ctx, a.Introduction().Batches))
	tail := oplog.NewTail(a.Household(), stranger.Device())
	ops, err := tail.Write(w.clock.stamp(), &oplog.Found{Key: stranger.Key.Public().(ed25519.PublicKey)})
	require.NoError(t, err)
	smuggled, err := tail.Seal(stranger.Key, oplog.NewTail(a.Household(), stranger.Device()).Head(), ops)
	require.NoError(t, err)
	require.NoError(t, log.Append(ctx, []*oplog.Batch{smuggled}))

	w.Service = household.New(oneLog{log}, w.clock.now)
	_, err = w.Digest(ctx, a.Household())
	require.ErrorIs(t, err, store.ErrDamaged)
	_, err = a.Sync(w.sendAs(a))
	require.ErrorIs(t, err, store.ErrDamaged)
	require.Equal(t, store.ErrDamaged.Code, fault.CodeOf(err))
}
