package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"leafturn/model"
	"leafturn/model/population"
)

// Members is how many members of the cloud the figures of an option rest on.
const Members = 240

// searchMembers is on how many of them courses are compared.
const searchMembers = 24

// search is one case at work.
type search struct {
	c         Case
	tools     []tool // water is the last
	water     int
	refused   []Refusal
	from, to  int // today, and the day after the last
	sensitive bool
	account   account
	hit       [limits]bool // limits that moved something
	target    float64

	climate *population.Climate
	whole   *population.Cloud // for the figures of what is offered
	sample  *population.Cloud // for the search
	past    []population.Act
	kills   *population.Kills
	ends    []float64
	room    []move

	watch Watch
	done  int
	of    int
}

func newSearch(c Case, w Watch) (*search, error) {
	s := &search{c: c, watch: w, from: c.Cloud.Day(), target: c.Target}
	s.to = s.from + c.Horizon
	s.tools, s.refused = s.c.tools()
	s.tools = append(s.rank(s.tools), s.c.water())
	s.water = len(s.tools) - 1
	s.sensitive = slices.ContainsFunc(c.Plants, func(p *model.Plant) bool { return p.Sensitive })
	s.account = newAccount(&s.c, s.tools, 0, &s.hit)
	s.whole = c.Cloud.Sample(Members)
	s.sample = s.whole
	var err error
	if s.climate, err = c.Model.Climate(c.Days); err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	if s.kills, err = c.Model.Kills(len(c.Days), nil); err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	for _, h := range c.past() {
		s.past = append(s.past, population.Act{Day: s.c.day(h.Day), Means: h.Product.Means, Active: h.Product.Active, Parts: h.Parts})
	}
	if err = s.shares(); err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	return s, s.choose()
}

// choose picks the members that the search rests on: evenly from those hardest to
// rid to those easiest, by a course as thorough as any, so that few stand well for
// many.
func (s *search) choose() error {
	paces := s.paces(Systemic)
	if paces = append(paces, s.bare()...); len(paces) == 0 {
		return nil
	}
	p := paces[len(paces)/2]
	moves := s.lay(p, nil)
	if _, err := s.chance(upTo(moves, 6, s.water), s.whole, s.to); err != nil {
		return err
	}
	places := make([]int, s.whole.Len())
	for i := range places {
		places[i] = i
	}
	slices.SortStableFunc(places, func(a, b int) int { return cmp.Compare(s.ends[a], s.ends[b]) })
	n := min(searchMembers, len(places))
	even := make([]int, n)
	for i := range even {
		even[i] = places[(2*i+1)*len(places)/(2*n)]
	}
	s.sample = s.whole.Pick(even)
	return nil
}

// past is the history on the plants of the case, in order of days, as far back as
// it matters.
func (c *Case) past() []Past {
	var all []Past
	for _, h := range c.History {
		if c.Today.Sub(h.Day) > population.MaxDays || h.Product.Means < model.MeansSoap || h.Product.Means > model.MeansWater {
			continue
		}
		if len(h.Plants) == 0 || slices.ContainsFunc(c.Plants, func(p *model.Plant) bool { return slices.Contains(h.Plants, p.ID) }) {
			all = append(all, h)
		}
	}
	slices.SortStableFunc(all, func(a, b Past) int { return cmp.Compare(a.Day, b.Day) })
	return all
}

// mostTools is how many products the search builds courses on.
const mostTools = 5

// rank puts gentle tools first, and of one rung those that kill more; it keeps the
// first few.
func (s *search) rank(tools []tool) []tool {
	slices.SortStableFunc(tools, func(a, b tool) int {
		return cmp.Or(
			cmp.Compare(RungOf(a.means), RungOf(b.means)),
			cmp.Compare(b.effect.Kill.Low+b.effect.Kill.High, a.effect.Kill.Low+a.effect.Kill.High),
			model.CompareIDs(a.product.ID, b.product.ID))
	})
	return tools[:min(len(tools), mostTools)]
}

// chance is that of having ended it by the start of a day when some moves are made.
func (s *search) chance(moves []move, cloud *population.Cloud, to int) (float64, error) {
	if s.watch.stopped() {
		return 0, ErrStopped
	}
	s.kills.Reset()
	for _, a := range s.past {
		if err := s.kills.Add(s.c.Model, a); err != nil {
			return 0, err
		}
	}
	for i := range moves {
		m := &moves[i]
		if m.retry > 0 {
			continue
		}
		t := &s.tools[m.tool]
		a := population.Act{Day: m.day, Means: t.means}
		if t.product != nil {
			a.Active = t.product.Active
		}
		if err := s.kills.Add(s.c.Model, a); err != nil {
			return 0, err
		}
	}
	var err error
	if s.ends, err = cloud.Endings(s.climate, to, s.kills, s.ends); err != nil {
		return 0, err
	}
	return mean(s.ends), nil
}

