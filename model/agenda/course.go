package agenda

import (
	"cmp"
	"slices"

	"leafturn/model"
)

// course is a plan that is being followed.
type course struct {
	*ledger
	accepted *model.Fact
	plan     *model.PlanAccepted
	keys     []model.TaskKey              // by step
	day      []model.Date                 // by step: when it was done, or when it would fall; 0 if a later one was done instead
	plants   []*model.Plant               // the plan's living plants, by name
	applied  map[model.ProductID]*applied // by product of the plan
	highest  map[model.Rule]uint32        // greatest ordinal of the plan's own that is completed
	why      []Reason                     // finding, outbreak, acceptance
}

func (l *ledger) course(accepted *model.Fact) *course {
	c := &course{ledger: l, accepted: accepted, plan: accepted.Body.(*model.PlanAccepted)}
	c.keys = c.plan.TaskKeys()
	c.day = make([]model.Date, len(c.keys))
	c.plants = l.plantsOf(c.plan.Plants, true)
	c.applied = map[model.ProductID]*applied{}
	c.highest = map[model.Rule]uint32{}
	for i, k := range c.keys {
		// A completion beyond the plan's own number of steps says nothing about them.
		if c.done[k] != nil {
			c.highest[k.Rule] = max(c.highest[k.Rule], k.Ordinal)
		}
		if s := &c.plan.Steps[i]; s.Applies() && c.applied[s.Product] == nil {
			c.applied[s.Product] = l.appliedOn(s.Product, plantIDs(c.plants))
		}
	}
	c.why = c.history()
	return c
}

// product is the record of a product, a blank one if it has not arrived yet.
func (l *ledger) product(id model.ProductID) *model.Product {
	if p, ok := l.book.Products[id]; ok {
		return p
	}
	return &model.Product{ID: id}
}

// plantsOf finds plants by id, each once, by name; only the living ones if asked.
func (l *ledger) plantsOf(ids []model.PlantID, living bool) []*model.Plant {
	var plants []*model.Plant
	for _, id := range ids {
		if p := l.book.Plants[id]; p != nil && (!living || l.hands.Living(p)) {
			plants = append(plants, p)
		}
	}
	slices.SortFunc(plants, comparePlants)
	return slices.Compact(plants)
}

// history is the beginning of every "why" of the course.
func (c *course) history() []Reason {
	var why []Reason
	if f := c.finding(); f != nil {
		why = append(why, Reason{Because: WasFound, Fact: f, Date: c.date(f)})
	}
	if o := c.book.Outbreaks[c.plan.Outbreak]; o != nil && o.Opened != 0 {
		why = append(why, Reason{Because: OutbreakOpened, Date: o.Opened})
	}
	return append(why, Reason{Because: PlanAccepted, Fact: c.accepted, Date: c.date(c.accepted), Basis: c.plan.Basis})
}

// finding is the last look before the acceptance that found something on a plant
// of the plan. What was seen more than a season before it did not lead to it.
func (c *course) finding() *model.Fact {
	var last *model.Fact
	since := c.date(c.accepted).Add(-SeasonDays).Start(c.zone)
	for _, p := range c.plants {
		for _, f := range slices.Backward(c.book.PlantFacts(p.ID)) {
			x, ok := f.Body.(*model.Inspection)
			if f.At < since {
				break
			}
			if ok && x.Found() && model.CompareFacts(f, c.accepted) < 0 && c.book.Stands(f.ID) {
				if last == nil || model.CompareFacts(last, f) < 0 {
					last = f
				}
				break
			}
		}
	}
	return last
}

// tasks makes all tasks of the course that are not done.
func (c *course) tasks() []*Task {
	if len(c.plants) == 0 {
		return nil
	}
	var steps []*Task
	for i, k := range c.keys {
		switch done := c.done[k]; {
		case done != nil:
			c.day[i] = c.date(done.first)
		case k.Ordinal > c.highest[k.Rule]:
			t := c.step(i)
			c.day[i] = max(t.When(), c.today) // it cannot be done before today
			steps = append(steps, t)
		}
	}
	tasks := append(c.isolation(), steps...)
	if len(steps) > 0 { // a course that is over asks for no more
		tasks = append(tasks, c.pruning()...)
	}
	return tasks
}

func (c *course) task(k model.TaskKey) *Task {
	return &Task{
		Key:      k,
		Plants:   plantIDs(c.plants),
		Places:   c.placesOf(c.plants),
		Outbreak: c.plan.Outbreak,
		Plan:     c.plan,
		Why:      slices.Clone(c.why),
	}
}

// isolation makes the task of keeping apart those plants that are not apart yet.
func (c *course) isolation() []*Task {
	key := model.TaskKey{Rule: model.RuleIsolate, Subject: c.plan.Plan.UUID(), Ordinal: 1}
	together := slices.DeleteFunc(slices.Clone(c.plants), func(p *model.Plant) bool { return c.hands[p.ID].IsApart() })
	if !c.plan.Isolate || c.done[key] != nil || len(together) == 0 {
		return nil
	}
	t := c.task(key)
	t.Why = append(t.Why, Reason{Because: KeepApart})
	t.Plants, t.Places = plantIDs(together), c.placesOf(together)
	t.Due = c.date(c.accepted)
	return []*Task{c.finish(t, nil, nil)}
}

// placesOf gives the places at which plants stand, in the household's order.
func (l *ledger) placesOf(plants []*model.Plant) []model.PlaceID {
	var ids []model.PlaceID
	for _, p := range plants {
		if !p.Place.IsZero() && !slices.Contains(ids, p.Place) {
			ids = append(ids, p.Place)
		}
	}
	slices.SortFunc(ids, func(a, b model.PlaceID) int {
		return cmp.Or(comparePlaces(l.book.Places[a], l.book.Places[b]), model.CompareIDs(a, b))
	})
	return ids
}
