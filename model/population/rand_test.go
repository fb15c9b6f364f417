package population_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/population"
)

// The outputs of the generator's authors' program for two seeds, as many public
// implementations print them.
func TestSplitMix64Vectors(t *testing.T) {
	for seed, want := range map[uint64][]uint64{
		0:       {0xe220a8397b1dcdaf, 0x6e789e6aa1b965f4, 0x06c45d188009454f, 0xf88bb8a8724c81ec, 0x1b39896a51a8749b},
		1234567: {6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821},
	} {
		r := population.NewRand(seed)
		for i, w := range want {
			require.Equal(t, w, r.Uint64(), "seed %d, output %d", seed, i)
		}
	}
}

func TestStreamsDiffer(t *testing.T) {
	seen := map[uint64]bool{}
	for seed := range uint64(50) {
		for n := range 50 {
			r := population.Stream(seed, n)
			seen[r.Uint64()] = true
		}
	}
	require.Len(t, seen, 2500)
}

// moments draws often and gives mean and variance.
func moments(n int, draw func() float64) (mean, variance float64) {
	sum, squares := 0.0, 0.0
	for range n {
		x := draw()
		sum += x
		squares += x * x
	}
	mean = sum / float64(n)
	return mean, squares/float64(n) - mean*mean
}

// Means and variances within five standard errors, or one per cent for the
// variance of the normal branch.
func TestDrawsHaveTheRightMoments(t *testing.T) {
	const draws = 200_000
	r := population.NewRand(5)
	for _, mean := range []float64{0.01, 0.7, 5, 19, 40, 3000} {
		m, v := moments(draws, func() float64 { return float64(r.Poisson(mean)) })
		require.InDelta(t, mean, m, 5*math.Sqrt(mean/draws), "Poisson %v", mean)
		require.InEpsilon(t, mean, v, 0.03, "Poisson %v", mean)
	}
	for _, c := range []struct {
		n int32
		p float64
	}{{1, 0.3}, {5, 0.01}, {20, 0.5}, {21, 0.4}, {200, 0.05}, {5000, 0.7}} {
		m, v := moments(draws, func() float64 { return float64(r.Binomial(c.n, c.p)) })
		want := float64(c.n) * c.p * (1 - c.p)
		require.InDelta(t, float64(c.n)*c.p, m, 5*math.Sqrt(want/draws)+0.02, "Binomial %v", c)
		require.InDelta(t, want, v, 0.03*want+0.2, "Binomial %v", c)
	}
	m, v := moments(draws, r.Normal)
	require.InDelta(t, 0, m, 0.012)
	require.InDelta(t, 1, v, 0.02)
}

func TestDrawsAtTheEdges(t *testing.T) {
	r := population.NewRand(1)
	require.Zero(t, r.Poisson(0))
	require.Zero(t, r.Poisson(math.NaN()))
	require.Zero(t, r.Poisson(-3))
	require.Zero(t, r.Binomial(0, 0.5))
	require.Zero(t, r.Binomial(-4, 0.5))
	require.Zero(t, r.Binomial(9, math.NaN()))
	require.EqualValues(t, 9, r.Binomial(9, 1.5))
	for n := int32(1); n < 100; n++ {
		require.LessOrEqual(t, r.Binomial(n, 0.999), n)
	}
}
