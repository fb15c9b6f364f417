package agenda

import (
	"slices"

	"leafturn/model"
	"leafturn/model/standing"
)

// doneTasks makes the tasks that were completed within WeekDays, the latest
// first. A task of a plan that was withdrawn is not among them; what was done is
// still on the plants' own pages.
func (l *ledger) doneTasks() []*Task {
	var tasks []*Task
	since := l.today.Add(-WeekDays).Start(l.zone)
	for k, c := range l.lately {
		if c.first.At < since {
			continue
		}
		if t := l.doneTask(k, c); t != nil {
			tasks = append(tasks, t)
		}
	}
	slices.SortFunc(tasks, func(a, b *Task) int {
		if c := standing.CompareDone(b.Done.First, a.Done.First); c != 0 {
			return c
		}
		return compareKeys(a.Key, b.Key)
	})
	return tasks
}

func (l *ledger) doneTask(k model.TaskKey, c *completion) *Task {
	t := &Task{ID: k.ID(l.book.Household.ID), Key: k, State: Done, Done: &Completion{First: c.first, All: c.all()}}
	if !ofPlan(k.Rule) {
		if !l.doneAlone(t) {
			return nil
		}
		return t
	}
	accepted := l.plans[model.PlanID(k.Subject)]
	if accepted == nil {
		return nil
	}
	l.doneStep(t, accepted.Body.(*model.PlanAccepted))
	return t
}

// doneAlone says what a task of no plan was about; false if its record is not here.
func (l *ledger) doneAlone(t *Task) bool {
	var plants []*model.Plant
	switch t.Key.Rule {
	case model.RuleRound, model.RuleCardRead, model.RuleCardNew:
		place := model.PlaceID(t.Key.Subject)
		t.Places = []model.PlaceID{place}
		if t.Key.Rule == model.RuleRound {
			t.Plants = plantIDs(l.living[place])
		}
		return l.book.Places[place] != nil
	case model.RuleBuy:
		t.Product = model.ProductID(t.Key.Subject)
		return l.book.Products[t.Product] != nil
	case model.RuleMaintain:
		t.Outbreak = model.OutbreakID(t.Key.Subject)
		if o := l.book.Outbreaks[t.Outbreak]; o != nil {
			plants = l.plantsOf(affected(o), true)
		}
	default:
		plants = l.plantsOf([]model.PlantID{model.PlantID(t.Key.Subject)}, false)
	}
	t.Plants, t.Places = plantIDs(plants), l.placesOf(plants)
	return len(plants) > 0
}

func affected(o *model.Outbreak) []model.PlantID {
	var ids []model.PlantID
	for id, yes := range o.Affects {
		if yes {
			ids = append(ids, id)
		}
	}
	return ids
}

// doneStep says on which plants a task of a plan was done.
func (l *ledger) doneStep(t *Task, plan *model.PlanAccepted) {
	t.Plan, t.Outbreak = plan, plan.Outbreak
	meant := l.plantsOf(plan.Plants, true)
	var touched []model.PlantID
	for _, f := range t.Done.All {
		switch x := f.Body.(type) {
		case *model.Application:
			touched = append(touched, x.Plants...)
		case *model.Handling:
			touched = append(touched, x.Plants...)
		}
	}
	plants := meant
	if len(touched) > 0 {
		plants = l.plantsOf(touched, false)
	}
	t.Plants, t.Places = plantIDs(plants), l.placesOf(plants)
	if t.Step = plan.Step(t.Key); t.Step == nil || t.Step.Kind == model.StepLook {
		return
	}
	t.Product = t.Step.Product
	for _, p := range meant {
		if len(touched) > 0 && !slices.Contains(touched, p.ID) {
			t.Done.Missed = append(t.Done.Missed, p.ID)
		}
	}
}
