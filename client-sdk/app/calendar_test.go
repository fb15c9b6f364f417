package app

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
)

// Two people set up their household and take a course on while the day changes, the
// clocks or the year. Whatever the second at which it does, what is due follows the
// calendar of their zone, and both phones and the server know the same.
func TestTasksFollowTheCalendar(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	for name, change := range map[string]time.Time{
		"midnight":                        time.Date(2026, 11, 26, 0, 0, 0, 0, berlin),
		"midnight before clocks go on":    time.Date(2027, 3, 28, 0, 0, 0, 0, berlin),
		"clocks go on":                    time.Date(2027, 3, 28, 3, 0, 0, 0, berlin),
		"midnight before clocks go back":  time.Date(2026, 10, 25, 0, 0, 0, 0, berlin),
		"clocks go back":                  time.Date(2026, 10, 25, 1, 0, 0, 0, time.UTC),
		"midnight after clocks went back": time.Date(2026, 10, 26, 0, 0, 0, 0, berlin),
		"the leap day begins":             time.Date(2028, 2, 29, 0, 0, 0, 0, berlin),
		"the leap day ends":               time.Date(2028, 3, 1, 0, 0, 0, 0, berlin),
		"a year ends":                     time.Date(2027, 1, 1, 0, 0, 0, 0, berlin),
	} {
		for _, before := range []int{9, 6, 2} { // until the course is taken on, nine seconds go by
			t.Run(fmt.Sprintf("%s after %d s", name, before), func(t *testing.T) {
				w := alone(t)
				w.began = change.Add(-time.Duration(before) * time.Second)
				w.serve(t)
				liveThrough(t, w, berlin)
			})
		}
	}
}

func liveThrough(t *testing.T, w *world, zone *time.Location) {
	ada, ben := w.household(model.Helper)
	ada.do(screens.ActNothingFound, "plant", ada.plant("Fern"), "place", ada.standsIn("Fern"))
	looked := ada.today()
	first := looked.Add(2)
	_, spray := ada.courseFrom(first)
	both := func(check func(p *phone)) {
		for _, p := range []*phone{ada, ben, ada} {
			p.sync()
		}
		require.Equal(t, ada.digest(), ben.digest())
		for _, p := range []*phone{ada, ben} {
			p.open(screens.RouteToday)
			check(p)
		}
	}
	both(func(p *phone) {
		require.Equal(t, []model.Date{first, first.Add(7), first.Add(14)}, p.due(model.RuleSpray))
		require.Equal(t, []model.Date{looked.Add(7)}, p.due(model.RuleRound))
	})

	begins := time.UnixMilli(int64(first.Start(zone)))
	w.until(begins.Add(-time.Second))
	both(func(p *phone) { require.Len(t, p.tasks().Tomorrow.Tasks, 1, "one second before its day") })
	w.until(begins)
	both(func(p *phone) { require.Len(t, p.tasks().Today.Tasks, 1, "when its day begins") })

	ben.do(screens.ActApply, "task", spray, "part", "1", "amount", "100")
	both(func(p *phone) {
		require.Len(t, p.tasks().DoneToday, 1)
		require.Equal(t, []model.Date{first.Add(7), first.Add(14)}, p.due(model.RuleSpray))
	})
	w.until(time.UnixMilli(int64(first.Add(1).Start(zone))).Add(-time.Second))
	both(func(p *phone) { require.Len(t, p.tasks().DoneToday, 1, "as long as the day lasts") })
	w.pass(time.Second)
	both(func(p *phone) { require.Empty(t, p.tasks().DoneToday) })
}

func (p *phone) tasks() (now *agenda.Agenda) {
	p.house.Read(func(b *model.Book) { now = p.agenda(b) })
	return now
}

// due are the days on which the open tasks of a rule are due.
func (p *phone) due(rule model.Rule) (days []model.Date) {
	for _, task := range p.tasks().Open() {
		if task.Key.Rule == rule {
			days = append(days, task.When())
		}
	}
	return days
}
