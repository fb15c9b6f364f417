package agenda

import (
	"math"
	"slices"
	"time"

	"leafturn/model"
	"leafturn/model/dose"
)

// LimitKind is a limit of the label that a plan does not keep.
type LimitKind uint8

// The limits.
const (
	ShorterThanLabel LimitKind = 1 // the plan has applications Have days apart, and the label asks for Want
	MoreThanLabel    LimitKind = 2 // with what this season had already, Have applications come on one plant; Want is the label's most
	StockTooSmall    LimitKind = 3 // the shelf holds less than the course needs, in thousandths of ml or g
)

// Limit is one limit that a plan breaks.
type Limit struct {
	Kind       LimitKind
	Product    model.ProductID
	Have, Want int
}

// Need is what a plan needs of a product.
type Need struct {
	Product      model.ProductID
	Applications int
	Each         dose.Mix // one application
	Total        dose.Mix // all of them
}

// Preview is what a plan would come to if it were accepted now.
type Preview struct {
	Tasks  []*Task // by day
	Needs  []Need  // in order of first use
	Limits []Limit
}

// PreviewPlan shows a plan with a new id before anybody accepts it.
func PreviewPlan(b *model.Book, plan *model.PlanAccepted, now model.Instant, zone *time.Location) Preview {
	l := plantLedger(b, plan.Plants, now, zone)
	c := l.course(&model.Fact{Stamp: math.MaxUint64, At: now, Body: plan})
	v := Preview{Tasks: c.tasks(), Needs: c.needs()}
	l.sort(v.Tasks)
	for _, n := range v.Needs {
		v.Limits = append(v.Limits, c.limits(n)...)
	}
	return v
}

// needs counts the applications of each product.
func (c *course) needs() []Need {
	var all []Need
	for i := range c.plan.Steps {
		s := &c.plan.Steps[i]
		if !s.Applies() {
			continue
		}
		k := slices.IndexFunc(all, func(n Need) bool { return n.Product == s.Product })
		if k < 0 {
			k = len(all)
			all = append(all, Need{Product: s.Product, Each: dose.For(c.product(s.Product), len(c.plants))})
		}
		all[k].Applications++
	}
	for i := range all {
		all[i].Total = all[i].Each.Times(all[i].Applications)
	}
	return all
}

func (c *course) limits(n Need) []Limit {
	var all []Limit
	p := c.product(n.Product)
	if gap, ok := c.closest(n.Product); ok && gap < p.MinInterval {
		all = append(all, Limit{ShorterThanLabel, p.ID, gap, p.MinInterval})
	}
	most, _ := c.atLimit(p, plantIDs(c.plants))
	if most += n.Applications; p.MaxPerSeason > 0 && most > p.MaxPerSeason {
		all = append(all, Limit{MoreThanLabel, p.ID, most, p.MaxPerSeason})
	}
	stock := int64(StockLeft(c.book, p))
	if need := (n.Total.Product.Millionths + 999) / 1000; p.StockMilli > 0 && need > stock {
		all = append(all, Limit{StockTooSmall, p.ID, int(stock), int(need)})
	}
	return all
}

// closest is the fewest days between two applications of a product, as planned.
func (c *course) closest(p model.ProductID) (days int, ok bool) {
	last := model.Date(0)
	for i := range c.plan.Steps {
		s := &c.plan.Steps[i]
		if !s.Applies() || s.Product != p {
			continue
		}
		if gap := s.Day.Sub(last); last != 0 && (!ok || gap < days) {
			days, ok = gap, true
		}
		last = s.Day
	}
	return days, ok
}
