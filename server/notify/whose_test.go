package notify_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household/phonetest"
	"leafturn/server/notify/webpush"
	"leafturn/sync/oplog"
)

// appoint gives a phone's member another role.
func (w *world) appoint(p *phonetest.Phone, r model.Role) {
	w.t.Helper()
	seen := model.FactID{Device: p.Device(), Seq: w.phone.Vector()[p.Device()]}
	w.phone.Write(w.t, &oplog.Appoint{Member: memberOf(p), Role: r, Seen: []model.FactID{seen}})
	w.sync(w.phone)
	w.sync(p)
}

func memberOf(p *phonetest.Phone) model.MemberID { return p.State.Member(p.Device()) }

// claim lets a phone's member take the first round on, until the day is over.
func (w *world) claim(p *phonetest.Phone) {
	w.t.Helper()
	until := model.InstantOf(w.wall.now()).Date(w.zone).Add(1).Start(w.zone)
	p.Write(w.t, &model.Fact{At: model.InstantOf(w.wall.now()), By: memberOf(p), Body: &model.TaskClaimed{
		Task: model.TaskKey{Rule: model.RuleRound, Subject: w.place().UUID(), Ordinal: 1}, Until: until}})
	w.sync(p)
}

func (w *world) turn(t model.Turn, of model.MemberID) {
	w.t.Helper()
	w.set(model.KindPlace, w.place().UUID(), model.PlaceTurnSet, model.Bool(true))
	w.set(model.KindPlace, w.place().UUID(), model.PlaceTurn, model.Int(int(t)))
	w.set(model.KindPlace, w.place().UUID(), model.PlaceTurnOf, model.IDValue(of))
}

// Who is told is who may be expected to do it; a calendar says the same.
func TestWhoIsTold(t *testing.T) {
	for name, c := range map[string]struct {
		as                 func(w *world, other *phonetest.Phone)
		me, note, calendar bool
	}{
		"anybody at home":        {func(*world, *phonetest.Phone) {}, true, true, true},
		"the turn of one":        {func(w *world, o *phonetest.Phone) { w.turn(model.OneMember, memberOf(o)) }, false, true, true},
		"the turn of one, away":  {func(w *world, o *phonetest.Phone) { w.turn(model.OneMember, memberOf(o)); w.away(o) }, true, false, true},
		"taken on by one":        {func(w *world, o *phonetest.Phone) { w.claim(o) }, false, true, true},
		"a guest without an end": {func(w *world, o *phonetest.Phone) { w.appoint(o, model.Guest) }, true, false, false},
		"a guest who stays":      {func(w *world, o *phonetest.Phone) { w.guest(o, "2026-03-14") }, true, true, true},
		"a guest who has left":   {func(w *world, o *phonetest.Phone) { w.guest(o, "2026-03-13") }, true, false, false},
		"a guest, and one's turn": {func(w *world, o *phonetest.Phone) {
			w.guest(o, "2026-03-14")
			w.turn(model.OneMember, memberOf(w.phone))
		}, true, false, false},
		"a guest who took it on":    {func(w *world, o *phonetest.Phone) { w.appoint(o, model.Guest); w.claim(o) }, false, true, true},
		"somebody who was sent off": {func(w *world, o *phonetest.Phone) { w.remove(o) }, true, false, false},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
			other := w.another(2, eight)
			w.wish(w.phone, model.MemberDigestAt, eight)
			w.subscribe(w.phone)
			w.subscribe(other)
			feeds := map[*phonetest.Phone]string{w.phone: w.openFeed(w.phone), other: w.openFeed(other)}
			c.as(w, other)
			w.until("2026-03-14 09:00")
			told := map[string]bool{}
			for _, s := range w.post.taken() {
				told[s.endpoint] = true
			}
			require.Equal(t, c.me, told[endpointOf(w.phone)], "the keeper's note")
			require.Equal(t, c.note, told[endpointOf(other)], "the other's note")
			require.Equal(t, c.me, w.inFeed(feeds[w.phone]), "the keeper's calendar")
			require.Equal(t, c.calendar, w.inFeed(feeds[other]), "the other's calendar")
		})
	}
}

// inFeed reports whether there is a feed with the first round in it.
func (w *world) inFeed(secret string) bool {
	w.t.Helper()
	out, err := w.notes.Feed(w.t.Context(), secret)
	if err != nil {
		return false
	}
	round := model.TaskKey{Rule: model.RuleRound, Subject: w.place().UUID(), Ordinal: 1}
	for _, uid := range field(string(out), "UID") {
		if uid == round.ID(w.phone.Household()).String() {
			return true
		}
	}
	return false
}

func (w *world) away(p *phonetest.Phone) {
	w.t.Helper()
	w.wish(p, model.MemberAwayFrom, int(day(w.t, "2026-03-01")))
}

// guest makes a phone's member a guest with a last day.
func (w *world) guest(p *phonetest.Phone, last string) {
	w.t.Helper()
	w.appoint(p, model.Guest)
	w.wish(p, model.MemberEnds, int(day(w.t, last)))
}

func (w *world) remove(p *phonetest.Phone) {
	w.t.Helper()
	w.phone.Write(w.t, &oplog.Remove{Member: memberOf(p), Seen: []model.FactID{{Device: p.Device(), Seq: w.phone.Vector()[p.Device()]}}})
	w.sync(w.phone)
}

// A guest has all the rights of a phone that reminders need: its own subscription and
// its own calendar, and those of nobody else.
func TestAGuestsOwn(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	guest := w.another(2, eight)
	w.guest(guest, "2026-03-14")
	w.subscribe(w.phone)
	w.subscribe(guest)
	mine, theirs := w.openFeed(w.phone), w.openFeed(guest)
	require.NoError(t, w.notes.CloseFeed(t.Context(), guest.Household(), guest.Device()))
	require.NoError(t, w.notes.Unsubscribe(t.Context(), guest.Household(), guest.Device()))
	require.False(t, w.inFeed(theirs))
	require.True(t, w.inFeed(mine))
	phones, err := w.db.Phones(t.Context(), w.phone.Household())
	require.NoError(t, err)
	require.Len(t, phones, 1)
	require.Equal(t, w.phone.Device(), phones[0].Device)

	require.NoError(t, w.notes.Subscribe(t.Context(), guest.Household(), guest.Device(), webpush.Subscription{Endpoint: endpointOf(guest)}))
	w.until("2026-03-16 12:00")
	require.Equal(t, []string{"03-14 08:00 digest 1"}, w.said(), "up to the last day")
}
