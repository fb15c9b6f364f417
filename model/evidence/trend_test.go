package evidence_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/evidence"
)

func series(animals ...int) []evidence.Count {
	var all []evidence.Count
	for i, n := range animals {
		all = append(all, evidence.Count{Day: model.Date(20000 + 7*i), Animals: n, Effort: 1})
	}
	return all
}

func TestTrend(t *testing.T) {
	for name, c := range map[string]struct {
		counts []evidence.Count
		want   evidence.Direction
	}{
		"falls":                    {series(60, 31, 14, 8, 3), evidence.Falling},
		"grows":                    {series(2, 5, 9, 22, 40), evidence.Rising},
		"up and down":              {series(9, 30, 2, 25, 11), evidence.Unclear},
		"gone after the first day": {series(80, 0, 0, 0, 0), evidence.Falling},
		"hardly any animals":       {series(1, 0, 1, 0), evidence.Unclear},
	} {
		t.Run(name, func(t *testing.T) {
			trend, err := evidence.TrendOf(c.counts, 0.8)
			require.NoError(t, err)
			require.Equal(t, c.want, trend.Direction(), "%+v", trend)
			require.Less(t, trend.Interval.Lower, trend.PerDay)
			require.Less(t, trend.PerDay, trend.Interval.Upper)
		})
	}
}

// Twice the leaves with twice the animals is no change.
func TestTrendMindsEffort(t *testing.T) {
	counts := series(20, 40, 80)
	for i := range counts {
		counts[i].Effort = math.Pow(2, float64(i))
	}
	trend, err := evidence.TrendOf(counts, 0.8)
	require.NoError(t, err)
	require.InDelta(t, 0, trend.PerDay, 0.01)
	days, ok := evidence.Trend{PerDay: math.Ln2 / 3}.Doubling()
	require.True(t, ok)
	require.InDelta(t, 3, days, 1e-12)
	_, ok = evidence.Trend{}.Doubling()
	require.False(t, ok)
}

// Student's t for 95 %, by degrees of freedom, from memory of the usual table. The
// interval of a trend is that many standard errors wide on each side.
func TestMemoryStudent(t *testing.T) {
	for df, want := range []float64{1: 12.7062, 4.30265, 3.18245, 2.77645, 2.57058, 2.44691, 2.36462, 2.30600, 2.26216, 2.22814} {
		if df == 0 {
			continue
		}
		t.Run(fmt.Sprintf("table/%d degrees of freedom", df), func(t *testing.T) {
			counts := series(make([]int, df+2)...)
			d := evidence.Design{Columns: 2}
			for i := range counts {
				counts[i].Animals = 5 + 3*(i%2)
				d.Counts = append(d.Counts, counts[i].Animals)
				d.Rows = append(d.Rows, 1, float64(7*i))
			}
			trend, err := evidence.TrendOf(counts, 0.95)
			require.NoError(t, err)
			f, err := evidence.PoissonSteady(d)
			require.NoError(t, err)
			half := (trend.Interval.Upper - trend.Interval.Lower) / 2
			require.InDelta(t, want, half/(f.StdErr[1]*math.Sqrt(trend.Dispersion)), 1e-4)
		})
	}
}

func TestTrendRefuses(t *testing.T) {
	negative, noEffort := series(1, 2, 3), series(1, 2, 3)
	negative[1].Animals, noEffort[2].Effort = -1, 0
	for name, c := range map[string]struct {
		counts []evidence.Count
		level  float64
		err    error
	}{
		"two days":         {series(3, 1), 0.8, evidence.ErrTooFew},
		"no animal at all": {series(0, 0, 0, 0), 0.8, evidence.ErrTooFew},
		"nothing":          {nil, 0.8, evidence.ErrTooFew},
		"negative count":   {negative, 0.8, evidence.ErrInput},
		"no effort":        {noEffort, 0.8, evidence.ErrInput},
		"certainty":        {series(1, 2, 3), 1, evidence.ErrInput},
		"not a number":     {series(1, 2, 3), math.NaN(), evidence.ErrInput},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := evidence.TrendOf(c.counts, c.level)
			require.ErrorIs(t, err, c.err)
		})
	}
}

// Counts are drawn from clumped animals whose true trend is known; the 80 % interval
// must hold it in about 80 % of series. Clumping stays the same over the series only
// as variance to mean, which is what the interval assumes.
func TestTrendCovers(t *testing.T) {
	const runs, slope, k = 1000, -0.03, 8.0
	r := rand.New(rand.NewPCG(7, 11))
	held := 0
	for range runs {
		counts := series(make([]int, 6)...)
		for i := range counts {
			mean := 40 * math.Exp(slope*float64(7*i))
			counts[i].Animals = clumped(r, mean, k)
		}
		trend, err := evidence.TrendOf(counts, 0.8)
		require.NoError(t, err)
		if trend.Interval.Lower <= slope && slope <= trend.Interval.Upper {
			held++
		}
	}
	t.Logf("the 80 %% interval held the trend in %.1f %% of %d series", 100*float64(held)/runs, runs)
	require.InDelta(t, 0.8, float64(held)/runs, 0.1)
}

