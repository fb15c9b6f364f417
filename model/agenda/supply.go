package agenda

import (
	"cmp"
	"slices"

	"leafturn/model"
	"leafturn/model/dose"
)

// buyTasks are the products that run out before the plans that use them are done.
// A product whose stock nobody has entered is not among them, nor one that was bought
// since the last of those plans was accepted: what the shelf holds is the
// household's to say.
func (l *ledger) buyTasks(courses []*course, tasks []*Task) []*Task {
	steps := slices.DeleteFunc(slices.Clone(tasks), func(t *Task) bool { return t.Step == nil || !t.Step.Applies() })
	slices.SortStableFunc(steps, func(a, b *Task) int { return cmp.Compare(a.When(), b.When()) })
	need, left := map[model.ProductID]int64{}, map[model.ProductID]int64{}
	var all []*Task
	for _, s := range steps {
		if _, known := left[s.Product]; !known {
			left[s.Product] = int64(stockLeft(l.product(s.Product), l.apps))
		}
		stock, before := left[s.Product], need[s.Product]
		need[s.Product] += milli(s.Mix)
		if l.product(s.Product).StockMilli == 0 || before > stock || need[s.Product] <= stock {
			continue
		}
		if t := l.buyTask(s, courses, int(stock), int(need[s.Product])); t != nil {
			all = append(all, t)
		}
	}
	return all
}

// StockLeft is how much of a product the shelf still holds, in thousandths of ml or g: what
// somebody said last, without what was used since. It is 0 also if nobody ever said.
func StockLeft(b *model.Book, p *model.Product) int {
	var apps []*model.Fact
	for _, f := range b.Facts() {
		if _, ok := f.Body.(*model.Application); ok && b.Stands(f.ID) {
			apps = append(apps, f)
		}
	}
	return stockLeft(p, apps)
}

// stockLeft takes what was used as it was noted, or as the shelf reckons for the plants
// where nobody noted it.
func stockLeft(p *model.Product, apps []*model.Fact) int {
	left := int64(p.StockMilli)
	if left == 0 {
		return 0
	}
	for _, f := range apps {
		x := f.Body.(*model.Application)
		if x.Product != p.ID || f.At <= p.StockAt {
			continue
		}
		used := dose.For(p, len(x.Plants))
		if x.AmountMl > 0 {
			used = dose.Of(p, int64(x.AmountMl))
		}
		left -= milli(used)
	}
	return int(max(0, left))
}

// milli is the product of a mix in thousandths, rounded up.
func milli(m dose.Mix) int64 {
	if m.Kind != dose.ToMix && m.Kind != dose.Ready {
		return 0
	}
	return (m.Product.Millionths + 999) / 1000
}

// buyTask is to buy a product by the day before the step for which it does not
// suffice any more.
func (l *ledger) buyTask(s *Task, courses []*course, have, want int) *Task {
	t, last := l.next(model.RuleBuy, s.Product.UUID())
	for _, c := range courses {
		if c.applied[s.Product] != nil && last != nil && c.accepted.At > last.At {
			last = nil
		}
	}
	if last != nil {
		return nil
	}
	t.Product, t.Outbreak, t.Plan = s.Product, s.Outbreak, s.Plan
	t.Due, t.Latest = s.When().Add(-1), s.When()
	t.Why = append(slices.Clone(s.Why[:min(len(s.Why), 3)]), Reason{Because: RunsOut, Product: s.Product, Task: s.Key, Date: s.When(), Have: have, Want: want})
	return l.finish(t, nil, nil)
}

// measureTasks ask for the same leaf again at the first look of the course after it
// was measured, on plants of which a leaf was measured at all. A plant of two courses
// is measured for the first of them.
func (c *course) measureTasks(own []*Task, measured map[model.PlantID]bool) []*Task {
	var tasks []*Task
	for _, p := range c.plants {
		if f := c.sizes[p.ID]; f != nil && !measured[p.ID] {
			if t := c.measureTask(p, f, own); t != nil {
				measured[p.ID] = true
				tasks = append(tasks, t)
			}
		}
	}
	return tasks
}

func (c *course) measureTask(p *model.Plant, last *model.Fact, own []*Task) *Task {
	t, done := c.next(model.RuleMeasure, p.ID.UUID())
	since := c.date(later(done, last))
	for i, k := range c.keys {
		if k.Rule != model.RuleCheck || c.day[i] <= since {
			continue
		}
		t.Plants, t.Places = []model.PlantID{p.ID}, c.placesOf([]*model.Plant{p})
		t.Outbreak, t.Plan = c.plan.Outbreak, c.plan
		look := Reason{Because: SameLeaf, Task: k, Date: c.day[i]}
		if done := c.done[k]; done != nil {
			look.Fact = done.first
		} else {
			t.Projected = slices.ContainsFunc(own, func(o *Task) bool { return o.Key == k && o.Projected })
		}
		t.Due = c.day[i]
		t.Why = append(slices.Clone(c.why), Reason{Because: WasMeasured, Fact: last, Date: c.date(last)}, look)
		return c.finish(t, nil, nil)
	}
	return nil
}
