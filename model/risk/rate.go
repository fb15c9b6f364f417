package risk

import "math"

// Nearness is how near an outbreak is, from far to near.
type Nearness uint8

// The steps.
const (
	NoOutbreak Nearness = 0 // none is open in the household
	Household  Nearness = 1 // one is open at another place
	SamePlace  Nearness = 2 // an affected plant stands at the same place
	Touched    Nearness = 3 // it was handled together with an affected plant
)

// Leaves is how easily a sap feeder gets at the leaves.
type Leaves uint8

// The kinds. Which plants have which is general knowledge (memory), see leaf.go.
const (
	Thick    Leaves = 0
	Ordinary Leaves = 1
	Thin     Leaves = 2
)

// The rates, all our judgement: how likely a pest is to come to a plant in a day by
// nearness, how much a new plant adds, and for how long, and how much leaves and
// weakness multiply both. A plant that nobody looked at for longer than longest is
// as doubtful as can be.
var (
	perDay = [...]float64{NoOutbreak: 0.001, Household: 0.002, SamePlace: 0.015, Touched: 0.03}
	leaves = [...]float64{Thick: 0.6, Ordinary: 1, Thin: 1.5}
)

const (
	longest = 90   // days
	arrival = 0.12 // what a plant adds on the day it comes in
	settled = 60   // days after which coming in no longer counts
	weakest = 1.0  // how much more a plant at its weakest has than a healthy one
)

// Sight is what is known of one plant today.
type Sight struct {
	Unseen int      // days since somebody looked; negative if nobody ever did
	Near   Nearness // to an open outbreak
	In     int      // days since it, or something beside it, came in; negative if that is not known
	Leaves Leaves
	Weak   float64 // 0 healthy to 1 hardly alive
}

// Parts are the sums behind a score, before they are multiplied and turned into a
// chance: what can have come since the last look, and what came in with the plant.
type Parts struct {
	Since, Arrival, Factor float64
}

// Parts takes a sight apart. Values outside their range count as the nearest
// inside it, and a weakness that is no number as healthy.
func (s Sight) Parts() Parts {
	unseen := s.Unseen
	if unseen < 0 || unseen > longest {
		unseen = longest
	}
	near := min(s.Near, Touched)
	p := Parts{Since: perDay[near] * float64(1+unseen), Factor: leaves[min(s.Leaves, Thin)]}
	if s.In >= 0 && s.In < settled {
		p.Arrival = arrival * (1 - float64(s.In)/settled)
	}
	if s.Weak > 0 { // false for NaN
		p.Factor *= 1 + weakest*min(1, s.Weak)
	}
	return p
}

// Score is between 0 and 1.
func (s Sight) Score() float64 {
	p := s.Parts()
	return -math.Expm1(-p.Factor * (p.Since + p.Arrival))
}
