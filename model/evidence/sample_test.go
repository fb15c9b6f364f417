package evidence_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model/evidence"
)

// choose counts draws by hand, for lots so small that all can be counted.
func choose(n, k int) float64 {
	if k < 0 || k > n {
		return 0
	}
	c := 1.0
	for i := range k {
		c = c * float64(n-i) / float64(i+1)
	}
	return c
}

func TestExactSensitivityByCounting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.IntRange(1, 30).Draw(t, "lot")
		d, n := rapid.IntRange(1, lot).Draw(t, "infested"), rapid.IntRange(0, lot).Draw(t, "n")
		e := rapid.Float64Range(0.01, 1).Draw(t, "efficacy")
		miss := 0.0
		for k := 0; k <= min(d, n); k++ {
			miss += choose(d, k) * choose(lot-d, n-k) / choose(lot, n) * math.Pow(1-e, float64(k))
		}
		got, err := evidence.SensitivityExact(lot, n, d, e)
		require.NoError(t, err)
		require.InDelta(t, 1-miss, got, 1e-9)
	})
}

// The sample is the smallest that reaches the confidence.
func TestSampleSizeIsTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.IntRange(1, 3000).Draw(t, "lot")
		d := rapid.IntRange(1, lot).Draw(t, "infested")
		e, c := rapid.Float64Range(0.05, 1).Draw(t, "efficacy"), rapid.Float64Range(0.1, 0.999).Draw(t, "confidence")
		n, err := evidence.SampleSize(lot, d, e, c)
		all, _ := evidence.SensitivityExact(lot, lot, d, e)
		if err != nil {
			require.ErrorIs(t, err, evidence.ErrUnreachable)
			require.Less(t, all, c)
			return
		}
		at, _ := evidence.SensitivityExact(lot, n, d, e)
		require.GreaterOrEqual(t, at, c-2e-9)
		if n > 0 {
			below, _ := evidence.SensitivityExact(lot, n-1, d, e)
			require.Less(t, below, c)
		}
		if near, err := evidence.SampleSizeNear(lot, d, e, c); err == nil && e == 1 {
			require.GreaterOrEqual(t, near, n)
		}
	})
}

// A lot smaller than one over the level has no infested unit at all by the rounding
// rule: no sample proves anything.
func TestSmallLot(t *testing.T) {
	require.Zero(t, evidence.Infested(15, 0.05))
	require.Equal(t, 1, evidence.InfestedUp(15, 0.05))
	require.Equal(t, 10, evidence.Infested(200, 0.05))
	require.Equal(t, 10, evidence.InfestedUp(200, 0.05))
	_, err := evidence.SampleSize(15, evidence.Infested(15, 0.05), 1, 0.95)
	require.ErrorIs(t, err, evidence.ErrUnreachable)
}

// One plant is infested and every plant is looked at with a chance of one half:
// then a clean round is only worth one half.
func TestCleanRoundIsOnlyAsGoodAsTheEyes(t *testing.T) {
	s, err := evidence.SensitivityExact(12, 12, 1, 0.5)
	require.NoError(t, err)
	require.InDelta(t, 0.5, s, 1e-12)
	_, err = evidence.SampleSize(12, 1, 0.5, 0.95)
	require.ErrorIs(t, err, evidence.ErrUnreachable)
}

// An interval holds the share that was seen, grows with its level, and the exact
// one holds the chance that its definition asks for.
func TestIntervals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 400).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		level := rapid.Float64Range(0.3, 0.98).Draw(t, "level")
		for _, of := range []func(x, n int, level float64) (evidence.Interval, error){evidence.Wilson, evidence.AgrestiCoull, evidence.ClopperPearson} {
			in, err := of(x, n, level)
			require.NoError(t, err)
			wide, err := of(x, n, level+0.01)
			require.NoError(t, err)
			seen := float64(x) / float64(n)
			require.True(t, 0 <= in.Lower && in.Lower <= seen+1e-9 && seen <= in.Upper+1e-9 && in.Upper <= 1, "%v %v", in, seen)
			require.True(t, wide.Lower <= in.Lower+1e-12 && in.Upper <= wide.Upper+1e-12)
		}
	})
}

// By symmetry the exact interval of what was not seen mirrors that of what was.
func TestClopperPearsonMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 2000).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		a, err := evidence.ClopperPearson(x, n, 0.9)
		require.NoError(t, err)
		b, err := evidence.ClopperPearson(n-x, n, 0.9)
		require.NoError(t, err)
		require.InDelta(t, a.Lower, 1-b.Upper, 1e-12)
		require.InDelta(t, a.Upper, 1-b.Lower, 1e-12)
	})
}

