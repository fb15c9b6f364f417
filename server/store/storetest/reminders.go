package storetest

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/store"
)

// minute in milliseconds.
const minute = model.Instant(60_000)

func phoneOf(name string, device byte) store.Phone {
	return store.Phone{
		Household: Household(name), Device: model.DeviceID{device},
		Endpoint: "https://push.example.net/" + name + fmt.Sprint(device), Key: []byte{4, device}, Secret: []byte{device},
	}
}

// Reminder is a store that remembers as well what reminding people takes.
type Reminder interface {
	store.Store
	store.Reminders
}

// RunReminders runs the suite of store.Reminders. It takes what Run takes, and
// proves:
//
//  1. a phone is kept, replaced and forgotten, and forgotten by its endpoint only
//     if it is still that one;
//  2. a feed has one secret at a time, and a secret opens one feed;
//  3. rotas are claimed when they are due, the earliest first, by one claimer at a
//     time, and again once a lease has run out;
//  4. whoever holds an old fence changes nothing;
//  5. to wake a household brings it forward, never back, also while it is claimed;
//  6. a lease from a clock that was wrong does not last;
//  7. all of that survives reopening.
func RunReminders(t *testing.T, fresh func(t *testing.T) (open func(t *testing.T) Reminder)) {
	for name, test := range map[string]func(*testing.T, Reminder){
		"phones":                  phones,
		"feeds":                   feeds,
		"claims":                  claims,
		"a fence":                 fence,
		"woken while claimed":     wokenWhileClaimed,
		"nobody to wake":          nobodyToWake,
		"a lease of a wild clock": wildLease,
		"many claimers":           manyClaimers,
	} {
		t.Run(name, func(t *testing.T) {
			s := fresh(t)(t)
			t.Cleanup(func() { require.NoError(t, s.Close()) })
			test(t, s)
		})
	}
	t.Run("after reopening", func(t *testing.T) { remindersReopened(t, fresh(t)) })
}

func phones(t *testing.T, s Reminder) {
	ctx := context.Background()
	a1, a2, b1 := phoneOf("a", 1), phoneOf("a", 2), phoneOf("b", 1)
	for _, p := range []store.Phone{a2, a1, b1} {
		require.NoError(t, s.Subscribe(ctx, p, minute))
	}
	require.Equal(t, []store.Phone{a1, a2}, phonesOf(t, s, "a"))
	require.Equal(t, []store.Phone{b1}, phonesOf(t, s, "b"))
	moved := a1
	moved.Endpoint = "https://push.example.net/new"
	require.NoError(t, s.Subscribe(ctx, moved, minute))
	require.Equal(t, []store.Phone{moved, a2}, phonesOf(t, s, "a"))
	require.NoError(t, s.Unsubscribe(ctx, a1.Household, a1.Device, a1.Endpoint), "news of the old endpoint")
	require.Equal(t, []store.Phone{moved, a2}, phonesOf(t, s, "a"))
	require.NoError(t, s.Unsubscribe(ctx, a1.Household, a1.Device, moved.Endpoint))
	require.NoError(t, s.Unsubscribe(ctx, a2.Household, a2.Device, ""))
	require.NoError(t, s.Unsubscribe(ctx, a2.Household, a2.Device, ""), "twice")
	require.Empty(t, phonesOf(t, s, "a"))
	require.Equal(t, []store.Phone{b1}, phonesOf(t, s, "b"))
}

func phonesOf(t *testing.T, s Reminder, name string) []store.Phone {
	t.Helper()
	out, err := s.Phones(context.Background(), Household(name))
	require.NoError(t, err)
	return out
}

