package sample_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/standing"
)

// moments are days on which reckoning with dates goes wrong easily, each near
// midnight as well. The changes of clocks are those of the zones' rules of 2026.
var moments = []struct{ name, zone, day string }{
	{"an ordinary day", "UTC", "2026-11-25"},
	{"clocks went forward today", "Europe/Lisbon", "2026-03-29"},
	{"clocks go forward tomorrow", "Europe/Lisbon", "2026-03-28"},
	{"clocks went back today", "Europe/Lisbon", "2026-10-25"},
	{"clocks go back tomorrow", "Europe/Lisbon", "2026-10-24"},
	{"clocks changed within the course", "America/New_York", "2026-03-20"},
	{"clocks changed by half an hour", "Australia/Lord_Howe", "2026-04-10"},
	{"clocks change at midnight", "America/Santiago", "2026-09-06"},
	{"far east", "Pacific/Kiritimati", "2026-02-28"},
	{"far west", "Pacific/Pago_Pago", "2026-02-28"},
	{"offset with minutes", "Asia/Kathmandu", "2026-06-30"},
	{"end of a leap February", "Asia/Tokyo", "2028-02-28"},
	{"leap day", "Africa/Nairobi", "2028-02-29"},
	{"new year's eve", "America/Sao_Paulo", "2026-12-31"},
	{"new year", "America/Sao_Paulo", "2027-01-01"},
}

// seconds are times of the day, counted from its start.
var seconds = map[string]int64{"first second": 1, "noon": 12 * 3600, "late evening": 22*3600 + 59*60}

func TestScheduleCountsFromToday(t *testing.T) {
	for _, m := range moments {
		for when, s := range seconds {
			t.Run(m.name+", "+when, func(t *testing.T) {
				zone, err := time.LoadLocation(m.zone)
				require.NoError(t, err)
				today, err := model.ParseDate(m.day)
				require.NoError(t, err)
				now := today.Start(zone) + model.Instant(s*1000)
				require.Equal(t, today, now.Date(zone), "the case itself")
				r, _ := build(t, 1, now, m.zone)
				r.Read(func(b *model.Book) {
					requireSchedule(t, b, now, zone)
					requirePast(t, b, now)
				})
			})
		}
	}
}

func requireSchedule(t *testing.T, b *model.Book, now model.Instant, zone *time.Location) {
	t.Helper()
	a := agenda.Derive(b, now, zone)
	require.Empty(t, a.Flags, "the step done twice is settled")
	require.Empty(t, a.Waiting)
	require.Empty(t, a.DoneToday)

	require.Len(t, a.Today.Tasks, 1)
	round := a.Today.Tasks[0]
	require.Equal(t, model.RuleRound, round.Key.Rule)
	require.Equal(t, uint32(6), round.Key.Ordinal)
	require.Zero(t, round.Overdue)

	require.Len(t, a.Tomorrow.Tasks, 2)
	spray, nearby := a.Tomorrow.Tasks[0], a.Tomorrow.Tasks[1]
	require.Equal(t, model.RuleRound, nearby.Key.Rule)
	require.Equal(t, agenda.PestNear, nearby.Why[len(nearby.Why)-1].Because, "a fortnight is too long beside an outbreak")
	_, _, plan := coursesOf(t, b)
	require.Equal(t, model.TaskKey{Rule: model.RuleSpray, Subject: plan.Plan.UUID(), Ordinal: 3}, spray.Key)
	require.Equal(t, a.Day.Add(1), spray.When())
	require.Equal(t, agenda.Open, spray.State)
	require.Len(t, spray.Plants, 4)
	require.Len(t, spray.Places, 2)
	require.NotZero(t, spray.Mix)

	require.Len(t, a.Week.Tasks, 2)
	require.Equal(t, a.Day.Add(3), a.Week.Tasks[0].When())
	look := a.Week.Tasks[1]
	require.Equal(t, model.TaskKey{Rule: model.RuleCheck, Subject: plan.Plan.UUID(), Ordinal: 3}, look.Key)
	require.Equal(t, a.Day.Add(4), look.When())
	require.True(t, look.Projected)
	require.Len(t, a.Later.Tasks, 4)
	require.Equal(t, map[model.Rule]model.Date{
		model.RuleSpray:      a.Day.Add(8),
		model.RuleRound:      a.Day.Add(9),
		model.RuleCheck:      a.Day.Add(11),
		model.RuleQuarantine: a.Day.Add(11), // of the one that came in ten days ago
	}, daysOf(a.Later.Tasks))
}

// daysOf is when tasks of different rules are due.
func daysOf(tasks []*agenda.Task) map[model.Rule]model.Date {
	days := map[model.Rule]model.Date{}
	for _, t := range tasks {
		days[t.Key.Rule] = t.When()
	}
	return days
}

// requirePast checks that nothing was written or done after now, claims held then
// included. Stamps hold their milliseconds above sixteen bits of counter.
func requirePast(t *testing.T, b *model.Book, now model.Instant) {
	t.Helper()
	for _, f := range b.Facts() {
		require.Less(t, f.At, now)
		require.Less(t, model.Instant(f.Stamp>>16), now)
		if x, ok := f.Body.(*model.TaskClaimed); ok {
			require.Less(t, x.Until, now)
		}
	}
	for _, d := range b.Devices {
		require.Less(t, d.Since, now)
	}
}

func TestStandings(t *testing.T) {
	r, _ := build(t, 1, noon, "UTC")
	r.Read(func(b *model.Book) {
		by := map[standing.Standing]int{}
		for _, s := range standing.Derive(b, noon, time.UTC) {
			by[s.Standing]++
		}
		require.Equal(t, map[standing.Standing]int{
			standing.Clear:       9,
			standing.Quarantined: 5, // the four of the course, and the one that came in
			standing.Lost:        1,
		}, by)
	})
}

// Where the zone's rules are not at hand, as in a browser, the phone's own offset
// stands in for them, and the name is kept for later.
func TestUnknownZone(t *testing.T) {
	r, _ := build(t, 1, noon, "Nowhere/Island")
	r.Read(func(b *model.Book) {
		require.Equal(t, "Nowhere/Island", b.Household.Zone)
		requireSchedule(t, b, noon, time.Local)
	})
}
