package evidence

import "math"

func (s *solver) result() Fit {
	p := s.d.Columns
	f := Fit{
		Coef: append([]float64(nil), s.coef...), StdErr: make([]float64, p),
		Deviance: s.deviance(), LogLikelihood: s.logLikelihood(), Pearson: s.pearson(),
		DF: len(s.mu) - p, Theta: s.theta,
	}
	for a := range p {
		unit := make([]float64, p)
		unit[a] = 1
		forward(s.gram, unit, p)
		for _, v := range unit {
			f.StdErr[a] += v * v
		}
		f.StdErr[a] = math.Sqrt(f.StdErr[a])
	}
	return f
}

func (s *solver) deviance() float64 {
	sum := 0.0
	for i, n := range s.d.Counts {
		y, mu := float64(n), s.mu[i]
		if n > 0 {
			sum += y * math.Log(y/mu)
		}
		if s.theta == 0 {
			sum -= y - mu
		} else {
			sum -= (y + s.theta) * math.Log((y+s.theta)/(mu+s.theta))
		}
	}
	return 2 * sum
}

func (s *solver) pearson() float64 {
	sum := 0.0
	for i, n := range s.d.Counts {
		mu, variance := s.mu[i], s.mu[i]
		if s.theta > 0 {
			variance += mu * mu / s.theta
		}
		sum += (float64(n) - mu) * (float64(n) - mu) / variance
	}
	return sum
}

func (s *solver) logLikelihood() float64 {
	sum := 0.0
	for i, n := range s.d.Counts {
		y, mu := float64(n), s.mu[i]
		factorial, _ := math.Lgamma(y + 1)
		sum += y*math.Log(mu) - factorial
		if s.theta == 0 {
			sum -= mu
			continue
		}
		for j := range n {
			sum += math.Log(s.theta + float64(j))
		}
		sum += s.theta*math.Log(s.theta/(s.theta+mu)) - y*math.Log(s.theta+mu)
	}
	return sum
}

// factor turns the lower half of a symmetric matrix into its Cholesky factor, and
// reports whether it has one: columns that say the same have none.
func factor(m []float64, p int) bool {
	for a := range p {
		full := m[a*p+a]
		for b := 0; b <= a; b++ {
			sum := m[a*p+b]
			for k := range b {
				sum -= m[a*p+k] * m[b*p+k]
			}
			if a != b {
				m[a*p+b] = sum / m[b*p+b]
			} else if sum > 1e-11*full {
				m[a*p+a] = math.Sqrt(sum)
			} else {
				return false
			}
		}
	}
	return true
}

// forward solves factor x = v in place.
func forward(l, v []float64, p int) {
	for a := range p {
		for k := range a {
			v[a] -= l[a*p+k] * v[k]
		}
		v[a] /= l[a*p+a]
	}
}

// solveFactor solves factor factorᵀ x = v in place.
func solveFactor(l, v []float64, p int) {
	forward(l, v, p)
	for a := p - 1; a >= 0; a-- {
		for k := a + 1; k < p; k++ {
			v[a] -= l[k*p+a] * v[k]
		}
		v[a] /= l[a*p+a]
	}
}