func feeds(t *testing.T, s Reminder) {
	ctx := context.Background()
	one := store.Feed{Household: Household("a"), Member: model.MemberID{1}}
	two := store.Feed{Household: Household("a"), Member: model.MemberID{2}}
	first, second, third := store.FeedSum{1}, store.FeedSum{2}, store.FeedSum{3}
	opens := func(secret store.FeedSum, want store.Feed) {
		t.Helper()
		got, err := s.Feed(ctx, secret)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	shut := func(secret store.FeedSum) {
		t.Helper()
		_, err := s.Feed(ctx, secret)
		require.ErrorIs(t, err, store.ErrNoFeed)
	}
	shut(first)
	require.NoError(t, s.OpenFeed(ctx, one, first))
	require.NoError(t, s.OpenFeed(ctx, two, second))
	opens(first, one)
	opens(second, two)
	require.NoError(t, s.OpenFeed(ctx, one, third))
	shut(first)
	opens(third, one)
	require.NoError(t, s.CloseFeed(ctx, one))
	require.NoError(t, s.CloseFeed(ctx, one), "twice")
	shut(third)
	opens(second, two)
}

func claims(t *testing.T, s Reminder) {
	ctx := context.Background()
	for i, name := range []string{"c", "a", "b"} {
		require.NoError(t, s.Subscribe(ctx, phoneOf(name, 1), minute*model.Instant(10+i)))
	}
	require.Empty(t, claim(t, s, 9*minute, 5))
	got := claim(t, s, 11*minute, 1)
	require.Len(t, got, 1)
	require.Equal(t, store.Rota{Household: Household("c"), Next: 12 * minute, Fence: 1}, got[0])
	got = claim(t, s, 11*minute, 5)
	require.Len(t, got, 1, "the third is not due, the first is claimed")
	require.Equal(t, Household("a"), got[0].Household)

	done := got[0]
	done.Next, done.Mark = 60*minute, "mark"
	done.Told = []store.Told{{Device: model.DeviceID{1}, Day: 7, Said: 3, Tries: 2, Again: 5, Shown: 9}, {Device: model.DeviceID{2}, Day: 8}}
	require.NoError(t, s.Settle(ctx, done))
	got = claim(t, s, 12*minute, 5)
	require.Len(t, got, 2, "the lease of the first has run out, and the third is due")
	require.Equal(t, Household("c"), got[0].Household)
	require.EqualValues(t, 2, got[0].Fence)
	require.Equal(t, Household("b"), got[1].Household)

	got = claim(t, s, 60*minute, 5)
	require.Len(t, got, 3)
	done.Next, done.Fence = 61*minute, 2
	require.Equal(t, done, got[2], "it says what it was told")
	asleep := got[2]
	asleep.Next = 0
	require.NoError(t, s.Settle(ctx, asleep))
	require.NotContains(t, householdsOf(claim(t, s, 1<<50, 5)), asleep.Household)
	require.NoError(t, s.Wake(ctx, asleep.Household, 1<<50))
	require.Contains(t, householdsOf(claim(t, s, 1<<50, 5)), asleep.Household)
}

// claim claims rotas for a minute.
func claim(t *testing.T, s Reminder, now model.Instant, most int) []store.Rota {
	t.Helper()
	got, err := s.Claim(context.Background(), now, now+minute, most)
	require.NoError(t, err)
	return got
}

func householdsOf(rs []store.Rota) (out []model.HouseholdID) {
	for _, r := range rs {
		out = append(out, r.Household)
	}
	return out
}

func fence(t *testing.T, s Reminder) {
	ctx := context.Background()
	require.NoError(t, s.Subscribe(ctx, phoneOf("a", 1), minute))
	slow := claim(t, s, minute, 1)[0]
	quick := claim(t, s, 3*minute, 1)[0]
	slow.Mark, quick.Mark = "slow", "quick"
	require.ErrorIs(t, s.Settle(ctx, slow), store.ErrFenced)
	quick.Next = 9 * minute
	require.NoError(t, s.Settle(ctx, quick))
	require.ErrorIs(t, s.Settle(ctx, quick), store.ErrFenced, "a claim is settled once")
	require.ErrorIs(t, s.Settle(ctx, slow), store.ErrFenced)
	require.Empty(t, claim(t, s, 8*minute, 1))
	require.Equal(t, "quick", claim(t, s, 9*minute, 1)[0].Mark)
	stranger := store.Rota{Household: Household("b"), Fence: 1}
	require.ErrorIs(t, s.Settle(ctx, stranger), store.ErrFenced)
}

func wokenWhileClaimed(t *testing.T, s Reminder) {
	ctx := context.Background()
	h := Household("a")
	require.NoError(t, s.Subscribe(ctx, phoneOf("a", 1), 5*minute))
	require.NoError(t, s.Wake(ctx, h, 7*minute))
	require.Len(t, claim(t, s, 5*minute, 1), 1, "it was not put back")
	require.NoError(t, s.Wake(ctx, h, 5*minute))
	require.Empty(t, claim(t, s, 5*minute, 1), "the claim holds")
	r := claim(t, s, 6*minute, 1)[0]
	require.NoError(t, s.Wake(ctx, h, 6*minute+2))
	require.NoError(t, s.Wake(ctx, h, 6*minute+1))
	r.Next = 100 * minute
	require.NoError(t, s.Settle(ctx, r))
	require.Empty(t, claim(t, s, 6*minute, 1))
	r = claim(t, s, 6*minute+1, 1)[0]
	r.Next = 100 * minute
	require.NoError(t, s.Settle(ctx, r))
	require.Empty(t, claim(t, s, 99*minute, 1), "it was woken once")
	require.NoError(t, s.Wake(ctx, h, 50*minute))
	require.Len(t, claim(t, s, 50*minute, 1), 1)
}

func nobodyToWake(t *testing.T, s Reminder) {
	ctx := context.Background()
	require.NoError(t, s.Wake(ctx, Household("a"), minute))
	require.Empty(t, claim(t, s, 5*minute, 1))
	require.Empty(t, rotas(t, s))
}

func rotas(t *testing.T, s Reminder) (out []store.Rota) {
	t.Helper()
	require.NoError(t, s.Rotas(context.Background(), func(r store.Rota) error { out = append(out, r); return nil }))
	return out
}

func wildLease(t *testing.T, s Reminder) {
	ctx := context.Background()
	const wild = 1 << 45 // more than a thousand years after
	require.NoError(t, s.Subscribe(ctx, phoneOf("a", 1), minute))
	wildly := claim(t, s, wild, 1)[0]
	require.Equal(t, []store.Rota{wildly}, rotas(t, s))
	require.NoError(t, s.Wake(ctx, Household("a"), 5*minute))
	got := claim(t, s, 5*minute, 1)
	require.Len(t, got, 1)
	require.ErrorIs(t, s.Settle(ctx, wildly), store.ErrFenced)
}

// manyClaimers lets several servers remind many households. Each household must be
// settled once, by one of them.
func manyClaimers(t *testing.T, s Reminder) {
	const servers, households = 8, 60
	ctx := context.Background()
	for i := range households {
		require.NoError(t, s.Subscribe(ctx, phoneOf(fmt.Sprint(i), 1), minute))
	}
	var mu sync.Mutex
	settled := map[model.HouseholdID]int{}
	errs := make(chan error, servers)
	var wg sync.WaitGroup
	for range servers {
		wg.Go(func() {
			errs <- func() error {
				for {
					got, err := s.Claim(ctx, minute, 2*minute, 3)
					if err != nil || len(got) == 0 {
						return err
					}
					for _, r := range got {
						r.Next = 0
						if err := s.Settle(ctx, r); err != nil {
							return err
						}
						mu.Lock()
						settled[r.Household]++
						mu.Unlock()
					}
				}
			}()
		})
	}
	wg.Wait()
	for range servers {
		require.NoError(t, <-errs)
	}
	require.Len(t, settled, households)
	for _, n := range settled {
		require.Equal(t, 1, n)
	}
}

func remindersReopened(t *testing.T, open func(t *testing.T) Reminder) {
	ctx := context.Background()
	f := store.Feed{Household: Household("a"), Member: model.MemberID{1}}
	s := open(t)
	require.NoError(t, s.Subscribe(ctx, phoneOf("a", 1), minute))
	require.NoError(t, s.Subscribe(ctx, phoneOf("b", 1), 2*minute))
	require.NoError(t, s.OpenFeed(ctx, f, store.FeedSum{1}))
	claimed := claim(t, s, minute, 1)[0]
	require.NoError(t, s.Close())

	s = open(t)
	require.Equal(t, []store.Phone{phoneOf("a", 1)}, phonesOf(t, s, "a"))
	got, err := s.Feed(ctx, store.FeedSum{1})
	require.NoError(t, err)
	require.Equal(t, f, got)
	require.Empty(t, claim(t, s, minute, 1), "the claim outlives who made it")
	require.Len(t, rotas(t, s), 2)
	claimed.Next = 5 * minute
	require.NoError(t, s.Settle(ctx, claimed))
	require.Len(t, claim(t, s, 5*minute, 9), 2)
	require.Empty(t, households(t, s), "whoever takes messages has no log by that")

	require.NoError(t, s.Close())
	require.ErrorIs(t, s.Subscribe(ctx, phoneOf("a", 1), minute), store.ErrClosed)
	require.ErrorIs(t, s.Wake(ctx, Household("a"), minute), store.ErrClosed)
	_, err = s.Claim(ctx, minute, minute, 1)
	require.ErrorIs(t, err, store.ErrClosed)
	_, err = s.Feed(ctx, store.FeedSum{1})
	require.ErrorIs(t, err, store.ErrClosed)
}