// With no hit the exact interval has a closed form, and the one-sided bound is its
// upper end at twice the risk.
func TestNoHits(t *testing.T) {
	for _, n := range []int{1, 7, 60, 5000} {
		bound, err := evidence.ZeroUpper(n, 0.95)
		require.NoError(t, err)
		in, err := evidence.ClopperPearson(0, n, 0.9)
		require.NoError(t, err)
		require.InDelta(t, bound, in.Upper, 1e-12)
		_, rate, err := evidence.PoissonRate(0, float64(n), 0.9)
		require.NoError(t, err)
		require.Zero(t, rate.Lower)
		require.InDelta(t, -math.Log(0.05)/float64(n), rate.Upper, 1e-9)
	}
}

func TestTestDecides(t *testing.T) {
	s, err := evidence.NewSequential(0.02, 0.1, 0.05, 0.05)
	require.NoError(t, err)
	n := 0
	for ; s.Add(false) == evidence.GoOn; n++ {
	}
	require.Equal(t, evidence.AcceptLow, s.Decision())
	accept, _, slope := s.Lines()
	require.Equal(t, int(math.Ceil(-accept/slope)), n+1, "the line and the ratio decide alike")
	require.Equal(t, evidence.AcceptLow, s.Add(true), "a decision stands")
	for _, c := range [][4]float64{{0.1, 0.1, 0.05, 0.05}, {0.2, 0.1, 0.05, 0.05}, {0, 0.1, 0.05, 0.05}, {0.1, 1, 0.05, 0.05}, {0.1, 0.2, 0.5, 0.05}, {0.1, 0.2, 0.05, math.NaN()}} {
		_, err := evidence.NewSequential(c[0], c[1], c[2], c[3])
		require.ErrorIs(t, err, evidence.ErrInput)
	}
}

func TestInputErrorNamesTheValue(t *testing.T) {
	_, err := evidence.SampleSize(100, 5, 1.2, 0.95)
	var in *evidence.InputError
	require.ErrorAs(t, err, &in)
	require.Equal(t, "efficacy", in.Name)
	require.InDelta(t, 1.2, in.Value, 0)
}

// Whatever is put in, there is an answer within its range or a typed error.
func FuzzChances(f *testing.F) {
	f.Add(100, 5, 20, 0.8, 0.95, 0.05)
	f.Add(1, 1, 0, 1.0, 0.0, math.NaN())
	f.Fuzz(func(t *testing.T, a, b, c int, x, y, z float64) {
		a, b, c = a%5_000_000, b%5_000_000, c%5_000_000
		within := func(low, high float64) func(v float64, err error) {
			return func(v float64, err error) {
				if err == nil {
					require.True(t, v >= low && v <= high, "%v", v)
					return
				}
				known := false
				for _, e := range []error{evidence.ErrInput, evidence.ErrUnreachable, evidence.ErrNoChange, evidence.ErrTooFew} {
					known = known || errors.Is(err, e)
				}
				require.True(t, known, "%v", err)
			}
		}
		share, size := within(0, 1), within(0, 1e9)
		for _, of := range []func() (int, error){
			func() (int, error) { return evidence.SampleSize(a, b, x, y) },
			func() (int, error) { return evidence.SampleSizeLarge(z, x, y) },
			func() (int, error) { return evidence.SampleSizeNear(a, b, x, y) },
			func() (int, error) { return evidence.SampleSizeNear1982(a, b, y) },
			func() (int, error) { return evidence.SampleSizeAt(a, z, x, y) },
		} {
			n, err := of()
			size(float64(n), err)
		}
		share(evidence.Sensitivity(a, x, y))
		share(evidence.SensitivityOf(a, b, c, x))
		share(evidence.SensitivityExact(a, b, c, x))
		share(evidence.SensitivityMixed(a, b, []evidence.Looked{{c, x}, {b, y}}))
		share(evidence.AnyFinds(x, y, z))
		share(evidence.AllFind(x, y, z))
		share(evidence.HighestLevel(a, b, x, y))
		share(evidence.NoFalseAlarm(a, x))
		share(evidence.SensitivityFrom(a, b, x, y, z))
		share(evidence.SensitivityByRisk(x, y, []evidence.Stratum{{1, z, a}, {5, 1 - z, b}}))
		share(evidence.Discount(x, y))
		share(evidence.AfterClean(x, y))
		share(evidence.Plateau(x, y))
		share(evidence.NeededSensitivity(x, y))
		share(evidence.RepeatedKill(x, a))
		share(evidence.ZeroUpper(a, x))
		within(-math.MaxFloat64, 1)(evidence.AbbottMortality(x, y))
		within(-math.MaxFloat64, 100)(evidence.HendersonTilton(evidence.Pair{Before: x, After: y}, evidence.Pair{Before: z, After: float64(a)}))
		within(-math.MaxFloat64, 100)(evidence.SunShepard(x, y))
		for _, of := range []func(x, n int, level float64) (evidence.Interval, error){evidence.Wilson, evidence.AgrestiCoull, evidence.ClopperPearson} {
			in, err := of(b, a, x)
			share(in.Lower, err)
			share(in.Upper, err)
		}
		rate, in, err := evidence.PoissonRate(a, x, y)
		if err == nil {
			finite(t, rate, in.Lower, in.Upper)
		}
	})
}
