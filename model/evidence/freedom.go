package evidence

import (
	"fmt"
	"math"
)

// Discount is the chance of being clear after a time in which the pest came in
// with a chance.
func Discount(prior, arrival float64) (float64, error) {
	if err := valid(chance("prior", prior), chance("arrival", arrival)); err != nil {
		return 0, fmt.Errorf("discount: %w", err)
	}
	return prior * (1 - arrival), nil
}

// AfterClean is the chance of being clear after a clean round: Bayes' rule, where a
// round of a sensitivity finds what is there, and never what is not.
func AfterClean(prior, sensitivity float64) (float64, error) {
	if err := valid(chance("prior", prior), chance("sensitivity", sensitivity)); err != nil {
		return 0, fmt.Errorf("after a clean round: %w", err)
	}
	return afterClean(prior, sensitivity), nil
}

func afterClean(prior, sensitivity float64) float64 {
	still := 1 - sensitivity*(1-prior) // the chance of a clean round
	if still <= 0 {
		return 0 // prior 0 and sensitivity 1: such a round cannot have been clean
	}
	return min(1, prior/still)
}

// AfterCleanRounds is the chance after each of some clean rounds, with arrivals
// before each.
func AfterCleanRounds(prior, sensitivity, arrival float64, rounds int) ([]float64, error) {
	if err := valid(chance("prior", prior), chance("sensitivity", sensitivity), chance("arrival", arrival),
		whole("rounds", rounds, 0, 100_000)); err != nil {
		return nil, fmt.Errorf("after clean rounds: %w", err)
	}
	chances := make([]float64, rounds)
	for i := range chances {
		prior = afterClean(prior*(1-arrival), sensitivity)
		chances[i] = prior
	}
	return chances, nil
}

// Plateau is the chance of being clear towards which clean rounds lead, and which
// no number of them passes.
func Plateau(sensitivity, arrival float64) (float64, error) {
	if err := valid(share("sensitivity", sensitivity), check{"arrival", arrival, 0, 1 - slack, false}); err != nil {
		return 0, fmt.Errorf("plateau: %w", err)
	}
	return max(0, (1-arrival/sensitivity)/(1-arrival)), nil
}

// NeededSensitivity is what one clean round must have to lift a prior to a target;
// 0 if it is there already.
func NeededSensitivity(prior, target float64) (float64, error) {
	if err := valid(share("prior", prior), sure("target", target)); err != nil {
		return 0, fmt.Errorf("needed sensitivity: %w", err)
	}
	if prior >= target {
		return 0, nil
	}
	return (1 - prior/target) / (1 - prior), nil
}

// Clearing asks how many units a clean round must hold to lift a chance of being
// clear to a target.
type Clearing struct {
	Prior, Arrival  float64
	Target          float64
	Lot             int // or Unbounded
	Level, Efficacy float64
}

// Cleared is the answer: so many units, which give the sensitivity that lifts the
// discounted prior to the target.
type Cleared struct {
	Units       int
	Sensitivity float64
	Discounted  float64
}

// Units is the answer.
func (c Clearing) Units() (Cleared, error) {
	discounted, err := Discount(c.Prior, c.Arrival)
	if err != nil {
		return Cleared{}, fmt.Errorf("units to clear: %w", err)
	}
	need, err := NeededSensitivity(discounted, c.Target)
	if err != nil {
		return Cleared{}, fmt.Errorf("units to clear: %w", err)
	}
	if need == 0 {
		return Cleared{Discounted: discounted}, nil
	}
	n, err := SampleSizeAt(c.Lot, c.Level, c.Efficacy, math.Min(need, 1-slack))
	if err != nil {
		return Cleared{}, fmt.Errorf("units to clear: %w", err)
	}
	return Cleared{n, need, discounted}, nil
}
