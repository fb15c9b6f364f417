package notify_test

import (
	"context"
	"encoding/json"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household/phonetest"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
)

const eight = 8 * 60

func TestOneDigestADay(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.subscribe(w.phone)
	w.until("2026-03-15 12:00")
	got := w.post.taken()
	require.Len(t, got, 2)
	first := got[0]
	require.Equal(t, w.time("2026-03-14 08:00").Unix(), first.at.Unix())
	require.Equal(t, endpointOf(w.phone), first.endpoint)
	require.Equal(t, 16*time.Hour, first.ttl, "until the day is over")
	require.Equal(t, notify.Note{Version: 1, Kind: notify.Digest, Topic: first.topic, Day: "2026-03-14", Due: 1}, first.note)
	require.Regexp(t, "^[A-Za-z0-9_-]{24}$", first.topic)
	require.Equal(t, "2026-03-15", got[1].note.Day)
	require.NotEqual(t, first.topic, got[1].topic)
}

func TestANoteNamesNothing(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.subscribe(w.phone)
	var texts []string
	w.post.answers(func(m webpush.Message) error { texts = append(texts, string(m.Text)); return nil })
	w.until("2026-03-14 09:00")
	require.Len(t, texts, 1)
	var fields map[string]any
	require.NoError(t, json.Unmarshal([]byte(texts[0]), &fields))
	require.ElementsMatch(t, []string{"v", "kind", "topic", "day", "due", "overdue"}, keysOf(fields))
	for _, secret := range []string{"Kitchen", w.phone.Household().String(), w.phone.Device().String(), w.place().String()} {
		require.NotContains(t, texts[0], secret)
	}
}

func keysOf(m map[string]any) (keys []string) {
	for k := range m {
		keys = append(keys, k)
	}
	return keys
}

func TestDays(t *testing.T) {
	for name, c := range map[string]struct {
		zone, from, to string
		wish           map[model.Field]int
		want           []string
	}{
		"nothing wanted": {"Europe/Berlin", "2026-03-14 06:00", "2026-03-16 06:00", nil, []string{}},
		"evening": {"Europe/Berlin", "2026-03-14 06:00", "2026-03-15 06:00", map[model.Field]int{model.MemberDigestAt: eight, model.MemberEvening: 1},
			[]string{"03-14 08:00 digest 1", "03-14 20:00 evening 1"}},
		"in spring, inside the gap": {"Europe/Berlin", "2026-03-28 06:00", "2026-03-31 00:00", map[model.Field]int{model.MemberDigestAt: 150},
			[]string{"03-28 06:00 digest 1", "03-29 03:00 digest 1", "03-30 02:30 digest 1"}},
		"in autumn, inside the fold": {"Europe/Berlin", "2026-10-24 06:00", "2026-10-27 00:00", map[model.Field]int{model.MemberDigestAt: 150},
			[]string{"10-24 06:00 digest 1", "10-25 02:30 digest 1", "10-26 02:30 digest 1"}},
		"in spring, across the ocean": {"America/New_York", "2026-03-07 12:00", "2026-03-10 00:00", map[model.Field]int{model.MemberDigestAt: 150},
			[]string{"03-07 12:00 digest 1", "03-08 03:00 digest 1", "03-09 02:30 digest 1"}},
		"in autumn, across the ocean": {"America/New_York", "2026-10-31 12:00", "2026-11-03 00:00", map[model.Field]int{model.MemberDigestAt: 75},
			[]string{"10-31 12:00 digest 1", "11-01 01:15 digest 1", "11-02 01:15 digest 1"}},
		"half an hour": {"Australia/Lord_Howe", "2026-10-03 12:00", "2026-10-06 00:00", map[model.Field]int{model.MemberDigestAt: 130},
			[]string{"10-03 12:00 digest 1", "10-04 02:30 digest 1", "10-05 02:10 digest 1"}},
		"a day that never was": {"Pacific/Apia", "2011-12-29 12:00", "2012-01-01 12:00", map[model.Field]int{model.MemberDigestAt: eight},
			[]string{"01-01 08:00 digest 1", "12-29 12:00 digest 1", "12-31 08:00 digest 1"}},
		"leap day": {"Asia/Kolkata", "2028-02-28 12:00", "2028-03-01 12:00", map[model.Field]int{model.MemberDigestAt: eight},
			[]string{"02-28 12:00 digest 1", "02-29 08:00 digest 1", "03-01 08:00 digest 1"}},
		"away": {"Europe/Berlin", "2026-03-14 06:00", "2026-03-18 06:00", map[model.Field]int{
			model.MemberDigestAt: eight, model.MemberAwayFrom: int(day(t, "2026-03-15")), model.MemberAwayUntil: int(day(t, "2026-03-16"))},
			[]string{"03-14 08:00 digest 1", "03-17 08:00 digest 1"}},
		"a stay that ends": {"Europe/Berlin", "2026-03-14 06:00", "2026-03-18 06:00", map[model.Field]int{
			model.MemberDigestAt: eight, model.MemberEnds: int(day(t, "2026-03-15"))},
			[]string{"03-14 08:00 digest 1", "03-15 08:00 digest 1"}},
		"quiet": {"Europe/Berlin", "2026-03-14 06:00", "2026-03-16 06:00", map[model.Field]int{
			model.MemberDigestAt: eight, model.MemberEvening: 1, model.MemberQuietFrom: 19 * 60, model.MemberQuietTo: 9 * 60},
			[]string{"03-14 09:00 digest 1", "03-15 09:00 digest 1"}},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, c.zone, c.from)
			for f, v := range c.wish {
				w.wish(w.phone, f, v)
			}
			w.subscribe(w.phone)
			w.passing(c.to)
			require.Equal(t, c.want, w.said())
		})
	}
}

