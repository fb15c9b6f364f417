package evidence

import (
	"fmt"
	"math"
)

// Sensitivity is the chance that n units of a lot without bound show a pest at a
// level of infestation.
func Sensitivity(n int, level, efficacy float64) (float64, error) {
	if err := valid(whole("n", n, 0, mostUnits), share("level", level), share("efficacy", efficacy)); err != nil {
		return 0, fmt.Errorf("sensitivity: %w", err)
	}
	return 1 - math.Pow(1-level*efficacy, float64(n)), nil
}

// SensitivityOf is the chance that n units of a lot show a pest that is on infested
// of them, by the approximation that belongs to SampleSizeNear. With n equal to the
// lot it is exact.
func SensitivityOf(lot, n, infested int, efficacy float64) (float64, error) {
	if err := valid(whole("lot", lot, 1, mostUnits), whole("n", n, 0, lot), whole("infested", infested, 1, lot),
		share("efficacy", efficacy)); err != nil {
		return 0, fmt.Errorf("sensitivity: %w", err)
	}
	return 1 - math.Pow(1-efficacy*float64(n)/float64(lot), float64(infested)), nil
}

// SensitivityExact is the same, exactly.
func SensitivityExact(lot, n, infested int, efficacy float64) (float64, error) {
	if _, err := SensitivityOf(lot, n, infested, efficacy); err != nil {
		return 0, err
	}
	return 1 - missAll(lot, n, infested, efficacy), nil
}

// Looked is a number of units that were looked at with one efficacy.
type Looked struct {
	Units    int
	Efficacy float64
}

// SensitivityMixed is SensitivityOf for units that were looked at with different
// efficacies, by their mean.
func SensitivityMixed(lot, infested int, looked []Looked) (float64, error) {
	if err := valid(whole("lot", lot, 1, mostUnits), whole("infested", infested, 1, lot)); err != nil {
		return 0, fmt.Errorf("mixed sensitivity: %w", err)
	}
	left, hits := lot, 0.0
	for _, l := range looked {
		if err := valid(whole("units", l.Units, 0, left), chance("efficacy", l.Efficacy)); err != nil {
			return 0, fmt.Errorf("mixed sensitivity: %w", err)
		}
		left -= l.Units
		hits += float64(l.Units) * l.Efficacy
	}
	return 1 - math.Pow(max(0, 1-hits/float64(lot)), float64(infested)), nil
}

// AnyFinds is the chance that at least one of some independent looks at one unit
// finds the pest on it.
func AnyFinds(efficacies ...float64) (float64, error) {
	miss := 1.0
	for _, e := range efficacies {
		if err := valid(chance("efficacy", e)); err != nil {
			return 0, fmt.Errorf("any finds: %w", err)
		}
		miss *= 1 - e
	}
	return 1 - miss, nil
}

// AllFind is the chance that every one of some independent looks finds it.
func AllFind(efficacies ...float64) (float64, error) {
	hit := 1.0
	for _, e := range efficacies {
		if err := valid(chance("efficacy", e)); err != nil {
			return 0, fmt.Errorf("all find: %w", err)
		}
		hit *= e
	}
	return hit, nil
}

// HighestLevel is the level of infestation that n clean units of a lot, or of an
// Unbounded one, still allow at a confidence. Of a lot it is a share of its units,
// not rounded to whole ones; it never exceeds 1.
func HighestLevel(lot, n int, efficacy, confidence float64) (float64, error) {
	most := lot
	if lot == Unbounded {
		most = mostUnits
	}
	if err := valid(whole("lot", lot, 0, mostUnits), whole("n", n, 1, most), share("efficacy", efficacy), sure("confidence", confidence)); err != nil {
		return 0, fmt.Errorf("highest level: %w", err)
	}
	if lot == Unbounded {
		return min(1, (1-math.Pow(1-confidence, 1/float64(n)))/efficacy), nil
	}
	miss := 1 - efficacy*float64(n)/float64(lot)
	if miss <= 0 {
		return 0, nil
	}
	return min(1, math.Log(1-confidence)/math.Log(miss)/float64(lot)), nil
}

// NoFalseAlarm is the chance that n clean units raise no alarm when each does so
// rightly with a specificity.
func NoFalseAlarm(n int, specificity float64) (float64, error) {
	if err := valid(whole("n", n, 0, mostUnits), chance("specificity", specificity)); err != nil {
		return 0, fmt.Errorf("no false alarm: %w", err)
	}
	return math.Pow(specificity, float64(n)), nil
}

// SensitivityFrom is the chance that n units of a lot without bound raise alarm at
// least so many times, when alarms may be false.
func SensitivityFrom(alarms, n int, level, efficacy, specificity float64) (float64, error) {
	if err := valid(whole("n", n, 0, mostUnits), whole("alarms", alarms, 0, mostUnits), chance("level", level),
		chance("efficacy", efficacy), chance("specificity", specificity)); err != nil {
		return 0, fmt.Errorf("sensitivity with false alarms: %w", err)
	}
	return binomialFrom(n, alarms, level*efficacy+(1-level)*(1-specificity)), nil
}

// Stratum is a part of a lot that is more or less at risk than the rest, such as
// newly arrived plants.
type Stratum struct {
	Risk  float64 // how many times as likely to be infested as the part of least risk
	Share float64 // of the lot; all shares together are 1
	Units int     // looked at
}

// AdjustRisk gives each stratum's risk against the mean of the whole lot.
func AdjustRisk(strata []Stratum) ([]float64, error) {
	mean, total := 0.0, 0.0
	for _, s := range strata {
		if err := valid(check{"risk", s.Risk, 0, 1e9, true}, chance("share", s.Share), whole("units", s.Units, 0, mostUnits)); err != nil {
			return nil, fmt.Errorf("adjust risk: %w", err)
		}
		mean += s.Risk * s.Share
		total += s.Share
	}
	if err := valid(check{"sum of shares", total, 1 - 1e-6, 1 + 1e-6, false}); err != nil {
		return nil, fmt.Errorf("adjust risk: %w", err)
	}
	adjusted := make([]float64, len(strata))
	for i, s := range strata {
		adjusted[i] = s.Risk / mean
	}
	return adjusted, nil
}

// SensitivityByRisk is Sensitivity for units drawn from strata of different risk.
// The level is that of the whole lot; no stratum's exceeds 1.
func SensitivityByRisk(level, efficacy float64, strata []Stratum) (float64, error) {
	if err := valid(share("level", level), share("efficacy", efficacy)); err != nil {
		return 0, fmt.Errorf("sensitivity by risk: %w", err)
	}
	risks, err := AdjustRisk(strata)
	if err != nil {
		return 0, fmt.Errorf("sensitivity by risk: %w", err)
	}
	miss := 1.0
	for i, s := range strata {
		miss *= math.Pow(1-efficacy*min(1, level*risks[i]), float64(s.Units))
	}
	return 1 - miss, nil
}
