package evidence

import (
	"fmt"
	"math"
)

// Pair is how many animals were counted before and after a treatment on the same
// units with the same care.
type Pair struct {
	Before, After float64
}

func (p Pair) check() error {
	return valid(check{"count before", p.Before, 0, 1e12, false}, check{"count after", p.After, 0, 1e12, false})
}

// Abbott is the efficacy in per cent from counts after a treatment, where treated
// and untreated plants had as many animals before. Below 0 means more than on the
// untreated; it is never cut off at 0.
func Abbott(treatedAfter, untreatedAfter float64) (float64, error) {
	return HendersonTilton(Pair{1, treatedAfter}, Pair{1, untreatedAfter})
}

// AbbottMortality corrects the share of dead animals, 0 to 1, by the share that
// died untreated. It is Schneider-Orelli's formula as well.
func AbbottMortality(treated, untreated float64) (float64, error) {
	if err := valid(chance("treated mortality", treated), chance("untreated mortality", untreated)); err != nil {
		return 0, fmt.Errorf("mortality: %w", err)
	}
	if untreated == 1 {
		return 0, fmt.Errorf("mortality: %w", ErrNoChange)
	}
	return (treated - untreated) / (1 - untreated), nil
}

// SchneiderOrelli is AbbottMortality in per cent.
func SchneiderOrelli(treatedPercent, untreatedPercent float64) (float64, error) {
	m, err := AbbottMortality(treatedPercent/100, untreatedPercent/100)
	return m * 100, err
}

// HendersonTilton is the efficacy in per cent where treated and untreated plants
// did not have as many animals before.
func HendersonTilton(treated, untreated Pair) (float64, error) {
	for _, p := range []Pair{treated, untreated} {
		if err := p.check(); err != nil {
			return 0, fmt.Errorf("efficacy: %w", err)
		}
	}
	if treated.Before == 0 || untreated.Before == 0 || untreated.After == 0 {
		return 0, fmt.Errorf("efficacy: %w", ErrNoChange)
	}
	return 100 * (1 - treated.After/treated.Before*(untreated.Before/untreated.After)), nil
}

// SunShepard is the efficacy in per cent from the per cent of treated animals that
// died and the per cent by which the untreated changed: above 0 they grew.
func SunShepard(treatedMortality, untreatedChange float64) (float64, error) {
	if err := valid(check{"treated mortality", treatedMortality, -1e12, 100, false},
		check{"untreated change", untreatedChange, -100, 1e12, false}); err != nil {
		return 0, fmt.Errorf("efficacy: %w", err)
	}
	if untreatedChange == -100 {
		return 0, fmt.Errorf("efficacy: %w", ErrNoChange)
	}
	return 100 * (treatedMortality + untreatedChange) / (100 + untreatedChange), nil
}

// RepeatedKill is the share killed by some sprays that each kill a share of what is
// there. It is the most that can be hoped for: nothing hatches or breeds between.
func RepeatedKill(perSpray float64, sprays int) (float64, error) {
	if err := valid(chance("kill", perSpray), whole("sprays", sprays, 0, 1000)); err != nil {
		return 0, fmt.Errorf("repeated kill: %w", err)
	}
	return 1 - math.Pow(1-perSpray, float64(sprays)), nil
}