func TestWhatIsDoneIsWithdrawn(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	other := w.another(2, 9*60)
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.wish(w.phone, model.MemberEvening, 1)
	w.subscribe(w.phone)
	w.subscribe(other)
	w.until("2026-03-14 08:30")
	digest := w.post.taken()
	require.Len(t, digest, 1)
	w.lookThrough(other, 1)
	w.until("2026-03-15 06:00")
	got := w.post.taken()
	require.Len(t, got, 1, "nothing is left for the other's digest, nor for the evening")
	require.Equal(t, endpointOf(w.phone), got[0].endpoint)
	require.Equal(t, notify.Withdraw, got[0].note.Kind)
	require.Equal(t, digest[0].topic, got[0].topic)
	require.Zero(t, got[0].note.Due)
	require.Equal(t, w.time("2026-03-14 08:30").Unix(), got[0].at.Unix())
}

func TestWhatIsDoneBeforeItsHourIsNotTold(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.wish(w.phone, model.MemberEvening, 1)
	w.subscribe(w.phone)
	w.until("2026-03-14 07:00")
	w.lookThrough(w.phone, 1)
	w.until("2026-03-15 06:00")
	require.Empty(t, w.said())
}

// Two members each have their own topic, two phones of one member have one.
func TestTopics(t *testing.T) {
	a, b := model.HouseholdID{1}, model.HouseholdID{2}
	d := day(t, "2026-03-14")
	all := map[string]bool{}
	for _, topic := range []string{
		notify.Topic(a, model.MemberID{1}, d), notify.Topic(a, model.MemberID{2}, d), notify.Topic(b, model.MemberID{1}, d), notify.Topic(a, model.MemberID{1}, d+1),
	} {
		all[topic] = true
	}
	require.Len(t, all, 4)
	require.Equal(t, notify.Topic(a, model.MemberID{1}, d), notify.Topic(a, model.MemberID{1}, d))
}

