package evidence

import (
	"fmt"
	"math"
)

// Interval holds a true value with a stated confidence.
type Interval struct {
	Lower, Upper float64
}

func sharesOK(what string, x, n int, level float64) error {
	if err := valid(whole("n", n, 1, mostUnits), whole("x", x, 0, n), sure("level", level)); err != nil {
		return fmt.Errorf("%s interval: %w", what, err)
	}
	return nil
}

// Wilson is the score interval of a share, x of n, at a level such as 0.95.
func Wilson(x, n int, level float64) (Interval, error) {
	if err := sharesOK("wilson", x, n, level); err != nil {
		return Interval{}, err
	}
	centre, half, _ := score(x, n, level)
	return Interval{max(0, centre-half), min(1, centre+half)}, nil
}

// score gives the centre and half width of Wilson's interval, and the tries plus
// the pseudo-tries that pull the centre inwards.
func score(x, n int, level float64) (centre, half, tries float64) {
	z := normalBoth(level)
	hits := float64(x)
	tries = float64(n) + z*z
	centre = (hits + z*z/2) / tries
	half = z / tries * math.Sqrt(hits*(float64(n)-hits)/float64(n)+z*z/4)
	return centre, half, tries
}

// AgrestiCoull is the interval that adds pseudo-tries and then takes the plain
// standard error.
func AgrestiCoull(x, n int, level float64) (Interval, error) {
	if err := sharesOK("agresti-coull", x, n, level); err != nil {
		return Interval{}, err
	}
	centre, _, tries := score(x, n, level)
	half := normalBoth(level) * math.Sqrt(centre*(1-centre)/tries)
	return Interval{max(0, centre-half), min(1, centre+half)}, nil
}

// ClopperPearson is the exact interval: the shares at which x or more, and x or
// fewer, would each be seen with half of what the level leaves.
func ClopperPearson(x, n int, level float64) (Interval, error) {
	if err := sharesOK("clopper-pearson", x, n, level); err != nil {
		return Interval{}, err
	}
	return clopperPearson(x, n, level), nil
}

func clopperPearson(x, n int, level float64) Interval {
	tail := (1 - level) / 2
	in := Interval{0, 1}
	if x > 0 {
		in.Lower = solve(0, 1, func(p float64) bool { return binomialFrom(n, x, p) < tail })
	}
	if x < n {
		in.Upper = solve(0, 1, func(p float64) bool { return 1-binomialFrom(n, x+1, p) > tail })
	}
	return in
}

// ZeroUpper is the highest share that n tries without a hit still allow, one-sided.
// For 0.95 it is about 3/n.
func ZeroUpper(n int, confidence float64) (float64, error) {
	if err := valid(whole("n", n, 1, mostUnits), sure("confidence", confidence)); err != nil {
		return 0, fmt.Errorf("upper bound at zero: %w", err)
	}
	return -math.Expm1(math.Log1p(-confidence) / float64(n)), nil
}

// PoissonRate is the exact interval of a rate: events seen in an exposure, such as
// insects on cards in card-days.
func PoissonRate(events int, exposure, level float64) (rate float64, in Interval, err error) {
	if err := valid(whole("events", events, 0, 100_000_000), check{"exposure", exposure, 0, 1e12, true}, sure("level", level)); err != nil {
		return 0, Interval{}, fmt.Errorf("poisson rate: %w", err)
	}
	tail := (1 - level) / 2
	high := 2*float64(events) + 50
	if events > 0 {
		in.Lower = solve(0, high, func(m float64) bool { return poissonFrom(events, m) < tail }) / exposure
	}
	in.Upper = solve(0, high, func(m float64) bool { return 1-poissonFrom(events+1, m) > tail }) / exposure
	return float64(events) / exposure, in, nil
}