// clumped draws a negative binomial count as a Poisson one whose mean varies by a
// gamma distribution with a whole shape.
func clumped(r *rand.Rand, mean, k float64) int {
	rate := 0.0
	for range int(k) {
		rate += r.ExpFloat64() * mean / k
	}
	n, at := 0, r.ExpFloat64()
	for ; at < rate; n++ {
		at += r.ExpFloat64()
	}
	return n
}

func TestChangeCovers(t *testing.T) {
	const runs, factor = 1000, 0.3
	r := rand.New(rand.NewPCG(3, 5))
	held := 0
	for range runs {
		before, after := series(make([]int, 4)...), series(make([]int, 4)...)
		for i := range before {
			before[i].Animals, after[i].Animals = 1+clumped(r, 25, 4), clumped(r, 25*factor, 4)
		}
		c, err := evidence.ChangeSince(before, after, 0.8)
		require.NoError(t, err)
		if c.Interval.Lower <= factor && factor <= c.Interval.Upper {
			held++
		}
	}
	t.Logf("the 80 %% interval held the change in %.1f %% of %d pairs", 100*float64(held)/runs, runs)
	require.InDelta(t, 0.8, float64(held)/runs, 0.1)
}

func TestChange(t *testing.T) {
	c, err := evidence.ChangeSince(series(40), series(10), 0.8)
	require.NoError(t, err)
	require.Equal(t, evidence.ByTotals, c.Basis)
	require.InDelta(t, 0.25, c.Factor, 1e-12)
	require.Equal(t, evidence.Falling, c.Direction())

	c, err = evidence.ChangeSince(series(40, 38, 44), series(0, 0, 0), 0.8)
	require.NoError(t, err)
	require.Zero(t, c.Factor)
	require.Zero(t, c.Interval.Lower)
	require.Less(t, c.Interval.Upper, 0.2)

	c, err = evidence.ChangeSince(series(90, 2, 1), series(30, 0, 40), 0.8)
	require.NoError(t, err)
	require.Equal(t, evidence.BySpread, c.Basis)
	require.Equal(t, evidence.Unclear, c.Direction())

	_, err = evidence.ChangeSince(series(0, 0), series(5), 0.8)
	require.ErrorIs(t, err, evidence.ErrTooFew)
	_, err = evidence.ChangeSince(series(5), nil, 0.8)
	require.ErrorIs(t, err, evidence.ErrTooFew)
}

// Without an untreated group nobody gets an efficacy.
func TestJudge(t *testing.T) {
	treated := evidence.Pair{Before: 300, After: 30}
	v, err := evidence.Judge(treated, nil)
	require.NoError(t, err)
	require.Equal(t, evidence.Verdict{Kind: evidence.ChangeOnly, Percent: 90}, v)
	v, err = evidence.Judge(treated, &evidence.Pair{Before: 500, After: 1000})
	require.NoError(t, err)
	require.Equal(t, evidence.Efficacy, v.Kind)
	require.InDelta(t, 95, v.Percent, 1e-9)
	_, err = evidence.Judge(treated, &evidence.Pair{Before: 10})
	require.ErrorIs(t, err, evidence.ErrNoChange)
	_, err = evidence.Judge(evidence.Pair{After: 3}, nil)
	require.ErrorIs(t, err, evidence.ErrTooFew)
}

// Sun-Shepard with a signed change of the untreated is Henderson-Tilton.
func TestSunShepardIsHendersonTilton(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		treated := evidence.Pair{Before: rapid.Float64Range(1, 1e4).Draw(t, "tb"), After: rapid.Float64Range(0, 1e4).Draw(t, "ta")}
		untreated := evidence.Pair{Before: rapid.Float64Range(1, 1e4).Draw(t, "cb"), After: rapid.Float64Range(0.1, 1e4).Draw(t, "ca")}
		want, err := evidence.HendersonTilton(treated, untreated)
		require.NoError(t, err)
		got, err := evidence.SunShepard(100*(1-treated.After/treated.Before), 100*(untreated.After/untreated.Before-1))
		require.NoError(t, err)
		require.InEpsilon(t, want+1e9, got+1e9, 1e-9)
	})
}

func FuzzChange(f *testing.F) {
	f.Add([]byte{9, 1, 0, 3}, 0.8, 1.0)
	f.Fuzz(func(t *testing.T, raw []byte, level, effort float64) {
		var all []evidence.Count
		for i, b := range raw {
			all = append(all, evidence.Count{Day: model.Date(int(b)*i - 50), Animals: int(b) - 2, Effort: effort})
		}
		if trend, err := evidence.TrendOf(all, level); err == nil {
			_, in := trend.Factor(30)
			finite(t, trend.PerDay, trend.Interval.Lower, trend.Interval.Upper, trend.Dispersion, in.Lower, in.Upper)
		}
		if c, err := evidence.ChangeSince(all[:len(all)/2], all[len(all)/2:], level); err == nil {
			finite(t, c.Factor, c.Interval.Lower, c.Interval.Upper, c.Dispersion)
		}
	})
}