func TestAServerThatWasAwaySendsWhatStillCounts(t *testing.T) {
	for name, c := range map[string]struct {
		back string
		want []string
	}{
		"a little late":            {"2026-03-14 10:17", []string{"03-14 10:17 digest 1"}},
		"as late as the evening":   {"2026-03-14 20:30", []string{"03-14 20:30 evening 1"}},
		"when everybody sleeps":    {"2026-03-14 23:00", []string{}},
		"on another day":           {"2026-03-15 07:30", []string{}},
		"on another day, and late": {"2026-03-16 09:00", []string{"03-16 09:00 digest 1"}},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
			for f, v := range map[model.Field]int{model.MemberDigestAt: eight, model.MemberEvening: 1, model.MemberQuietFrom: 22 * 60, model.MemberQuietTo: 7 * 60} {
				w.wish(w.phone, f, v)
			}
			w.subscribe(w.phone)
			w.until("2026-03-14 06:10")
			w.wall.set(w.time(c.back))
			w.notes.Round(t.Context())
			require.Equal(t, c.want, w.said())
		})
	}
}

// A server that was killed between a change and its own note of it finds it when it
// starts.
func TestAChangeThatNobodyHeardIsFound(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	w.subscribe(w.phone)
	w.until("2026-03-14 07:00")
	w.service.OnChange(nil)
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.until("2026-03-14 07:30")
	require.Zero(t, w.next(), "nobody heard of the wish")

	again := w.server(w.db, w.post)
	w.runOnce(again)
	w.until("2026-03-14 12:00", again)
	require.Equal(t, []string{"03-14 08:00 digest 1"}, w.said())
}

// runOnce starts a server and ends it after what it does at the start.
func (w *world) runOnce(n *notify.Service) {
	w.t.Helper()
	ctx, cancel := context.WithCancel(w.t.Context())
	tick, ended := make(chan time.Time), make(chan struct{})
	go func() { defer close(ended); n.Run(ctx, tick) }()
	tick <- time.Time{}
	cancel()
	<-ended
}

func TestJumpsOfTheClock(t *testing.T) {
	for name, there := range map[string]time.Duration{
		"an hour ahead": time.Hour, "a day ahead": 24 * time.Hour, "ten years ahead": 10 * 365 * 24 * time.Hour,
		"an hour back": -time.Hour, "a day back": -24 * time.Hour, "ten years back": -10 * 365 * 24 * time.Hour,
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
			w.wish(w.phone, model.MemberDigestAt, eight)
			w.subscribe(w.phone)
			w.until("2026-03-14 10:00")
			w.wall.advance(there)
			w.notes.Round(t.Context())
			w.wall.advance(time.Minute)
			w.notes.Round(t.Context())
			w.wall.set(w.time("2026-03-14 10:02"))
			w.until("2026-03-16 10:00")
			perDay := map[string]int{}
			for _, s := range w.post.taken() {
				perDay[s.note.Day]++
			}
			for _, d := range []string{"2026-03-14", "2026-03-15", "2026-03-16"} {
				require.Equal(t, 1, perDay[d], d)
			}
			for d, n := range perDay {
				require.Equal(t, 1, n, d)
			}
		})
	}
}

func TestTravel(t *testing.T) {
	for name, c := range map[string]struct {
		zone string // to which the household moves at noon
		want map[string]int
	}{
		"west":                    {"America/New_York", map[string]int{"2026-03-14": 1, "2026-03-15": 1, "2026-03-16": 1}},
		"east":                    {"Asia/Kolkata", map[string]int{"2026-03-14": 1, "2026-03-15": 1, "2026-03-16": 1}},
		"over the date line":      {"Pacific/Kiritimati", map[string]int{"2026-03-14": 1, "2026-03-15": 1, "2026-03-16": 1, "2026-03-17": 1}},
		"to where nobody knows":   {"Nowhere/Atlantis", map[string]int{"2026-03-14": 1, "2026-03-15": 1, "2026-03-16": 1}},
		"west over the date line": {"Pacific/Pago_Pago", map[string]int{"2026-03-14": 1, "2026-03-15": 1, "2026-03-16": 1}},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
			w.wish(w.phone, model.MemberDigestAt, eight)
			w.subscribe(w.phone)
			w.until("2026-03-14 12:00")
			w.set(model.KindHousehold, w.phone.Household().UUID(), model.HouseholdZone, model.Text(c.zone))
			w.until("2026-03-17 00:00")
			got := map[string]int{}
			for _, s := range w.post.taken() {
				got[s.note.Day]++
			}
			require.Equal(t, c.want, got)
		})
	}
}

