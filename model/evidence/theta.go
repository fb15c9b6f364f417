package evidence

import (
	"fmt"
	"math"
)

// NegativeBinomialML fits the coefficients and theta by maximum likelihood. Where
// counts spread no more than Poisson's, there is no such theta, and the Poisson fit
// is returned with Theta 0.
func NegativeBinomialML(d Design) (Fit, error) {
	if err := d.check(); err != nil {
		return Fit{}, fmt.Errorf("fit: %w", err)
	}
	s := newSolver(&d, 0, false)
	if !s.run() {
		return Fit{}, fmt.Errorf("fit: %w", ErrNoFit)
	}
	poisson := s.result()
	last := math.Inf(-1)
	for range steps {
		theta, ok := likelyTheta(d.Counts, s.mu)
		if !ok {
			return poisson, nil
		}
		s.theta = theta
		if !s.run() {
			return Fit{}, fmt.Errorf("fit: %w", ErrNoFit)
		}
		now := s.logLikelihood()
		if now-last < 1e-10*math.Abs(now) {
			break
		}
		last = now
	}
	f := s.result()
	_, curve := thetaSlopes(d.Counts, s.mu, s.theta)
	f.ThetaStdErr = 1 / math.Sqrt(curve)
	return f, nil
}

// likelyTheta is the theta of greatest likelihood for given means. With theta
// towards infinity the likelihood becomes Poisson's; then there is none.
func likelyTheta(counts []int, mu []float64) (theta float64, ok bool) {
	const least, most = 1e-6, 1e6
	low, high := math.Log(least), math.Log(most)
	slope := func(at float64) float64 {
		s, _ := thetaSlopes(counts, mu, math.Exp(at))
		return s
	}
	if slope(high) > 0 || slope(low) < 0 {
		return 0, false
	}
	return math.Exp(solve(low, high, func(at float64) bool { return slope(at) > 0 })), true
}

// thetaSlopes gives the slope of the log likelihood in theta and minus its
// curvature. The digamma and trigamma functions enter only as differences over
// whole counts, which are finite sums.
func thetaSlopes(counts []int, mu []float64, theta float64) (slope, curve float64) {
	for i, n := range counts {
		for j := range n {
			r := 1 / (theta + float64(j))
			slope += r
			curve += r * r
		}
		y, sum := float64(n), theta+mu[i]
		slope += math.Log(theta/sum) + 1 - (theta+y)/sum
		curve += -1/theta + 2/sum - (theta+y)/(sum*sum)
	}
	return slope, curve
}

// SpreadK is the k of a negative binomial distribution by its moments: how even
// animals lie, where small means clumped. There is none for a variance that is not
// above the mean.
func SpreadK(mean, variance float64) (k float64, ok bool) {
	if !(mean > 0 && variance > mean && variance < math.Inf(1)) {
		return 0, false
	}
	return mean * mean / (variance - mean), true
}

// Dispersion is the sum of squared distances from the mean, over the mean. Where
// animals lie at random it is near the degrees of freedom.
func Dispersion(counts []int) (sum float64, df int, err error) {
	total := 0
	for _, n := range counts {
		if err := valid(whole("count", n, 0, mostCount)); err != nil {
			return 0, 0, fmt.Errorf("dispersion: %w", err)
		}
		total += n
	}
	if total == 0 || len(counts) < 2 {
		return 0, 0, fmt.Errorf("dispersion: %w", ErrTooFew)
	}
	mean := float64(total) / float64(len(counts))
	for _, n := range counts {
		sum += (float64(n) - mean) * (float64(n) - mean) / mean
	}
	return sum, len(counts) - 1, nil
}
