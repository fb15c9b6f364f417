package agenda

import (
	"math"
	"time"

	"leafturn/model"
	"leafturn/model/dose"
)

// LimitKind is a limit of the label that a plan does not keep.
type LimitKind uint8

// The limits.
const (
	ShorterThanLabel LimitKind = 1 // the plan's interval is below the label's: Have days, Label asks for Want
	MoreThanLabel    LimitKind = 2 // with what this season had already, Have applications come on one plant; Want is the label's most
	StockTooSmall    LimitKind = 3 // the shelf holds less than the course needs, in thousandths of ml or g
)

// Limit is one limit that a plan breaks.
type Limit struct {
	Kind       LimitKind
	Have, Want int
}

// Preview is what a plan would come to if it were accepted now.
type Preview struct {
	Tasks  []*Task  // by day; the look after each step too, with its estimate
	Each   dose.Mix // one application
	Total  dose.Mix // all of them
	Limits []Limit
}

// PreviewPlan shows a plan with a new id before anybody accepts it.
func PreviewPlan(b *model.Book, plan *model.PlanAccepted, now model.Instant, zone *time.Location) Preview {
	l := plantLedger(b, plan.Plants, now, zone)
	c := l.course(&model.Fact{Stamp: math.MaxUint64, At: now, Body: plan})
	v := Preview{Tasks: c.tasks(), Each: dose.For(c.product, len(c.plants))}
	v.Tasks = append(v.Tasks, c.laterChecks(v.Tasks)...)
	l.sort(v.Tasks)
	v.Total = v.Each.Times(plan.Applications)
	v.Limits = c.limits(v.Total)
	return v
}

// laterChecks are the looks after steps that are not done yet.
func (c *course) laterChecks(tasks []*Task) []*Task {
	if c.plan.CheckAfter == 0 {
		return nil
	}
	var looks []*Task
	for _, step := range tasks {
		if step.Key.Rule != model.RuleSpray {
			continue
		}
		day := max(step.When(), c.today)
		t := c.task(model.RuleCheck, int(step.Key.Ordinal),
			Reason{Because: StepBefore, Date: day, Ordinal: step.Key.Ordinal},
			Reason{Because: CheckAfter, Days: c.plan.CheckAfter})
		t.Projected = true
		t.Due = day.Add(c.plan.CheckAfter)
		looks = append(looks, c.finish(t, nil))
	}
	return looks
}

func (c *course) limits(total dose.Mix) []Limit {
	var all []Limit
	if p := c.product; p.MinInterval > c.plan.Interval {
		all = append(all, Limit{ShorterThanLabel, c.plan.Interval, p.MinInterval})
	}
	if n := c.most + c.plan.Applications; c.product.MaxPerSeason > 0 && n > c.product.MaxPerSeason {
		all = append(all, Limit{MoreThanLabel, n, c.product.MaxPerSeason})
	}
	stock := int64(c.product.StockMilli)
	if need := (total.Product.Millionths + 999) / 1000; stock > 0 && need > stock {
		all = append(all, Limit{StockTooSmall, int(stock), int(need)})
	}
	return all
}
