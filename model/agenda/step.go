package agenda

import (
	"leafturn/model"
	"leafturn/model/dose"
)

// step makes the task of a step that is not done. Those before it have their days.
func (c *course) step(i int) *Task {
	s := &c.plan.Steps[i]
	t := c.task(c.keys[i])
	t.Step = s
	var product *model.Product
	if !s.Product.IsZero() {
		product = c.product(s.Product)
		t.Product = s.Product
		t.Mix = dose.For(product, len(c.plants))
	}
	for k := range s.Why {
		t.Why = append(t.Why, Reason{Because: PlanSays, Step: &s.Why[k]})
	}
	c.dateStep(t, i)
	c.allow(t)
	if t.Key.Rule == model.RuleCheck {
		t.Looked = append(t.Looked, c.looks[t.Key]...)
	}
	c.finish(t, product, c.applied[t.Product])
	if s.Applies() {
		c.applied[s.Product].expect(max(t.When(), c.today), t.Key)
	}
	return t
}

// dateStep dates a step by the one it follows, as far from it as planned: from its
// first completion, or from the day on which it would fall.
func (c *course) dateStep(t *Task, i int) {
	before := c.before(i)
	if before < 0 {
		t.Due = t.Step.Day
		t.Why = append(t.Why, Reason{Because: FirstDay, Date: t.Due})
		return
	}
	gap := t.Step.Day.Sub(c.plan.Steps[before].Day)
	t.Due = c.day[before].Add(gap)
	link := Reason{Because: StepBefore, Date: c.day[before], Task: c.keys[before]}
	if done := c.done[c.keys[before]]; done != nil {
		link.Because, link.Fact = LastStep, done.first
		if t.Step.Kind == model.StepLook {
			link.Because = Treated
		}
	} else {
		t.Projected = true
	}
	rhythm := PlanInterval
	if t.Step.Kind == model.StepLook {
		rhythm = CheckAfter
	}
	t.Why = append(t.Why, link, Reason{Because: rhythm, Days: gap, Basis: c.plan.Basis})
	t.window(c.day[before], gap, c.plan.Basis)
	if f, ok := c.flag(c.keys[before]); ok && t.Step.Kind != model.StepLook && f.Next > t.Due {
		t.NotBefore = f.Next
		t.Why = append(t.Why, Reason{Because: DoneTwice, Date: f.Next, Task: f.Key})
	}
}

// before is the step that a step follows, -1 if none. A look follows the last
// treatment, whichever that is. Treatments of the leaves follow those of the leaves,
// and of the potting mix those of the mix, so that one that waits does not keep the
// other waiting.
func (c *course) before(i int) int {
	kind := c.plan.Steps[i].Kind
	for k := i - 1; k >= 0; k-- {
		if other := c.plan.Steps[k].Kind; c.day[k] != 0 && other != model.StepLook &&
			(kind == model.StepLook || (kind == model.StepSoil) == (other == model.StepSoil)) {
			return k
		}
	}
	return -1
}

// gaps are how far a plan keeps the treatment of a key from the one before it and
// from the one after it; 0 where there is none.
func gaps(plan *model.PlanAccepted, key model.TaskKey) (before, after int) {
	last, found := model.Date(0), false
	for i, k := range plan.TaskKeys() {
		if k.Rule == model.RuleCheck || (k.Rule == model.RuleSoil) != (key.Rule == model.RuleSoil) {
			continue
		}
		day := plan.Steps[i].Day
		if found {
			return before, day.Sub(last)
		}
		if found = k == key; found && last != 0 {
			before = day.Sub(last)
		}
		last = day
	}
	return before, 0
}

// allow moves a step to the first day on which the plants may be touched and the
// label allows one more application, whoever did the others and for whatever reason.
func (c *course) allow(t *Task) {
	t.moveFor(c.touchable(t))
	if !t.Step.Applies() {
		return
	}
	p, a := c.product(t.Product), c.applied[t.Product]
	t.moveFor(a.afterInterval(p.MinInterval))
	t.moveFor(a.withinSeason(p.MaxPerSeason))
}

// moveFor moves the task to the day of a reason, never to an earlier one.
func (t *Task) moveFor(allowed model.Date, why Reason) {
	t.Earliest = max(t.Earliest, allowed)
	if allowed > t.Due {
		t.Due, t.Latest = allowed, 0
		t.Why = append(t.Why, why)
	}
}

// window says how early and late a step may be, as far as common practice does.
func (t *Task) window(before model.Date, gap int, basis model.Basis) {
	d := DefaultCourse()
	switch {
	case t.Step.Kind == model.StepLook && d.CheckMin <= gap && gap <= d.CheckMax:
		t.Earliest, t.Latest = before.Add(d.CheckMin), before.Add(d.CheckMax)
	case t.Step.Kind == model.StepSpray && basis == model.CommonPractice && gap <= d.IntervalMax:
		t.Latest = before.Add(d.IntervalMax)
	}
}

// touchable is the day on which the last of the re-entry times on the plants ends,
// if that is not today.
func (c *course) touchable(t *Task) (model.Date, Reason) {
	var last hold
	for _, p := range t.Plants {
		if h := c.reentry[p]; h.until > last.until {
			last = h
		}
	}
	day := last.until.Date(c.zone)
	if last.by == nil || day <= c.today {
		return 0, Reason{}
	}
	return day, Reason{Because: Untouchable, Fact: last.by, Date: day}
}
