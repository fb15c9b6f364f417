package agenda

import (
	"cmp"
	"slices"

	"leafturn/model"
	"leafturn/model/dose"
)

// course is a plan that is being followed.
type course struct {
	*ledger
	accepted *model.Fact
	plan     *model.PlanAccepted
	product  *model.Product // blank if its record has not arrived
	plants   []*model.Plant // the plan's living plants, by name
	last     *model.Fact    // the last application of the product on any of them, or nil
	most     int            // applications of the product in the last SeasonDays, on the plant with most
	why      []Reason       // finding, outbreak, acceptance
}

func (l *ledger) course(accepted *model.Fact) *course {
	c := &course{ledger: l, accepted: accepted, plan: accepted.Body.(*model.PlanAccepted)}
	c.product = l.product(c.plan.Product)
	c.plants = l.plantsOf(c.plan.Plants, true)
	on := plantIDs(c.plants)
	c.last = l.lastApplied(c.plan.Product, on)
	for _, uses := range l.season(c.plan.Product, on) {
		c.most = max(c.most, uses)
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
// of the plan.
func (c *course) finding() *model.Fact {
	var last *model.Fact
	for _, p := range c.plants {
		for _, f := range slices.Backward(c.book.PlantFacts(p.ID)) {
			x, ok := f.Body.(*model.Inspection)
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
	return slices.Concat(c.isolation(), c.sprays(), c.checks())
}

func (c *course) key(r model.Rule, ordinal int) model.TaskKey {
	return model.TaskKey{Rule: r, Subject: c.plan.Plan.UUID(), Ordinal: uint32(ordinal)}
}

// highest is the greatest ordinal completed, 0 if none. A completion beyond the
// plan's own number of steps says nothing about them.
func (c *course) highest(r model.Rule) int {
	for n := c.plan.Applications; n > 0; n-- {
		if c.done[c.key(r, n)] != nil {
			return n
		}
	}
	return 0
}

func (c *course) task(r model.Rule, ordinal int, why ...Reason) *Task {
	return &Task{
		Key:      c.key(r, ordinal),
		Plants:   plantIDs(c.plants),
		Places:   c.placesOf(c.plants),
		Outbreak: c.plan.Outbreak,
		Plan:     c.plan,
		Why:      slices.Concat(c.why, why),
	}
}

// sprays makes the next step, and those after it as they would fall.
func (c *course) sprays() []*Task {
	var tasks []*Task
	done := c.highest(model.RuleSpray)
	for n := done + 1; n <= c.plan.Applications; n++ {
		t := c.task(model.RuleSpray, n)
		t.Product = c.plan.Product
		t.Mix = dose.For(c.product, len(c.plants))
		if n == done+1 {
			c.dateNext(t, done)
		} else {
			c.project(t, tasks[len(tasks)-1])
		}
		tasks = append(tasks, c.finish(t, c.product))
	}
	return tasks
}

// dateNext dates the step that comes next: by the plan's rhythm, or later if the
// label asks for it.
func (c *course) dateNext(t *Task, before int) {
	if before == 0 {
		t.Due = c.plan.First
		t.Why = append(t.Why, Reason{Because: FirstDay, Date: t.Due})
	} else {
		first := c.done[c.key(model.RuleSpray, before)].first
		t.Due = c.date(first).Add(c.plan.Interval)
		t.Why = append(t.Why, Reason{Because: LastStep, Fact: first, Date: c.date(first), Ordinal: uint32(before)}, c.rhythm())
		if f, ok := c.flag(c.key(model.RuleSpray, before)); ok && f.Next > t.Due {
			t.NotBefore = f.Next
			t.Why = append(t.Why, Reason{Because: DoneTwice, Date: f.Next, Ordinal: uint32(before)})
		}
	}
	if c.last == nil || c.product.MinInterval == 0 {
		return
	}
	if allowed := c.date(c.last).Add(c.product.MinInterval); allowed > t.Due {
		t.Due = allowed
		t.Why = append(t.Why, Reason{Because: LabelInterval, Fact: c.last, Date: c.date(c.last), Days: c.product.MinInterval})
	}
}

func (c *course) rhythm() Reason {
	return Reason{Because: PlanInterval, Days: c.plan.Interval, Basis: c.plan.Basis}
}

// project dates a step after one that is not done yet: that one cannot be done
// before today.
func (c *course) project(t, before *Task) {
	from := max(before.When(), c.today)
	t.Projected = true
	t.Due = from.Add(max(c.plan.Interval, c.product.MinInterval))
	t.Why = append(t.Why, Reason{Because: StepBefore, Date: from, Ordinal: before.Key.Ordinal}, c.rhythm())
}

// checks makes the look after each step that is done, unless that look or a later
// one was.
func (c *course) checks() []*Task {
	if c.plan.CheckAfter == 0 {
		return nil
	}
	var tasks []*Task
	for n := c.highest(model.RuleCheck) + 1; n <= c.plan.Applications; n++ {
		spray := c.done[c.key(model.RuleSpray, n)]
		if spray == nil {
			continue
		}
		t := c.task(model.RuleCheck, n,
			Reason{Because: Sprayed, Fact: spray.first, Date: c.date(spray.first), Ordinal: uint32(n)},
			Reason{Because: CheckAfter, Days: c.plan.CheckAfter})
		t.Due = c.date(spray.first).Add(c.plan.CheckAfter)
		t.Looked = slices.Clone(c.looks[t.Key])
		tasks = append(tasks, c.finish(t, nil))
	}
	return tasks
}

// isolation makes the task of keeping apart those plants that are not apart yet.
func (c *course) isolation() []*Task {
	key := c.key(model.RuleIsolate, 1)
	together := slices.DeleteFunc(slices.Clone(c.plants), func(p *model.Plant) bool { return c.hands[p.ID].IsApart() })
	if !c.plan.Isolate || c.done[key] != nil || len(together) == 0 {
		return nil
	}
	t := c.task(model.RuleIsolate, 1, Reason{Because: KeepApart})
	t.Plants, t.Places = plantIDs(together), c.placesOf(together)
	t.Due = c.date(c.accepted)
	return []*Task{c.finish(t, nil)}
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
