package evidence

import "math"

// Quantiles are found from their definition: the point at which an exact chance
// reaches a value. The chances are finite sums (tail.go, studentWithin), so no
// approximation formula is involved; math.Erfinv is the standard library's.

// normalBoth is how many standard deviations on both sides hold a level of a
// normal distribution: 1.96 for 0.95.
func normalBoth(level float64) float64 { return math.Sqrt2 * math.Erfinv(level) }

// studentBoth is the same for Student's t with whole degrees of freedom.
func studentBoth(level float64, df int) float64 {
	high := 1.0
	for studentWithin(high, df) < level && high < 1e12 {
		high *= 2
	}
	return solve(0, high, func(t float64) bool { return studentWithin(t, df) < level })
}

// studentWithin is the chance that Student's t lies within -t and t. For whole
// degrees of freedom it is a finite sum (Abramowitz and Stegun, 26.7.3 and 26.7.4,
// cited from memory).
func studentWithin(t float64, df int) float64 {
	angle := math.Atan(t / math.Sqrt(float64(df)))
	sin, cos := math.Sincos(angle)
	sum, term, first := 0.0, 1.0, 2
	if df%2 == 1 {
		term, first = cos, 3
	}
	for k := first; k <= df; k += 2 {
		sum += term
		term *= cos * cos * float64(k-1) / float64(k)
	}
	if df%2 == 1 {
		return 2 / math.Pi * (angle + sin*sum)
	}
	return sin * sum
}

// solve finds where below turns from true to false between low and high.
func solve(low, high float64, below func(x float64) bool) float64 {
	for range 200 {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			break
		}
		if below(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low + (high-low)/2
}
