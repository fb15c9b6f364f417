package agenda

import (
	"slices"

	"leafturn/model"
	"leafturn/model/standing"
)

// SeasonDays is the season in which a label's "most per season" is counted: the
// last 365 days up to today. It is our assumption, on the careful side; a label
// may count calendar years or crops, and then the label is right.
const SeasonDays = 365

// applied is what a label's limits count: the applications of one product on some
// plants, and those that a course expects.
type applied struct {
	last    *model.Fact // the one done last, or nil
	lastDay model.Date
	most    int           // on the plant with most in the last SeasonDays
	next    model.Date    // the last of those expected, zero if none is
	key     model.TaskKey // the task that expects it
	by      map[model.PlantID][]model.Date
}

// appliedOn gathers the applications of a product, for a task or not.
func (l *ledger) appliedOn(p model.ProductID, plants []model.PlantID) *applied {
	a := &applied{by: map[model.PlantID][]model.Date{}}
	for _, id := range plants {
		a.by[id] = nil
	}
	l.eachUse(p, plants, func(f *model.Fact, on []model.PlantID) {
		if a.last == nil || standing.CompareDone(a.last, f) < 0 {
			a.last, a.lastDay = f, l.date(f)
		}
		for _, id := range on {
			a.by[id] = append(a.by[id], l.date(f))
		}
	})
	for _, days := range a.by {
		slices.Sort(days)
		from, _ := slices.BinarySearch(days, l.today.Add(1-SeasonDays))
		a.most = max(a.most, len(days)-from)
	}
	return a
}

// expect counts an application that a course has still to make.
func (a *applied) expect(day model.Date, key model.TaskKey) {
	for id := range a.by {
		a.by[id] = append(a.by[id], day)
		slices.Sort(a.by[id])
	}
	a.next, a.key = max(a.next, day), key
}

// afterInterval is the first day that is so many days after every application.
func (a *applied) afterInterval(days int) (model.Date, Reason) {
	switch {
	case days == 0 || a.last == nil && a.next == 0:
		return 0, Reason{}
	case a.next > a.lastDay:
		return a.next.Add(days), Reason{Because: LabelInterval, Date: a.next, Days: days, Task: a.key}
	}
	return a.lastDay.Add(days), Reason{Because: LabelInterval, Fact: a.last, Date: a.lastDay, Days: days}
}

// withinSeason is the first day on which no plant has had the most applications that
// the label allows within SeasonDays.
func (a *applied) withinSeason(most int) (model.Date, Reason) {
	day := model.Date(0)
	for _, days := range a.by {
		if n := len(days); most > 0 && n >= most {
			day = max(day, days[n-most].Add(SeasonDays))
		}
	}
	return day, Reason{Because: SeasonFull, Date: day, Count: most}
}

// season counts the applications of a product in the last SeasonDays, by plant.
func (l *ledger) season(p model.ProductID, plants []model.PlantID) map[model.PlantID]int {
	uses := map[model.PlantID]int{}
	l.eachUse(p, plants, func(f *model.Fact, on []model.PlantID) {
		if l.today.Sub(l.date(f)) < SeasonDays {
			for _, id := range on {
				uses[id]++
			}
		}
	})
	return uses
}

// eachUse gives every application of a product on any of some plants that a limit of
// its label can still count, and on which of them.
func (l *ledger) eachUse(p model.ProductID, plants []model.PlantID, do func(f *model.Fact, on []model.PlantID)) {
	among := make(map[model.PlantID]bool, len(plants))
	for _, id := range plants {
		among[id] = true
	}
	since := l.today.Add(-max(SeasonDays, l.product(p).MinInterval)).Start(l.zone)
	for _, f := range l.apps {
		x := f.Body.(*model.Application)
		if f.At < since || x.Product != p {
			continue
		}
		var on []model.PlantID
		for _, id := range x.Plants {
			if among[id] && !slices.Contains(on, id) {
				on = append(on, id)
			}
		}
		if len(on) > 0 {
			do(f, on)
		}
	}
}

// hold is how long a plant must not be touched, and because of which application.
type hold struct {
	until model.Instant
	by    *model.Fact
}

// holdPlants finds the plants whose re-entry time runs.
func (l *ledger) holdPlants() {
	for _, f := range l.apps {
		x := f.Body.(*model.Application)
		hours := l.product(x.Product).ReentryHours
		until := f.At + model.Instant(hours)*hour
		if hours == 0 || until <= l.now {
			continue
		}
		for _, p := range x.Plants {
			if h := l.reentry[p]; until > h.until {
				l.reentry[p] = hold{until, f}
			}
		}
	}
}

const hour = model.Instant(3_600_000) // in milliseconds
