package plan

import "leafturn/model"

// What the search tries: days to wait before the first treatment, and how long the
// gaps are against the time for which the young can be reached. Of paces with as
// many sprays the first is taken.
var (
	starts  = []int{0, 3}
	factors = []float64{1, 0.7, 0.5, 0.35, 0.2, 1.5}
)

// leastGap is the fewest days between two treatments of the leaves, whatever a label
// allows: the effect of the first shows after two or three (UKENT).
const leastGap = 2

// paces are all that are tried with tools up to a rung, gentle ones first.
func (s *search) paces(most Rung) []pace {
	var all []pace
	for _, order := range s.orders(most) {
		for _, soil := range s.soils(most, order) {
			for _, m := range s.modes() {
				for _, f := range factors {
					for _, start := range starts {
						all = append(all, pace{start, f, order, soil, m})
					}
				}
			}
		}
	}
	return append(all, s.only(most)...)
}

// bare are those with water only.
func (s *search) bare() []pace {
	if s.c.Wishes.NoRinsing {
		return nil
	}
	var all []pace
	for _, f := range []float64{1, 0.7, 0.5, 0.35, 0.2} {
		for _, start := range starts {
			all = append(all, pace{start, f, none, -1, dry})
		}
	}
	return all
}

var none = [3]int8{-1, -1, -1}

func (s *search) modes() []mode {
	if s.c.Wishes.NoRinsing {
		return []mode{dry}
	}
	return []mode{dry, between, both}
}

// orders are the ways to choose and order up to three tools that a course on the
// leaves can be built on.
func (s *search) orders(most Rung) [][3]int8 {
	var lead []int8
	for i := range s.tools[:s.water] {
		if t := &s.tools[i]; s.c.leads(t) && RungOf(t.means) <= most {
			lead = append(lead, int8(i))
		}
	}
	var all [][3]int8
	for _, a := range lead {
		all = append(all, [3]int8{a, -1, -1})
	}
	for _, a := range lead {
		for _, b := range lead {
			if a != b {
				all = append(all, [3]int8{a, b, -1})
			}
		}
	}
	for i := 0; i+2 < len(lead); i++ { // three only in the order of their rungs
		all = append(all, [3]int8{lead[i], lead[i+1], lead[i+2]})
	}
	return all
}

// soils are the tools for the mix that go with an order, none first.
func (s *search) soils(most Rung, order [3]int8) []int8 {
	all := []int8{-1}
	for i := range s.tools[:s.water] {
		t := &s.tools[i]
		if RungOf(t.means) > most || int8(i) == order[0] || int8(i) == order[1] || int8(i) == order[2] {
			continue
		}
		systemic := t.means == model.MeansSystemicSoil
		if systemic || t.means == model.MeansSoilDrench && s.c.Model.Reaches(t.means, model.Resting) {
			all = append(all, int8(i))
		}
	}
	return all
}

// only are the paces of a systemic alone.
func (s *search) only(most Rung) []pace {
	var all []pace
	for _, soil := range s.soils(most, none) {
		if soil >= 0 {
			all = append(all, pace{0, 1, none, soil, dry})
		}
	}
	return all
}