func TestTheHourMovesAndTheDayIsToldOnce(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.subscribe(w.phone)
	w.until("2026-03-14 09:00")
	w.wish(w.phone, model.MemberDigestAt, 10*60)
	w.until("2026-03-14 12:00")
	w.subscribe(w.phone) // the browser made a new subscription
	w.until("2026-03-15 12:00")
	require.Equal(t, []string{"03-14 08:00 digest 1", "03-15 10:00 digest 1"}, w.said())
}

func TestTroublesOfThePushService(t *testing.T) {
	busy := func(after time.Duration) error { return &webpush.Later{After: after, Cause: errors.New("busy")} }
	for name, c := range map[string]struct {
		answers []error // one after the other, then everything is taken
		want    []string
	}{
		"busy":                    {[]error{busy(0)}, []string{"03-14 08:01 digest 1", "03-15 08:00 digest 1"}},
		"busy for long":           {[]error{busy(0), busy(0), busy(0), busy(0)}, []string{"03-14 08:08 digest 1", "03-15 08:00 digest 1"}},
		"says when":               {[]error{busy(2 * time.Hour)}, []string{"03-14 10:00 digest 1", "03-15 08:00 digest 1"}},
		"says when, after midday": {[]error{busy(20 * time.Hour)}, []string{"03-15 08:00 digest 1"}},
		"refuses":                 {[]error{webpush.ErrRefused}, []string{"03-15 08:00 digest 1"}},
		"says gone":               {[]error{webpush.ErrGone}, []string{}},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
			w.wish(w.phone, model.MemberDigestAt, eight)
			w.subscribe(w.phone)
			left := c.answers
			w.post.answers(func(webpush.Message) error {
				if len(left) == 0 {
					return nil
				}
				err := left[0]
				left = left[1:]
				return err
			})
			w.until("2026-03-15 12:00")
			require.Equal(t, c.want, w.said())
			phones, err := w.db.Phones(t.Context(), w.phone.Household())
			require.NoError(t, err)
			require.Equal(t, errors.Is(c.answers[0], webpush.ErrGone), len(phones) == 0)
		})
	}
}

func TestWhoUnsubscribesHearsNothing(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.subscribe(w.phone)
	w.until("2026-03-14 07:00")
	require.NoError(t, w.notes.Unsubscribe(t.Context(), w.phone.Household(), w.phone.Device()))
	w.until("2026-03-15 12:00")
	require.Empty(t, w.said())
	require.Zero(t, w.next())
}

func TestASubscriptionThatMustNotBeCalledIsRefused(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	strict := notify.New(notify.Config{Store: w.db, Households: w.service, Push: w.post, Check: webpush.Public.Check, Now: w.wall.now, Log: quiet})
	err := strict.Subscribe(t.Context(), w.phone.Household(), w.phone.Device(), webpush.Subscription{Endpoint: "http://127.0.0.1/"})
	require.ErrorIs(t, err, notify.ErrSubscription)
	phones, err := w.db.Phones(t.Context(), w.phone.Household())
	require.NoError(t, err)
	require.Empty(t, phones)
}

// A device that is not, or no longer, the household's is told nothing.
func TestStrangersHearNothing(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	w.wish(w.phone, model.MemberDigestAt, eight)
	stranger := phonetest.Found(t, 9, w.wall.now)
	for _, h := range []model.HouseholdID{w.phone.Household(), stranger.Household()} {
		require.NoError(t, w.notes.Subscribe(t.Context(), h, stranger.Device(), webpush.Subscription{Endpoint: "https://push.example.net/x"}))
	}
	w.until("2026-03-14 12:00")
	require.Empty(t, w.said())
}
