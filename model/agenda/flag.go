package agenda

import (
	"cmp"
	"slices"

	"leafturn/model"
	"leafturn/model/standing"
)

// Flag says that a task was completed by more than one application. Both count
// for every limit until somebody withdraws one or settles that both happened; a
// settlement covers what was written before it.
type Flag struct {
	Key          model.TaskKey
	ID           model.TaskID
	Outbreak     model.OutbreakID
	Product      model.ProductID  // of the last application
	Applications []*model.Fact    // in order of doing
	Members      []model.MemberID // who did them, each once
	Plants       []model.PlantID  // all that were treated
	Twice        []model.PlantID  // those treated by more than one; empty if two people shared the plants out
	Next         model.Date       // the next application at the earliest: the last one and the longer of label interval and the plan's gap
}

// flags gives every flag that nobody has settled, in order of the first treatment.
func (l *ledger) flags() []Flag {
	var all []Flag
	for k := range l.twice {
		if f, ok := l.flag(k); ok {
			all = append(all, f)
		}
	}
	slices.SortFunc(all, func(a, b Flag) int { return standing.CompareDone(a.Applications[0], b.Applications[0]) })
	return all
}

func (l *ledger) flag(k model.TaskKey) (Flag, bool) {
	c := l.twice[k]
	if c == nil || l.isSettled(k, c) {
		return Flag{}, false
	}
	f := Flag{Key: k, ID: k.ID(l.book.Household.ID), Applications: c.applications()}
	interval := 0
	if p := l.plans[model.PlanID(k.Subject)]; p != nil {
		before, after := gaps(p.Body.(*model.PlanAccepted), k)
		interval = cmp.Or(after, before)
	}
	for _, a := range f.Applications {
		f.count(a)
		interval = max(interval, l.product(f.Product).MinInterval)
	}
	last := f.Applications[len(f.Applications)-1]
	f.Next = l.date(last).Add(interval)
	return f, true
}

func (f *Flag) count(a *model.Fact) {
	x := a.Body.(*model.Application)
	f.Product, f.Outbreak = x.Product, x.Outbreak
	if !slices.Contains(f.Members, a.By) {
		f.Members = append(f.Members, a.By)
	}
	for _, p := range distinct(slices.Clone(x.Plants)) {
		if !slices.Contains(f.Plants, p) {
			f.Plants = append(f.Plants, p)
		} else if !slices.Contains(f.Twice, p) {
			f.Twice = append(f.Twice, p)
		}
	}
}

func (l *ledger) isSettled(k model.TaskKey, c *completion) bool {
	by := l.settled[k]
	return by != nil && !slices.ContainsFunc(c.applications(), func(a *model.Fact) bool { return model.CompareFacts(a, by) > 0 })
}
