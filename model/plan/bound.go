package plan

import (
	"slices"

	"leafturn/model"
)

// matters is how much chance a limit must cost to be named; our judgement.
const matters = 0.005

// bounds tells for each limit that moved something what the chance would be without
// it, and for the rest what stands in the way. Only those that would help are told.
func (s *search) bounds(chance float64) ([]Bound, error) {
	var all []Bound
	add := func(l Limit, c float64) {
		if c > chance+matters {
			all = append(all, Bound{l, c, c >= s.c.Target})
		}
	}
	for _, l := range []Limit{LimitInterval, LimitSeason, LimitRotation, LimitHeat} {
		if !s.hit[l] {
			continue
		}
		c, err := s.without(l)
		if err != nil {
			return nil, err
		}
		add(l, c)
	}
	for _, x := range []struct {
		limit Limit
		why   []Refused
	}{{LimitFood, []Refused{NotForFood}}, {LimitWishes, []Refused{WishNoChemical, WishChildren, WishPets}}} {
		c, err := s.allowing(x.why)
		if err != nil {
			return nil, err
		}
		add(x.limit, c)
	}
	c, err := s.longer()
	if err != nil {
		return nil, err
	}
	add(LimitHorizon, c)
	if len(all) == 0 || s.water == 0 {
		all = append(all, Bound{Limit: LimitShelf})
	}
	slices.SortStableFunc(all, func(a, b Bound) int {
		switch {
		case a.Chance > b.Chance:
			return -1
		case a.Chance < b.Chance:
			return 1
		}
		return int(a.Limit) - int(b.Limit)
	})
	return all, nil
}

// best is the best chance that any pace without waiting gives.
func (s *search) best() (float64, error) {
	most := 0.0
	for _, p := range append(s.paces(Systemic), s.bare()...) {
		if p.start > 0 || p.factor > 0.7 || p.factor == 0.5 || p.mode == between {
			continue
		}
		if err := s.step(); err != nil {
			return 0, err
		}
		s.room = s.lay(p, s.room)
		c, err := s.chance(s.room, s.sample, s.to)
		if err != nil {
			return 0, err
		}
		most = max(most, c)
	}
	return most, nil
}

// without is the best chance if one limit did not hold.
func (s *search) without(l Limit) (float64, error) {
	var none [limits]bool
	kept := s.account
	s.account = newAccount(&s.c, s.tools, l, &none)
	defer func() { s.account = kept }()
	return s.best()
}

// allowing is the best chance if products refused for some reasons were used.
func (s *search) allowing(why []Refused) (float64, error) {
	c := s.c
	some := false
	for _, r := range s.refused {
		some = some || slices.Contains(why, r.Why)
	}
	if !some {
		return 0, nil
	}
	if slices.Contains(why, NotForFood) {
		c.Plants = []*model.Plant{}
		for _, p := range s.c.Plants {
			copied := *p
			copied.Edible = false
			c.Plants = append(c.Plants, &copied)
		}
	} else {
		c.Wishes = Wishes{NoRinsing: c.Wishes.NoRinsing}
	}
	t, err := newSearch(c, s.watch)
	if err != nil {
		return 0, err
	}
	t.done, t.of = s.done, s.of
	return t.best()
}

// longer is the best chance with half the horizon more, as far as the days go.
func (s *search) longer() (float64, error) {
	to := min(len(s.c.Days), s.from+s.c.Horizon*3/2)
	if to <= s.to {
		return 0, nil
	}
	kept := s.to
	s.to = to
	defer func() { s.to = kept }()
	return s.best()
}
