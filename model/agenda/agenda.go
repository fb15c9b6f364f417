package agenda

import (
	"cmp"
	"slices"

	"leafturn/model"
)

// WeekDays is how far the week reaches beyond today, and how far back a task
// counts as done lately.
const WeekDays = 7

// Agenda is all that is to be done, and what was done lately.
type Agenda struct {
	Day        model.Date // today, in the household's zone
	Today      Group      // due today, and overdue
	Tomorrow   Group
	Week       Group // after tomorrow, within WeekDays
	Later      Group
	DoneToday  []*Task // the latest first
	DoneLately []*Task // before today, within WeekDays
	Flags      []Flag
	Breaches   []Breach // the latest first
	Shares     []Share
	Superseded []Superseded
	Waiting    []Waiting
}

// Group is the tasks of some days, and what to mix for them.
type Group struct {
	Tasks   []*Task // by day, then place
	Batches []Batch
}

// Superseded is a plan that another one, accepted after it, overrules.
type Superseded struct {
	Accepted *model.Fact // a *model.PlanAccepted
	By       *model.Fact // the one that rules
}

// Wait is why an open outbreak has nothing to do.
type Wait uint8

// The reasons to wait for a person's decision.
const (
	NoPlan     Wait = 1 // no plan was accepted
	CourseOver Wait = 2 // all steps and looks are done: close it, or go on
	NoPlants   Wait = 3 // none of the plan's plants is left
)

// Waiting is an open outbreak that no task carries on.
type Waiting struct {
	Outbreak model.OutbreakID
	Wait     Wait
}

func (l *ledger) agenda() *Agenda {
	a := &Agenda{Day: l.today, Flags: l.flags(), Breaches: l.breaches(), Shares: l.shares()}
	rounds := l.roundTasks()
	tasks := slices.Concat(rounds, l.cardTasks(rounds), l.apartTasks(), l.maintainTasks())
	courses := l.courses(a)
	measured := map[model.PlantID]bool{}
	for _, c := range courses {
		own := c.tasks()
		if len(own) == 0 {
			a.wait(c)
		}
		tasks = slices.Concat(tasks, own, c.measureTasks(own, measured))
	}
	tasks = append(tasks, l.buyTasks(courses, tasks)...)
	l.sort(tasks)
	a.group(l, tasks)
	a.recall(l)
	return a
}

// courses finds the ruling plan of each open outbreak, and notes the plans that
// it overrules and the outbreaks that have none. Should two outbreaks name one
// plan, which no phone writes, the first of them keeps it.
func (l *ledger) courses(a *Agenda) []*course {
	var list []*course
	taken := map[model.PlanID]bool{}
	for _, o := range sortedBy(l.book.Outbreaks, compareOutbreaks) {
		if o.Closed != 0 {
			continue
		}
		plans := l.book.Plans(o.ID)
		if len(plans) == 0 {
			a.Waiting = append(a.Waiting, Waiting{o.ID, NoPlan})
			continue
		}
		ruling := plans[len(plans)-1]
		id := ruling.Body.(*model.PlanAccepted).Plan
		for _, p := range plans[:len(plans)-1] {
			if p.Body.(*model.PlanAccepted).Plan != id {
				a.Superseded = append(a.Superseded, Superseded{Accepted: p, By: ruling})
			}
		}
		if !taken[id] {
			taken[id] = true
			list = append(list, l.course(ruling))
		}
	}
	return list
}

func (a *Agenda) wait(c *course) {
	why := CourseOver
	if len(c.plants) == 0 {
		why = NoPlants
	}
	a.Waiting = append(a.Waiting, Waiting{c.plan.Outbreak, why})
}

func (a *Agenda) group(l *ledger, tasks []*Task) {
	for _, t := range tasks {
		g := &a.Later
		switch days := t.When().Sub(a.Day); {
		case days <= 0:
			g = &a.Today
		case days == 1:
			g = &a.Tomorrow
		case days <= WeekDays:
			g = &a.Week
		}
		g.Tasks = append(g.Tasks, t)
	}
	for _, g := range a.groups() {
		g.Batches = l.batches(g.Tasks)
	}
}

func (a *Agenda) groups() []*Group {
	return []*Group{&a.Today, &a.Tomorrow, &a.Week, &a.Later}
}

// recall lists what was done lately.
func (a *Agenda) recall(l *ledger) {
	for _, t := range l.doneTasks() {
		if l.date(t.Done.First) >= a.Day {
			a.DoneToday = append(a.DoneToday, t)
		} else {
			a.DoneLately = append(a.DoneLately, t)
		}
	}
}

// Open gives every task that is not done, by day.
func (a *Agenda) Open() []*Task {
	var all []*Task
	for _, g := range a.groups() {
		all = append(all, g.Tasks...)
	}
	return all
}

// Task finds a task by its id, open or done lately, or nil.
func (a *Agenda) Task(id model.TaskID) *Task {
	for _, t := range slices.Concat(a.Open(), a.DoneToday, a.DoneLately) {
		if t.ID == id {
			return t
		}
	}
	return nil
}

// Round is the round of a place that comes next, or nil if nothing lives there.
func (a *Agenda) Round(place model.PlaceID) *Task {
	for _, t := range a.Open() {
		if t.Key.Rule == model.RuleRound && t.Key.Subject == place.UUID() {
			return t
		}
	}
	return nil
}

// sort puts tasks in order of their day; on one day plants are first kept apart,
// then treated, then looked at, and the walk through the rooms decides the rest.
func (l *ledger) sort(tasks []*Task) {
	first := func(t *Task) *model.Place {
		if len(t.Places) == 0 {
			return nil
		}
		return l.book.Places[t.Places[0]]
	}
	urgency := [...]int{model.RuleIsolate: 1, model.RuleBuy: 2, model.RuleTryLeaf: 3, model.RuleWash: 4, model.RuleSpray: 5, model.RuleSoil: 6, model.RuleCheck: 7,
		model.RuleMeasure: 8, model.RuleMaintain: 9, model.RuleQuarantine: 10, model.RuleRound: 11, model.RuleCardRead: 12, model.RuleCardNew: 13}
	slices.SortFunc(tasks, func(a, b *Task) int {
		return cmp.Or(
			cmp.Compare(a.When(), b.When()),
			cmp.Compare(urgency[a.Key.Rule], urgency[b.Key.Rule]),
			comparePlaces(first(a), first(b)),
			compareKeys(a.Key, b.Key))
	})
}

func compareKeys(a, b model.TaskKey) int {
	return cmp.Or(
		cmp.Compare(a.Rule, b.Rule),
		slices.Compare(a.Subject[:], b.Subject[:]),
		cmp.Compare(a.Ordinal, b.Ordinal))
}

// comparePlaces is the household's own order. A plant may stand at a place whose
// record has not arrived yet: nil comes first.
func comparePlaces(a, b *model.Place) int {
	switch {
	case a == b:
		return 0
	case a == nil:
		return -1
	case b == nil:
		return 1
	}
	return cmp.Or(cmp.Compare(a.Order, b.Order), cmp.Compare(a.Name, b.Name), model.CompareIDs(a.ID, b.ID))
}

// sortedBy gives the values of a map in order.
func sortedBy[K comparable, V any](m map[K]V, compare func(a, b V) int) []V {
	list := make([]V, 0, len(m))
	for _, v := range m {
		list = append(list, v)
	}
	slices.SortFunc(list, compare)
	return list
}
