package plan

import (
	"fmt"
	"slices"
)

// Find makes the plan of a case. It gives options for each goal that anything can be
// done for; those that miss the target say so and what binds. It returns ErrCase,
// population.ErrDays, population.ErrOrder or an error of the temperatures for bad
// input, ErrNoCourse if there is nothing to do at all, ErrStopped when told to stop.
func Find(c Case, w Watch) (*Plan, error) {
	full, err := c.fill()
	if err != nil {
		return nil, fmt.Errorf("find plan: %w", err)
	}
	s, err := newSearch(full, w)
	if err != nil {
		return nil, fmt.Errorf("find plan: %w", err)
	}
	p := &Plan{Refused: s.refused, Target: full.Target, Until: s.c.date(s.to), Held: s.heldBack()}
	if err := s.fill(p); err != nil {
		return nil, err
	}
	if len(p.Options) == 0 {
		return nil, ErrNoCourse
	}
	return p, nil
}

func (s *search) fill(p *Plan) error {
	most, paces := s.ladder()
	s.of = 2*len(paces) + len(s.bare())
	fewest, rung, err := s.climb(most)
	if err != nil {
		return err
	}
	if fewest, err = s.modest(fewest); err != nil {
		return err
	}
	if err := s.offer(p, FewestSprays, fewest); err != nil {
		return err
	}
	if fewest.ok {
		if err := s.offerSoonest(p, fewest, rung); err != nil {
			return err
		}
	}
	water, err := s.sure(s.bare())
	if err != nil {
		return err
	}
	if water, err = s.modest(water); err != nil {
		return err
	}
	if err := s.offer(p, NoChemicals, water); err != nil {
		return err
	}
	if len(p.Options) > 0 && !p.Options[0].Reaches {
		p.Options[0].Bound, err = s.bounds(p.Options[0].Utmost)
	}
	s.watch.progress(s.of, s.of)
	return err
}

// How many animals make an outbreak one that gentle means alone should not be tried
// on first; our judgement.
const (
	light = 30
	heavy = 300
)

// ladder says how strong a tool the first try may use, by how grave it is, and all
// that could be tried.
func (s *search) ladder() (Rung, []pace) {
	first := Gentle
	switch n := s.c.Cloud.Median(); {
	case n > heavy:
		first = Systemic
	case n > light:
		first = ShortLived
	}
	return first, s.paces(Systemic)
}

// climb tries gentle tools first, and stronger ones only if they do not reach the
// target.
func (s *search) climb(first Rung) (found, Rung, error) {
	best := found{}
	tried := 0
	for rung := first; rung <= Systemic; rung++ {
		paces := s.paces(rung)
		if len(paces) == tried {
			continue // nothing stronger stands on the shelf
		}
		tried = len(paces)
		f, err := s.sure(paces)
		if err != nil || f.ok {
			return f, rung, err
		}
		if f.chance > best.chance {
			best = f
		}
	}
	return best, Systemic, nil
}

// mostTries is how often the search asks again because the larger sample says that
// the course it found falls short.
const mostTries = 4

// sure is fewest, with the number held against the larger sample: one more or less of
// the course found. Where the smaller sample flattered it, the others are asked for one
// that does with fewer, or that reaches the target at all.
func (s *search) sure(paces []pace) (found, error) {
	defer func(t float64) { s.target = t }(s.target)
	best := found{}
	for range mostTries {
		f, err := s.fewest(paces, best)
		if err != nil {
			return f, err
		}
		missed := !f.ok
		if missed && best.ok {
			break
		}
		f, short, err := s.settle(f)
		if err != nil {
			return f, err
		}
		if f.better(best) {
			best = f
		}
		if missed || short <= 0 {
			break
		}
		paces = slices.DeleteFunc(slices.Clone(paces), func(p pace) bool { return p == f.pace })
		s.target = min(0.9999, s.target+short+0.002)
	}
	return best, nil
}

// settle finds the least number of a pace that reaches the target by the larger
// sample, or its best; and by how much the number that was found falls short.
func (s *search) settle(f found) (found, float64, error) {
	if f.n == 0 {
		return f, 0, nil
	}
	moves := s.lay(f.pace, nil)
	at := func(n int) (float64, error) { return s.chance(upTo(moves, n, s.water), s.whole, s.to) }
	c, err := at(f.n)
	short := s.c.Target - c
	for most := number(moves, s.water); err == nil && c < s.c.Target && f.n < most; {
		f.n++
		c, err = at(f.n)
	}
	f.ok, f.chance = c >= s.c.Target, c
	for err == nil && f.ok && f.n > 1 {
		if c, err = at(f.n - 1); c < s.c.Target {
			break
		}
		f.n--
		f.chance = c
	}
	return f, short, err
}

// nearly is the share of the best chance that is good enough where the target is out
// of reach; our judgement.
const nearly = 0.9

// modest asks for less where the target is missed anyway: the least number that
// reaches nearly the chance of doing all that the labels allow. The last of twenty
// sprays buy next to nothing, and cost leaves, a season's allowance and patience.
func (s *search) modest(f found) (found, error) {
	f.utmost = f.chance
	if f.ok || f.n == 0 {
		return f, nil
	}
	moves := s.lay(f.pace, nil)
	for low := 1; low < f.n; {
		mid := (low + f.n) / 2
		c, err := s.chance(upTo(moves, mid, s.water), s.whole, s.to)
		if err != nil {
			return f, err
		}
		if c >= nearly*f.utmost {
			f.n, f.chance = mid, c
		} else {
			low = mid + 1
		}
	}
	return f, nil
}

func (s *search) offer(p *Plan, g Goal, f found) error {
	if f.n == 0 {
		return nil
	}
	o, err := s.option(g, f)
	if err != nil {
		return err
	}
	p.Options = append(p.Options, o)
	return nil
}

// offerSoonest offers the course that is over first; that with the fewest sprays
// itself if nothing is quicker.
func (s *search) offerSoonest(p *Plan, fewest found, rung Rung) error {
	target := s.target
	s.target = min(0.9999, s.target+0.01) // the sample is small: a little more, to be sure
	f, err := s.soonest(s.paces(rung))
	s.target = target
	if err != nil {
		return err
	}
	if f.ok {
		o, err := s.option(SoonestOver, f)
		if err != nil {
			return err
		}
		if o.Reaches && o.Over < p.Options[0].Over {
			p.Options = append(p.Options, o)
			return nil
		}
	}
	return s.offer(p, SoonestOver, fewest)
}
