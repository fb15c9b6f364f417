package plan

import (
	"fmt"

	"leafturn/model"
	"leafturn/model/population"
)

// Acts are the steps that do something to the pest, as a forecast takes them: days
// are counted as in the case's climate. Steps before the climate's first day but
// not older than population.MaxDays may still work. It returns ErrCase for a product
// that is not on the shelf.
func (c *Case) Acts(steps []Step) ([]population.Act, error) {
	products := map[model.ProductID]*model.Product{}
	for _, p := range c.Shelf {
		products[p.ID] = p
	}
	var acts []population.Act
	for _, s := range steps {
		a := population.Act{Day: c.day(s.Day), Means: model.MeansWater}
		switch s.Kind {
		case TryLeaf, LookAt:
			continue
		case Spray, IntoMix:
			p := products[s.Product]
			if p == nil {
				return nil, fmt.Errorf("step of %s: %w", s.Day, ErrCase)
			}
			a.Means, a.Active = p.Means, p.Active
		}
		acts = append(acts, a)
	}
	return acts, nil
}

// Verdict is what is left of a course once counts have come in.
type Verdict struct {
	Chance  float64 // of having ended it within the horizon, by the cloud as it is now
	Reaches bool
	Over    model.Date // the day on which the target is reached, zero if it is not
}

// Recheck holds the steps of an accepted course from today on against what the cloud
// now says. If it no longer reaches its target, Find makes another. Steps before
// today are passed over: what was really done stands in the history.
func Recheck(c Case, steps []Step) (Verdict, error) {
	full, err := c.fill()
	if err != nil {
		return Verdict{}, fmt.Errorf("recheck: %w", err)
	}
	s, err := newSearch(full, Watch{})
	if err != nil {
		return Verdict{}, fmt.Errorf("recheck: %w", err)
	}
	var left []Step
	for _, step := range steps {
		if step.Day >= full.Today && step.Day < full.Today.Add(full.Horizon) {
			left = append(left, step)
		}
	}
	acts, err := s.c.Acts(left)
	if err != nil {
		return Verdict{}, err
	}
	s.past = append(s.past, acts...)
	v := Verdict{}
	if v.Chance, err = s.chance(nil, s.whole, s.to); err != nil {
		return v, err
	}
	if v.Reaches = v.Chance >= full.Target; v.Reaches {
		over, err := s.overBy(nil, s.whole, s.to)
		if err != nil {
			return v, err
		}
		v.Over = s.c.date(over)
	}
	return v, nil
}
