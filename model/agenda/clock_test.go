package agenda_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
)

// changes are days on which clocks change, both ways where there are both.
var changes = []struct{ zone, day string }{
	{"Europe/Berlin", "2025-03-30"}, {"Europe/Berlin", "2025-10-26"},
	{"America/New_York", "2025-03-09"}, {"America/New_York", "2025-11-02"},
	{"Pacific/Auckland", "2025-09-28"}, {"Pacific/Auckland", "2025-04-06"},
	{"Asia/Kathmandu", "2025-06-15"}, {"Asia/Kathmandu", "1986-01-01"}, // an odd offset; the day it changed
	{"America/Sao_Paulo", "2018-11-04"}, {"Asia/Tehran", "2022-03-22"}, // midnight is skipped
	{"UTC", "2024-02-29"},
}

// Whatever the clocks do between a treatment and the next one, the next one is
// the same number of civil days away, at whatever hour the first was done and at
// whatever hour somebody asks.
func TestChangesOfTheClockMoveNoDate(t *testing.T) {
	for _, c := range changes {
		t.Run(c.zone+"/"+c.day, func(t *testing.T) {
			change, err := model.ParseDate(c.day)
			require.NoError(t, err)
			for before := range 8 {
				for _, hour := range []int{0, 1, 2, 3, 12, 23} {
					h := newHouse(t, c.zone)
					done := change.Add(-before)
					at := wall(h, done, hour)
					h.Add(&model.Fact{ID: model.FactID{Device: adas, Seq: 1}, Stamp: 1, At: at - 1, By: ada, Body: &model.PlanAccepted{
						Plan: planA, Outbreak: thrips, Plants: []model.PlantID{fern1}, Basis: model.CommonPractice, Steps: model.Rhythm(soap, done, 7, 3, 3)}})
					h.Add(&model.Fact{ID: model.FactID{Device: adas, Seq: 2}, Stamp: 2, At: at, By: ada,
						Body: &model.Application{Plants: []model.PlantID{fern1}, Product: soap, Completes: step(1)}})
					h.Add(&model.Fact{ID: model.FactID{Device: bos, Seq: 3}, Stamp: 3, At: at, By: bo, Body: &model.TaskCompleted{Task: roundKey(sill, 1)}})
					expectOn(t, h, done)
				}
			}
		})
	}
}

// wall is an hour on the clock on the wall; an hour that was skipped is the one
// that time.Date takes for it, on that day all the same.
func wall(h *house, d model.Date, hour int) model.Instant {
	y, m, day := d.UTC().Date()
	return max(model.InstantOf(time.Date(y, m, day, hour, 30, 0, 0, h.zone)), d.Start(h.zone))
}

func expectOn(t *testing.T, h *house, done model.Date) {
	for _, ask := range []struct{ day, hour int }{{0, 23}, {6, 0}, {6, 23}, {7, 0}, {7, 2}, {7, 23}, {8, 0}} {
		a := agenda.Derive(h.Book, wall(h, done.Add(ask.day), ask.hour), h.zone)
		require.Equal(t, done.Add(ask.day), a.Day)
		require.Equal(t, done.Add(7), find(t, a, step(2)).Due)
		require.Equal(t, done.Add(3), find(t, a, check(1)).Due)
		require.Equal(t, done.Add(7), a.Round(sill).Due)
		require.Equal(t, max(0, ask.day-7), a.Round(sill).Overdue)
		group := map[bool][]model.TaskKey{true: keys(a.Today.Tasks), false: keys(a.Tomorrow.Tasks)}[ask.day >= 7]
		if ask.day >= 6 {
			require.Contains(t, group, step(2))
		}
	}
}

// One evening in New York is already the next day in Auckland: days are those of
// the household, not of the server or the phone.
func TestDaysAreTheHouseholds(t *testing.T) {
	at := model.InstantOf(time.Date(2025, time.June, 3, 2, 0, 0, 0, time.UTC))
	for zone, want := range map[string]string{"America/New_York": "2025-06-09", "Pacific/Auckland": "2025-06-10", "Asia/Kathmandu": "2025-06-10"} {
		h := newHouse(t, zone)
		h.Add(&model.Fact{ID: model.FactID{Device: adas, Seq: 1}, Stamp: 1, At: at, Body: &model.TaskCompleted{Task: roundKey(sill, 1)}})
		require.Equal(t, want, agenda.Derive(h.Book, at, h.zone).Round(sill).Due.String())
	}
}
