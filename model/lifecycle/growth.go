package lifecycle

import "math"

// Growth is how a population grows once the mix of its ages is steady and
// nothing holds it back.
type Growth struct {
	R          float64 // rate of increase, per day
	Lambda     float64 // factor per day, exp(R)
	Doubling   float64 // days to double, ln 2 / R; +Inf if it does not grow
	R0         float64 // daughters per female in a life
	Generation float64 // mean generation time in days, ln(R0) / R; the mean age of mothers if R is 0
}

// Lambda is the factor per day for a rate of increase per day.
func Lambda(r float64) float64 { return math.Exp(r) }

// Doubling is the time in days to double at a rate of increase, +Inf if the
// population does not grow.
func Doubling(r float64) float64 {
	if !(r > 0) {
		return math.Inf(1)
	}
	return math.Ln2 / r
}

// Increase is the rate of increase per day that a net rate per generation and a
// mean generation time in days amount to.
func Increase(r0, generation float64) float64 { return math.Log(r0) / generation }

// GenerationTime is the mean generation time in days that a net rate and a rate
// of increase amount to.
func GenerationTime(r0, r float64) float64 { return math.Log(r0) / r }

// Growth solves the Euler–Lotka equation at a constant temperature:
//
//	R0 · E[exp(-r·age of mothers)] = 1
//
// Every stage lasts a gamma-distributed time of StageSteps equal steps, so its
// term is (1 + r·days/steps)^-steps; laying goes on at a steady rate from the end
// of the pre-laying time for a time that is gamma-distributed too, whose term
// follows from the same formula. It
// returns ErrNever where the species does not develop.
func (l *Life) Growth(celsius float64) (Growth, error) {
	ages, err := l.ages(celsius)
	if err != nil {
		return Growth{}, err
	}
	r0 := l.young * l.female
	for _, s := range l.survival {
		r0 *= s
	}
	if !(r0 > 0) {
		return Growth{R: math.Inf(-1), Doubling: math.Inf(1)}, nil
	}
	r := ages.solve(math.Log(r0))
	g := Growth{R: r, Lambda: Lambda(r), Doubling: Doubling(r), R0: r0, Generation: ages.mean()}
	if math.Abs(r) > 1e-9 {
		g.Generation = GenerationTime(r0, r)
	}
	return g, nil
}

// ages is the distribution of the age of mothers: some gamma times one after the
// other, then laying.
type ages struct {
	waits  []float64 // days
	steps  int
	laying float64 // days
	final  int     // steps of the laying life
}

func (l *Life) ages(celsius float64) (ages, error) {
	a := ages{waits: make([]float64, 0, l.Stages()+1), steps: l.steps, final: l.lifeSteps}
	for i := range l.Stages() {
		d, err := l.StageDays(i, celsius)
		if err != nil {
			return a, err
		}
		a.waits = append(a.waits, d)
	}
	wait, err := l.PreLaying(celsius)
	if err != nil {
		return a, err
	}
	a.waits = append(a.waits, wait)
	a.laying, err = l.laying.days(celsius)
	return a, err
}

// log is the logarithm of E[exp(-r·age)].
func (a *ages) log(r float64) float64 {
	sum := 0.0
	for _, d := range a.waits {
		k := float64(a.steps)
		sum -= k * math.Log1p(r*d/k)
	}
	k := float64(a.final)
	x := r * a.laying
	if math.Abs(x) < 1e-6 {
		return sum - x*(k+1)/(2*k) // the limit: mean age within the laying life
	}
	return sum + math.Log(-math.Expm1(-k*math.Log1p(x/k))/x)
}

func (a *ages) mean() float64 {
	k := float64(a.final)
	sum := a.laying * (k + 1) / (2 * k)
	for _, d := range a.waits {
		sum += d
	}
	return sum
}

// solve finds r with log(r) = -logR0 by bisection; log falls steadily from +Inf
// at the pole to -Inf.
func (a *ages) solve(logR0 float64) float64 {
	low, high := a.pole(), 1.0
	for a.log(high)+logR0 > 0 {
		high *= 2
	}
	for range 200 {
		mid := (low + high) / 2
		if mid == low || mid == high {
			break
		}
		if a.log(mid)+logR0 > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// pole is the most negative r for which E[exp(-r·age)] is finite.
func (a *ages) pole() float64 {
	p := float64(a.final) / a.laying
	for _, d := range a.waits {
		p = min(p, float64(a.steps)/d)
	}
	return -p * (1 - 1e-12)
}
