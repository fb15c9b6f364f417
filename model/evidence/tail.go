package evidence

import "math"

// expect is the mean of a value over a distribution on whole numbers from lo to hi,
// given by the ratio of the chance of k+1 to that of k. It walks outwards from the
// mode and stops where nothing more can be added, so that no factorial is needed
// and nothing overflows. Values must lie in [0, 1]; the result is then good to
// about 1e-16.
func expect(mode, lo, hi int, ratio, value func(k int) float64) float64 {
	const nothing = 1e-22
	mode = min(max(mode, lo), hi)
	total, sum := 1.0, value(mode)
	for k, w := mode, 1.0; k < hi; k++ {
		w *= ratio(k)
		total, sum = total+w, sum+w*value(k+1)
		if w < nothing*total {
			break
		}
	}
	for k, w := mode, 1.0; k > lo; k-- {
		w /= ratio(k - 1)
		total, sum = total+w, sum+w*value(k-1)
		if w < nothing*total {
			break
		}
	}
	return sum / total
}

// binomialFrom is the chance of x or more hits in n tries of chance p.
func binomialFrom(n, x int, p float64) float64 {
	switch {
	case x <= 0:
		return 1
	case x > n || p <= 0:
		return 0
	case p >= 1:
		return 1
	}
	odds := p / (1 - p)
	return expect(int(float64(n+1)*p), 0, n,
		func(k int) float64 { return float64(n-k) / float64(k+1) * odds },
		func(k int) float64 { return indicator(k >= x) })
}

// poissonFrom is the chance of x or more events where mean are expected.
func poissonFrom(x int, mean float64) float64 {
	switch {
	case x <= 0:
		return 1
	case mean <= 0:
		return 0
	}
	return expect(int(mean), 0, math.MaxInt,
		func(k int) float64 { return mean / float64(k+1) },
		func(k int) float64 { return indicator(k >= x) })
}

// missAll is the chance that n of lot units, looked at with an efficacy, show none
// of the infested ones: the mean of (1-efficacy)^K, K hypergeometric.
func missAll(lot, n, infested int, efficacy float64) float64 {
	if efficacy >= 1-slack {
		return missPerfect(lot, n, infested)
	}
	clean := lot - infested
	return expect(int(float64(infested+1)*float64(n+1)/float64(lot+2)), max(0, n-clean), min(infested, n),
		func(k int) float64 {
			return float64(infested-k) * float64(n-k) / (float64(k+1) * float64(clean-n+k+1))
		},
		func(k int) float64 { return math.Pow(1-efficacy, float64(k)) })
}

// missPerfect is missAll when a look never misses.
func missPerfect(lot, n, infested int) float64 {
	if n > lot-infested {
		return 0
	}
	few, many := min(n, infested), max(n, infested)
	p := 1.0
	for i := 0; i < few && p > 1e-300; i++ {
		p *= float64(lot-many-i) / float64(lot-i)
	}
	return p
}

func indicator(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
