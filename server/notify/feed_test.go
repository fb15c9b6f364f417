package notify_test

import (
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household/phonetest"
	"leafturn/server/notify"
	"leafturn/server/store"
)

func (w *world) openFeed(p *phonetest.Phone) string {
	w.t.Helper()
	secret, err := w.notes.OpenFeed(w.t.Context(), p.Household(), p.Device())
	require.NoError(w.t, err)
	return secret
}

func (w *world) feed(secret string) string {
	w.t.Helper()
	out, err := w.notes.Feed(w.t.Context(), secret)
	require.NoError(w.t, err)
	return string(out)
}

// field gives the values of a property, in order.
func field(feed, name string) (values []string) {
	for _, m := range regexp.MustCompile(`(?m)^`+name+`(?:;[^:\r]*)?:(.*)\r$`).FindAllStringSubmatch(feed, -1) {
		values = append(values, m[1])
	}
	return values
}

func TestFeed(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	secret := w.openFeed(w.phone)
	require.Regexp(t, "^[A-Za-z0-9_-]{43}$", secret)
	first := w.feed(secret)
	round := model.TaskKey{Rule: model.RuleRound, Subject: w.place().UUID(), Ordinal: 1}
	require.Equal(t, []string{round.ID(w.phone.Household()).String()}, field(first, "UID"))
	require.Equal(t, []string{"20260314"}, field(first, "DTSTART"))
	require.Equal(t, []string{"20260315"}, field(first, "DTEND"))
	require.Equal(t, []string{"Look round: Kitchen window"}, field(first, "SUMMARY"))
	require.Equal(t, first, w.feed(secret), "nothing changed")

	w.wall.set(w.time("2026-03-17 06:00"))
	late := w.feed(secret)
	require.Equal(t, field(first, "UID"), field(late, "UID"))
	require.Equal(t, []string{"20260317"}, field(late, "DTSTART"), "a task that is late stands on today")

	w.lookThrough(w.phone, 1)
	next := w.feed(secret)
	require.NotEqual(t, field(first, "UID"), field(next, "UID"))
	require.Equal(t, []string{"20260324"}, field(next, "DTSTART"))
}

// Whatever happens, the sequence never falls, and it rises when anything changed.
func TestSequenceRises(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	secret := w.openFeed(w.phone)
	before, seq := w.feed(secret), -1
	steps := map[string]func(){
		"a name":      func() { w.set(model.KindPlace, w.place().UUID(), model.PlaceName, model.Text("Bathroom")) },
		"a rhythm":    func() { w.set(model.KindPlace, w.place().UUID(), model.PlaceRoundEvery, model.Int(14)) },
		"a night":     func() { w.wall.advance(24 * time.Hour) },
		"put forward": func() { w.wall.set(w.time("2026-03-29 12:00")) },
		"put back":    func() { w.wall.set(w.time("2026-10-25 12:00")) },
		"travel west": func() {
			w.set(model.KindHousehold, w.phone.Household().UUID(), model.HouseholdZone, model.Text("Pacific/Pago_Pago"))
		},
		"travel east": func() {
			w.set(model.KindHousehold, w.phone.Household().UUID(), model.HouseholdZone, model.Text("Pacific/Kiritimati"))
		},
	}
	for _, name := range []string{"a name", "a night", "a rhythm", "put forward", "travel west", "put back", "travel east", "a night"} {
		steps[name]()
		after := w.feed(secret)
		now, err := strconv.Atoi(field(after, "SEQUENCE")[0])
		require.NoError(t, err)
		require.GreaterOrEqual(t, now, seq, name)
		if strip(after) != strip(before) {
			require.Greater(t, now, seq, name)
		}
		before, seq = after, now
	}
}

// strip leaves out what says only how new a feed is.
func strip(feed string) string {
	return regexp.MustCompile(`(?m)^(SEQUENCE|DTSTAMP|LAST-MODIFIED):.*$`).ReplaceAllString(feed, "")
}

func TestASecretIsGoodUntilTheNext(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	other := w.another(2, eight)
	mine, theirs := w.openFeed(w.phone), w.openFeed(other)
	require.NotEqual(t, mine, theirs)
	again := w.openFeed(w.phone)
	shut := func(secret string) {
		t.Helper()
		_, err := w.notes.Feed(t.Context(), secret)
		require.ErrorIs(t, err, store.ErrNoFeed)
	}
	shut(mine)
	w.feed(again)
	require.NoError(t, w.notes.CloseFeed(t.Context(), w.phone.Household(), w.phone.Device()))
	shut(again)
	w.feed(theirs)
	shut("")
	shut(strings.Repeat("A", 43))
	shut(theirs + "=")

	w.wish(other, model.MemberEnds, int(day(t, "2026-03-14")))
	w.feed(theirs)
	w.wall.set(w.time("2026-03-15 00:00"))
	shut(theirs)
}

func TestStrangersOpenNoFeed(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	stranger := phonetest.Found(t, 9, w.wall.now)
	_, err := w.notes.OpenFeed(t.Context(), w.phone.Household(), stranger.Device())
	require.Error(t, err)
	require.Error(t, w.notes.CloseFeed(t.Context(), w.phone.Household(), stranger.Device()))
}

func TestEveryRuleHasWords(t *testing.T) {
	for r := model.RuleRound; r <= model.RuleMeasure; r++ {
		require.NotEmpty(t, notify.Deeds[r], "rule %d", r)
	}
}