func mean(all []float64) float64 {
	sum := 0.0
	for _, x := range all {
		sum += x
	}
	return sum / float64(len(all))
}

// found is what a search for a goal came to.
type found struct {
	pace   pace
	n      int // sprays, or rinses without any
	over   int // for the soonest: the day it is over
	chance float64
	utmost float64 // the chance of doing all that may be done, where the target is not reached
	ok     bool    // the target is reached
}

// better reports whether a course reaches the target with fewer than another, or comes
// nearer to it.
func (f found) better(than found) bool {
	switch {
	case f.ok != than.ok:
		return f.ok
	case f.ok:
		return f.n < than.n
	}
	return f.chance > than.chance
}

// step counts progress and looks whether to stop.
func (s *search) step() error {
	s.done++
	if s.done%16 == 0 {
		s.watch.progress(min(s.done, s.of), s.of)
	}
	if s.watch.stopped() {
		return ErrStopped
	}
	return nil
}

// fewest finds the pace that reaches the target with the fewest, the first of them
// in order; or the one with the best chance if none does. Known is a course that
// reaches it, if there is one: only fewer than that are of use.
func (s *search) fewest(paces []pace, known found) (found, error) {
	best, least := found{}, math.MaxInt
	if known.ok {
		least = known.n
	}
	for _, p := range paces {
		if err := s.step(); err != nil {
			return best, err
		}
		s.room = s.lay(p, s.room)
		n := min(number(s.room, s.water), least-1)
		if n < 1 {
			continue
		}
		c, err := s.chance(upTo(s.room, n, s.water), s.sample, s.to)
		if err != nil {
			return best, err
		}
		switch {
		case c >= s.target:
			if best, err = s.least(p, n, c); err != nil {
				return best, err
			}
			least = best.n
		case !best.ok && c > best.chance:
			best = found{pace: p, n: n, chance: c}
		}
	}
	return best, nil
}

// least finds the smallest number that reaches the target; more never does harm.
func (s *search) least(p pace, n int, c float64) (found, error) {
	f := found{pace: p, n: n, chance: c, ok: true}
	for low := 1; low < f.n; {
		mid := (low + f.n) / 2
		c, err := s.chance(upTo(s.room, mid, s.water), s.sample, s.to)
		if err != nil {
			return f, err
		}
		if c >= s.target {
			f.n, f.chance = mid, c
		} else {
			low = mid + 1
		}
	}
	return f, nil
}

// soonest finds the pace with which it is over first, whatever it takes.
func (s *search) soonest(paces []pace) (found, error) {
	best := found{over: s.to + 1}
	for _, p := range paces {
		if err := s.step(); err != nil {
			return best, err
		}
		s.room = s.lay(p, s.room)
		if len(s.room) == 0 {
			continue
		}
		c, err := s.chance(s.room, s.sample, best.over-1)
		if err != nil {
			return best, err
		}
		if c < s.target {
			continue
		}
		over, err := s.overBy(s.room, s.sample, best.over-1)
		if err != nil {
			return best, err
		}
		best = found{pace: p, over: over, chance: c, ok: true}
	}
	if !best.ok {
		return best, nil
	}
	// No more is done than it needs to be over by that day.
	s.room = s.lay(best.pace, s.room)
	for n := number(s.room, s.water); n >= 1; n-- {
		c, err := s.chance(upTo(s.room, n, s.water), s.sample, best.over)
		if err != nil || c < s.target {
			return best, err
		}
		best.n, best.chance = n, c
	}
	return best, nil
}

// overBy is the first day by whose start the target is reached, given that it is
// reached by the last.
func (s *search) overBy(moves []move, cloud *population.Cloud, last int) (int, error) {
	low := s.from + 1
	for low < last { // the chance only grows with the days
		mid := (low + last) / 2
		c, err := s.chance(moves, cloud, mid)
		if err != nil {
			return 0, err
		}
		if c >= s.target {
			last = mid
		} else {
			low = mid + 1
		}
	}
	return last, nil
}
