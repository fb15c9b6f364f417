package evidence

import (
	"fmt"
	"math"
	"sort"
)

// Unbounded is the lot that is so large that its size does not matter.
const Unbounded = 0

// SampleSize is the smallest number of units of a lot to look at, once each, so
// that a pest on infested of them is found with a confidence: exactly, by the
// hypergeometric distribution. The lot has from 1 to a thousand million units.
func SampleSize(lot, infested int, efficacy, confidence float64) (int, error) {
	if err := lotOK(lot, infested, efficacy, confidence); err != nil {
		return 0, fmt.Errorf("sample size: %w", err)
	}
	most := (1 - confidence) * (1 + slack)
	n := sort.Search(lot+1, func(n int) bool { return missAll(lot, n, infested, efficacy) <= most })
	if n > lot {
		return 0, fmt.Errorf("sample size: %w", ErrUnreachable)
	}
	return n, nil
}

func lotOK(lot, infested int, efficacy, confidence float64) error {
	if infested == 0 { // see Infested
		return ErrUnreachable
	}
	return valid(whole("lot", lot, 1, mostUnits), whole("infested", infested, 1, lot),
		share("efficacy", efficacy), sure("confidence", confidence))
}

// SampleSizeLarge is SampleSize for a lot without bound at a level of infestation:
// the binomial rule.
func SampleSizeLarge(level, efficacy, confidence float64) (int, error) {
	if err := valid(share("level", level), share("efficacy", efficacy), sure("confidence", confidence)); err != nil {
		return 0, fmt.Errorf("large sample size: %w", err)
	}
	hit := level * efficacy
	if hit >= 1 {
		return 1, nil
	}
	n := math.Log(1-confidence) / math.Log1p(-hit)
	if !(n <= mostUnits) {
		return 0, fmt.Errorf("large sample size: %w", ErrUnreachable)
	}
	return max(1, up(n)), nil
}

// SampleSizeNear is the approximation of Cannon (2001) to SampleSize. It asks for
// up to a few units more.
func SampleSizeNear(lot, infested int, efficacy, confidence float64) (int, error) {
	if err := lotOK(lot, infested, efficacy, confidence); err != nil {
		return 0, fmt.Errorf("approximate sample size: %w", err)
	}
	n := up(float64(lot) / efficacy * (1 - math.Pow(1-confidence, 1/float64(infested))))
	if n > lot {
		return 0, fmt.Errorf("approximate sample size: %w", ErrUnreachable)
	}
	return max(1, n), nil
}

// SampleSizeNear1982 is the older approximation of Cannon and Roe (1982), for a
// look that never misses.
func SampleSizeNear1982(lot, infested int, confidence float64) (int, error) {
	if err := lotOK(lot, infested, 1, confidence); err != nil {
		return 0, fmt.Errorf("sample size of 1982: %w", err)
	}
	n := up((1 - math.Pow(1-confidence, 1/float64(infested))) * (float64(lot) - float64(infested-1)/2))
	return min(max(1, n), lot), nil
}

// SampleSizeAt is the approximate sample at a level of infestation: of a lot, with
// the infested units rounded up as the published tables for it do, or of an
// Unbounded one.
func SampleSizeAt(lot int, level, efficacy, confidence float64) (int, error) {
	if lot == Unbounded {
		return SampleSizeLarge(level, efficacy, confidence)
	}
	if err := valid(whole("lot", lot, 1, mostUnits), share("level", level)); err != nil {
		return 0, fmt.Errorf("sample size: %w", err)
	}
	return SampleSizeNear(lot, InfestedUp(lot, level), efficacy, confidence)
}

// TwoStage asks for units in each of some clusters, such as leaves on each of some
// plants.
type TwoStage struct {
	Clusters                                 int     // in the collection
	ClusterLevel, UnitLevel                  float64 // infested share of clusters, and of units in an infested one
	UnitEfficacy                             float64
	ClusterSensitivity, CollectionConfidence float64 // wanted
}

// Sizes is how many clusters to look at, and how many units in each.
func (t TwoStage) Sizes() (clusters, units int, err error) {
	if units, err = SampleSizeLarge(t.UnitLevel, t.UnitEfficacy, t.ClusterSensitivity); err != nil {
		return 0, 0, fmt.Errorf("two stages, units: %w", err)
	}
	if err = valid(share("cluster level", t.ClusterLevel), whole("clusters", t.Clusters, 1, mostUnits)); err != nil {
		return 0, 0, fmt.Errorf("two stages: %w", err)
	}
	infested := Infested(t.Clusters, t.ClusterLevel)
	if clusters, err = SampleSizeNear(t.Clusters, infested, t.ClusterSensitivity, t.CollectionConfidence); err != nil {
		return 0, 0, fmt.Errorf("two stages, clusters: %w", err)
	}
	return clusters, units, nil
}
