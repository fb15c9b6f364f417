package notify_test

import (
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household/phonetest"
)

// rooms adds places with a plant each, so that as many more rounds are due.
func (w *world) rooms(n byte) (rounds []model.TaskKey) {
	for i := range n {
		place := model.PlaceID{0x60 + i}
		w.set(model.KindPlant, uuid.UUID{0x70 + i}, model.PlantPlace, model.IDValue(place))
		w.set(model.KindPlace, place.UUID(), model.PlaceName, model.Text("Shelf"))
		rounds = append(rounds, model.TaskKey{Rule: model.RuleRound, Subject: place.UUID(), Ordinal: 1})
	}
	return rounds
}

func (w *world) complete(p *phonetest.Phone, k model.TaskKey) {
	w.t.Helper()
	p.Write(w.t, &model.Fact{At: model.Instant(w.wall.now().UnixMilli()), By: p.State.Member(p.Device()), Body: &model.TaskCompleted{Task: k}})
	w.sync(p)
}

// Once half of a note is done by others it is brought up to date, once a day.
func TestWhatIsHalfDoneIsToldOnce(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	rounds := w.rooms(4)
	other := w.another(2, 0)
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.subscribe(w.phone)
	w.until("2026-03-14 09:00")
	digest := w.post.taken()
	require.Len(t, digest, 1)
	require.Equal(t, 5, digest[0].note.Due)
	for i, c := range []struct {
		until string
		want  []string
	}{
		{"2026-03-14 10:00", []string{}},
		{"2026-03-14 11:00", []string{}},
		{"2026-03-14 12:00", []string{"03-14 11:00 digest 2"}},
		{"2026-03-14 13:00", []string{}},
	} {
		w.complete(other, rounds[i])
		w.until(c.until)
		got := w.post.taken()
		for _, s := range got {
			require.Equal(t, digest[0].topic, s.topic, "it takes the place of the one before")
		}
		w.post.sent = got
		require.Equal(t, c.want, w.said(), "after %d", i+1)
	}
	w.lookThrough(other, 1)
	w.until("2026-03-15 06:00")
	require.Equal(t, []string{"03-14 13:00 withdraw 0"}, w.said())
}

// The evening's note says what is left, and is itself brought up to date as one; who was
// told of half of it in the morning is not told again.
func TestTheEveningIsToldAsWell(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	rounds := w.rooms(3)
	other := w.another(2, 0)
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.wish(w.phone, model.MemberEvening, 1)
	w.subscribe(w.phone)
	w.until("2026-03-14 20:30")
	for _, k := range rounds {
		w.complete(other, k)
		w.until(w.wall.now().Add(10 * time.Minute).In(w.zone).Format("2006-01-02 15:04"))
	}
	require.Equal(t, []string{"03-14 08:00 digest 4", "03-14 20:00 evening 4", "03-14 20:40 evening 2"}, w.said())
}

// A phone whose note was brought up to date before the server was killed is not told
// again by the next one.
func TestAnotherServerKnowsWhatWasBroughtUpToDate(t *testing.T) {
	w := newWorld(t, "Europe/Berlin", "2026-03-14 06:00")
	rounds := w.rooms(3)
	other := w.another(2, 0)
	w.wish(w.phone, model.MemberDigestAt, eight)
	w.subscribe(w.phone)
	w.until("2026-03-14 09:00")
	w.complete(other, rounds[0])
	w.complete(other, rounds[1])
	w.until("2026-03-14 10:00")
	next := w.server(w.db, w.post)
	w.complete(other, rounds[2])
	w.until("2026-03-14 12:00", next, w.notes)
	require.Equal(t, []string{"03-14 08:00 digest 4", "03-14 09:00 digest 2"}, w.said())
}
