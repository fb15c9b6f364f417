package main

import (
	"math"
	"math/rand/v2"
	"slices"
)

// pair is what was read and what experts say, in percentage points.
type pair struct{ read, truth float64 }

func mean(of []float64) float64 {
	sum := 0.0
	for _, v := range of {
		sum += v
	}
	return sum / float64(len(of))
}

// quantile is the value that a share of the others fall short of.
func quantile(of []float64, share float64) float64 {
	sorted := slices.Sorted(slices.Values(of))
	return sorted[min(int(share*float64(len(sorted))), len(sorted)-1)]
}

func errorsOf(pairs []pair) []float64 {
	out := make([]float64, len(pairs))
	for i, p := range pairs {
		out[i] = math.Abs(p.read - p.truth)
	}
	return out
}

func meanError(pairs []pair) float64   { return mean(errorsOf(pairs)) }
func medianError(pairs []pair) float64 { return quantile(errorsOf(pairs), 0.5) }

// concordance is Lin's coefficient (1989): correlation, less for every shift and
// every difference of scale.
func concordance(pairs []pair) float64 {
	n := float64(len(pairs))
	var mx, my, xx, yy, xy float64
	for _, p := range pairs {
		mx += p.read / n
		my += p.truth / n
	}
	for _, p := range pairs {
		x, y := p.read-mx, p.truth-my
		xx, yy, xy = xx+x*x/n, yy+y*y/n, xy+x*y/n
	}
	below := xx + yy + (mx-my)*(mx-my)
	if below == 0 {
		return 0
	}
	return 2 * xy / below
}

// interval is the middle 95 per cent of a figure over resamples of the pairs.
func interval(pairs []pair, figure func([]pair) float64) (low, high float64) {
	r := rand.New(rand.NewPCG(1, 2))
	figures := make([]float64, 2000)
	again := make([]pair, len(pairs))
	for i := range figures {
		for j := range again {
			again[j] = pairs[r.IntN(len(pairs))]
		}
		figures[i] = figure(again)
	}
	return quantile(figures, 0.025), quantile(figures, 0.975)
}
