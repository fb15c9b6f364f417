package household_test

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/datadir"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/sync/hint"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// heard reports whether a watch has something to receive, and receives it.
func heard(w *household.Watch) bool {
	select {
	case <-w.Changed():
		return true
	default:
		return false
	}
}

func (w *world) watch(t testing.TB, h model.HouseholdID) *household.Watch {
	watch := w.Watch(h)
	t.Cleanup(watch.End)
	return watch
}

func markOf(p *phonetest.Phone) hint.Mark { return hint.Of(p.State.Heads()) }

func TestWatchHearsOfChanges(t *testing.T) {
	w := newWorld(t)
	a := phonetest.Found(t, 1, w.clock.now)
	watch := w.watch(t, a.Household())
	require.False(t, heard(watch))

	_, err := w.Found(ctx, a.Introduction(), free)
	require.NoError(t, err)
	require.True(t, heard(watch), "founded")

	i := a.Invite(t, 101, 15*time.Minute)
	w.sync(t, a)
	require.True(t, heard(watch), "written")

	b := phonetest.Join(t, 2, w.clock.now, i)
	_, err = w.Join(ctx, b.Introduction())
	require.NoError(t, err)
	require.True(t, heard(watch), "joined")

	w.sync(t, b)
	require.False(t, heard(watch), "b only read")
	w.sync(t, a)
	require.False(t, heard(watch), "a repeated what was known")

	w.restart()
	require.Equal(t, markOf(a), w.mark(t, a), "the mark outlives a restart")
}

func (w *world) mark(t testing.TB, p *phonetest.Phone) hint.Mark {
	t.Helper()
	m, err := w.Mark(ctx, p.Household(), p.Device())
	require.NoError(t, err)
	return m
}

func TestMarkIsForTheHouseholdOnly(t *testing.T) {
	w := newWorld(t)
	a, stranger := w.founded(t, 1), w.founded(t, 2)
	_, err := w.Mark(ctx, a.Household(), stranger.Device())
	require.ErrorIs(t, err, oplog.ErrStranger)
	_, err = w.Mark(ctx, model.HouseholdID{9}, a.Device())
	require.ErrorIs(t, err, household.ErrUnknown)
	require.NotEqual(t, w.mark(t, a), w.mark(t, stranger))
}

func TestChangesThatNobodyReceivesAreOne(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	slow, gone := w.watch(t, a.Household()), w.watch(t, a.Household())
	gone.End()
	gone.End() // twice does no harm
	for i := range byte(20) {
		a.Look(t, 1+i)
		w.sync(t, a)
	}
	require.True(t, heard(slow))
	require.False(t, heard(slow))
	require.False(t, heard(gone))
	require.Equal(t, markOf(a), w.mark(t, a), "whoever looks then sees the newest")
}

func TestWatchHearsOfItsOwnHouseholdOnly(t *testing.T) {
	w := newWorld(t)
	a, b := w.founded(t, 1), w.founded(t, 2)
	watch := w.watch(t, a.Household())
	b.Look(t, 1)
	w.sync(t, b)
	require.False(t, heard(watch))
}

func TestWatchHearsNothingOfWhatIsNotKept(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	watch := w.watch(t, a.Household())
	a.Look(t, 1)
	w.gate.full = datadir.ErrFull
	_, err := a.Sync(w.sendAs(a))
	require.Error(t, err)
	require.False(t, heard(watch), "the disk was full")
	w.gate.full = nil

	refused := a.Raw([]byte("no operation"))
	_, err = w.Exchange(ctx, a.Household(), a.Device(), a.Message(refused))
	require.NoError(t, err)
	require.False(t, heard(watch), "the batch was refused")
}

// While phones write, others come and go as watchers. Whoever watches to the end and
// looks after each time it heard something has seen the last state.
func TestManyWatchersWhilePhonesWrite(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	done := make(chan struct{})
	var watching sync.WaitGroup
	last := make([]hint.Mark, 8)
	failed := make([]error, len(last))
	for i := range last {
		watch := w.watch(t, a.Household())
		watching.Go(func() {
			for more := true; more && failed[i] == nil; {
				select {
				case <-watch.Changed():
				case <-done:
					more = false
					if !heard(watch) {
						return
					}
				}
				last[i], failed[i] = w.Mark(ctx, a.Household(), a.Device())
				w.Watch(a.Household()).End()
			}
		})
	}
	var messages [2][]*wire.Message
	for i, p := range []*phonetest.Phone{a, b} {
		for n := range byte(30) {
			messages[i] = append(messages[i], p.Message(p.Look(t, n+1)))
		}
	}
	errs := each(2, func(i int) error {
		for _, m := range messages[i] {
			if _, err := w.Exchange(ctx, a.Household(), []*phonetest.Phone{a, b}[i].Device(), m); err != nil {
				return err
			}
		}
		return nil
	})
	close(done)
	watching.Wait()
	require.Equal(t, make([]error, 2), errs)
	require.Equal(t, make([]error, len(last)), failed)
	for _, m := range last {
		require.Equal(t, w.mark(t, a), m)
	}
	w.sync(t, a)
	require.Equal(t, markOf(a), w.mark(t, a))
}

func TestOneHearsOfAllHouseholds(t *testing.T) {
	w := newWorld(t)
	var heard []model.HouseholdID
	w.OnChange(func(h model.HouseholdID) { heard = append(heard, h) })
	a, b := w.founded(t, 1), w.founded(t, 2)
	require.Equal(t, []model.HouseholdID{a.Household(), b.Household()}, heard)
	a.Look(t, 1)
	w.sync(t, a)
	require.Len(t, heard, 3)
	w.sync(t, a)
	require.Len(t, heard, 3, "a repeated what was known")
	w.OnChange(nil)
	b.Look(t, 1)
	w.sync(t, b)
	require.Len(t, heard, 3)
}

func TestLookSeesTheHousehold(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	a.Look(t, 7)
	w.sync(t, a)
	require.NoError(t, w.Service.Look(ctx, a.Household(), func(st *merge.State) error {
		require.Equal(t, markOf(a), hint.Of(st.Heads()))
		require.Equal(t, 1, st.Book().Len())
		return nil
	}))
	never := func(*merge.State) error { panic("there is nothing to look at") }
	require.ErrorIs(t, w.Service.Look(ctx, model.HouseholdID{1}, never), household.ErrUnknown)
}
