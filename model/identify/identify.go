package identify

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"leafturn/model"
)

// ErrInput is returned for what cannot be: a sign both seen and absent, an unknown
// sign or part, a prior that is no chance.
var ErrInput = errors.New("observation out of range")

// Observation is what somebody saw of a plant. A sign in neither set was not looked
// at.
type Observation struct {
	Seen, Absent Set
	Where        []model.Part // the parts at which signs or animals were found
}

func (o *Observation) check() error {
	if o.Seen&o.Absent != 0 || (o.Seen|o.Absent)&^allSigns != 0 || len(o.Where) > len(partColumns) {
		return fmt.Errorf("identify: %w", ErrInput)
	}
	for _, p := range o.Where {
		if p < model.Underside || p > model.LeafStalk {
			return fmt.Errorf("identify: part: %w", ErrInput)
		}
	}
	return nil
}

// Chances is a chance for every cause; they add up to 1.
type Chances [Causes]float64

// CommonPrior is how often we think each cause is behind a plant that somebody
// worries about: judgement, no source.
func CommonPrior() Chances {
	return Chances{Thrips: 0.12, GreenhouseThrips: 0.02, SpiderMite: 0.14, Aphid: 0.09, Mealybug: 0.12, RootMealybug: 0.03,
		Whitefly: 0.06, SoftScale: 0.08, ArmouredScale: 0.04, FungusGnat: 0.12, BudMite: 0.02, ShoreFly: 0.02,
		Water: 0.06, Light: 0.03, Feeding: 0.03, Other: 0.02}
}

func (p *Chances) check() error {
	sum := 0.0
	for _, v := range p {
		if !(v >= 0 && v <= 1e9) {
			return fmt.Errorf("identify: prior: %w", ErrInput)
		}
		sum += v
	}
	if sum <= 0 {
		return fmt.Errorf("identify: prior: %w", ErrInput)
	}
	return nil
}

// kept is the chance that none of these always keeps: the table may be wrong, and
// the pest may not be in it.
const kept = 0.01

// Posterior is the chance of every cause after an observation. The prior may be any
// weights, such as CommonPrior raised for what a neighbouring plant has.
func Posterior(prior Chances, o Observation) (Chances, error) {
	if err := prior.check(); err != nil {
		return Chances{}, err
	}
	if err := o.check(); err != nil {
		return Chances{}, err
	}
	logs := load().weigh(&prior, &o)
	normalise(&logs)
	return logs, nil
}

// weigh adds up the logarithms of prior and likelihood.
func (t *tables) weigh(prior *Chances, o *Observation) (logs Chances) {
	for c := range logs {
		logs[c] = math.Log(prior[c])
	}
	for s := range Sign(NumSigns) {
		switch {
		case o.Seen.Has(s):
			logs.add(&t.seen[s])
		case o.Absent.Has(s):
			logs.add(&t.absent[s])
		}
	}
	// Several parts are one place: their mean counts, not their sum.
	for _, p := range o.Where {
		for c := range logs {
			logs[c] += t.where[c][p] / float64(len(o.Where))
		}
	}
	return logs
}

func (p *Chances) add(q *[Causes]float64) {
	for c := range p {
		p[c] += q[c]
	}
}

// normalise turns logarithms into chances.
func normalise(p *Chances) {
	most, sum := slices.Max(p[:]), 0.0
	for c := range p {
		p[c] = math.Exp(p[c] - most)
		sum += p[c]
	}
	for c := range p {
		p[c] *= (1 - kept) / sum
	}
	p[Other] += kept
}

// Ranked is the causes from the likeliest down.
func (p *Chances) Ranked() []Cause {
	order := make([]Cause, Causes)
	for i := range order {
		order[i] = Cause(i)
	}
	slices.SortStableFunc(order, func(a, b Cause) int { return cmp.Compare(p[b], p[a]) })
	return order
}

// Pest is the chance of a pest of the household's list: both kinds of scale, for
// one, are PestScale. PestUnknown is all that is not on the list.
func (p *Chances) Pest(pest model.Pest) float64 {
	sum := 0.0
	for c, v := range p {
		if Cause(c).Pest() == pest {
			sum += v
		}
	}
	return sum
}

// Reason is what one sign does for a cause: by how many bits it makes it likelier,
// below 0 less likely, than the other causes together.
type Reason struct {
	Sign Sign
	Seen bool
	Bits float64
}

// Why gives the reasons for or against a cause, the weightiest first.
func Why(prior Chances, o Observation, c Cause) ([]Reason, error) {
	if c >= Causes {
		return nil, fmt.Errorf("why: %w", ErrInput)
	}
	if _, err := Posterior(prior, o); err != nil {
		return nil, err
	}
	t := load()
	var all []Reason
	for s := range Sign(NumSigns) {
		if seen := o.Seen.Has(s); seen || o.Absent.Has(s) {
			all = append(all, Reason{s, seen, t.bits(&prior, s, seen, c)})
		}
	}
	slices.SortStableFunc(all, func(a, b Reason) int { return cmp.Compare(math.Abs(b.Bits), math.Abs(a.Bits)) })
	return all, nil
}

// bits compares a cause with the others, weighted by their priors.
func (t *tables) bits(prior *Chances, s Sign, seen bool, c Cause) float64 {
	mine, others, weight := 0.0, 0.0, 0.0
	for d, p := range prior {
		chance := t.cells[s][d].Chance
		if !seen {
			chance = 1 - chance
		}
		if Cause(d) == c {
			mine = chance
		} else {
			others, weight = others+p*chance, weight+p
		}
	}
	if weight == 0 {
		return 0
	}
	return math.Log2(mine * weight / others)
}
