package population

import "math"

// ender works out the chance that a lineage dies out, without drawing anything.
//
// Without crowding the animals are a branching process: what one's young do does
// not depend on the others. Let f(i) be the chance that an animal in box i at the
// start of a day, and all its descendants, are gone by the horizon. Going back one
// day, with g the same after the day's laying,
//
//	g(i) = p(dies) + sum over boxes j of p(i goes to j) f(j),
//	f(i) = kill + (1 - kill) g(i) exp(births (g(0) - 1)),
//
// the last factor for laying adults only: births are Poisson, each begins in box 0.
// At the horizon f is 0 for the living. The whole plant is rid of the pest with
// chance f(1)^n(1) f(2)^n(2) ….
type ender struct {
	f, g [maxBoxes + 1]float64
}

// back goes back from the start of day `to` to the start of day `from`.
func (e *ender) back(w *Climate, x *Member, from, to int, kills *Kills) {
	m := w.model
	for d := to - 1; d >= from; d-- {
		e.moved(w, int(x.variant), d)
		births := w.lay[int(w.kindOf[d])*m.variants()+int(x.variant)] * x.fertile
		laid := math.Exp(births * (e.g[0] - 1))
		row := kills.row(d)
		for i := range m.stages {
			s, kill := &m.stages[i], 0.0
			if row != nil {
				kill = row[i].at(x.skill)
			}
			factor := 1 - kill
			if s.laying {
				factor *= laid
			}
			for j := s.start; j < s.start+s.boxes; j++ {
				e.f[j] = kill + factor*e.g[j]
			}
		}
	}
}

// moved makes g of f.
func (e *ender) moved(w *Climate, variant, d int) {
	m := w.model
	n := len(m.stages)
	at := (int(w.kindOf[d])*m.variants() + variant) * n
	shifts := w.shiftsOf(d, variant)
	var ahead [maxBoxes + overs + fates]float64
	for i := range m.stages {
		s, f := &m.stages[i], &w.fates[at+i]
		step := int(shifts[s.clock])
		end := s.start + s.boxes
		reach := end + step + f.last
		for j := s.start; j < reach; j++ {
			if j < end {
				ahead[j] = e.f[j]
			} else {
				ahead[j] = e.f[f.over[d&(offsets-1)][min(j-end, overs-1)]]
			}
		}
		p := f.p[1 : f.last+1]
		for j := s.start; j < end; j++ {
			sum := f.p[0]
			row := ahead[j+step:][:len(p)]
			for k, q := range p {
				sum += q * row[k]
			}
			e.g[j] = sum
		}
	}
}

// start is the horizon: the living are not gone, the dead are.
func (e *ender) start(m *Model) {
	e.f = [maxBoxes + 1]float64{}
	e.f[maxBoxes] = 1
}

// chance is that all of a member's animals end.
func (e *ender) chance(m *Model, x *Member) float64 {
	log := 0.0
	for i, n := range x.boxes[:m.size] {
		if n > 0 {
			log += float64(n) * math.Log(max(e.f[i], 1e-300))
		}
	}
	return math.Exp(log)
}

// Ending is the chance, averaged over the cloud, that all animals now on the plant
// and all their descendants are gone by the start of day to. Newcomers from outside
// are not reckoned with: no treatment ends those.
func (c *Cloud) Ending(w *Climate, to int, kills *Kills) (float64, error) {
	all, err := c.Endings(w, to, kills, nil)
	if err != nil {
		return 0, err
	}
	sum := 0.0
	for _, p := range all {
		sum += p
	}
	return sum / float64(len(all)), nil
}

// Endings is the same for each member, into a slice that is used again if it is
// long enough.
func (c *Cloud) Endings(w *Climate, to int, kills *Kills, into []float64) ([]float64, error) {
	if err := c.check(w, to, 0); err != nil {
		return nil, err
	}
	into = into[:0]
	var e ender
	for i := range c.members {
		x := &c.members[i]
		e.start(c.model)
		e.back(w, x, c.day, to, kills)
		into = append(into, e.chance(c.model, x))
	}
	return into, nil
}
