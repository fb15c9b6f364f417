package lifecycle_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model/degree"
	"leafturn/model/lifecycle"
	"leafturn/model/refdata"
)

// swing is a climate with a mean that changes with the day and a range.
func swing(mean, amplitude, half float64) lifecycle.Climate {
	return func(day int) (float64, float64) {
		m := mean + amplitude*math.Sin(float64(day)/5)
		return m - half, m + half
	}
}

// TestComputedConstantClimate: a climate that never changes gives the times of
// that temperature, whenever they start.
func TestComputedConstantClimate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := of(t, rapid.SampledFrom(refdata.All).Draw(t, "species"))
		celsius := rapid.Float64Range(14, 28).Draw(t, "celsius")
		start := rapid.Float64Range(0, 30).Draw(t, "start")
		climate := lifecycle.Constant(celsius)
		want, err := l.Immature(celsius)
		require.NoError(t, err)
		got, err := l.Through(0, l.Stages()-1, climate, start, 1000)
		require.NoError(t, err)
		require.InDelta(t, want, got-start, 1e-6)
		want, err = l.Generation(celsius)
		require.NoError(t, err)
		got, err = l.GenerationThrough(climate, start, 1000)
		require.NoError(t, err)
		require.InDelta(t, want, got-start, 1e-6)
	})
}

// TestComputedSwingInsideTheLine: where every moment is between the thresholds
// only the mean counts, so degree-days decide whatever the swing.
func TestComputedSwingInsideTheLine(t *testing.T) {
	l := of(t, refdata.WesternFlowerThrips)
	climate := swing(20, 3, 4)
	end, err := l.Through(0, l.Stages()-1, climate, 0, 100)
	require.NoError(t, err)
	sum := 0.0
	for day := 0; float64(day) < end; day++ {
		low, high := climate(day)
		sum += ((low+high)/2 - 9.5) * math.Min(1, end-float64(day))
	}
	require.InDelta(t, 194, sum, 1e-6)
}

// TestSpansFollowEachOther: going through two spans one after the other ends when
// going through both at once does.
func TestSpansFollowEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := of(t, rapid.SampledFrom(refdata.All).Draw(t, "species"))
		climate := swing(rapid.Float64Range(16, 24).Draw(t, "mean"), 2, rapid.Float64Range(0, 6).Draw(t, "half"))
		cut := rapid.IntRange(0, l.Stages()-2).Draw(t, "cut")
		start := rapid.Float64Range(0, 3).Draw(t, "start")
		middle, err := l.Through(0, cut, climate, start, 900)
		require.NoError(t, err)
		two, err := l.Through(cut+1, l.Stages()-1, climate, middle, 900)
		require.NoError(t, err)
		one, err := l.Through(0, l.Stages()-1, climate, start, 900)
		require.NoError(t, err)
		require.InDelta(t, one, two, 1e-6)
		require.Less(t, start, middle)
		require.Less(t, middle, two)
	})
}

func TestThroughRefuses(t *testing.T) {
	l := of(t, refdata.TwoSpottedMite)
	last := l.Stages() - 1
	nan := math.NaN()
	for name, c := range map[string]struct {
		from, to       int
		climate        lifecycle.Climate
		start, horizon float64
		want           error
	}{
		"too cold for ever":     {0, last, lifecycle.Constant(5), 0, 100, lifecycle.ErrNever},
		"too hot all day":       {0, last, lifecycle.Constant(41), 0, 100, lifecycle.ErrNever},
		"not within horizon":    {0, last, lifecycle.Constant(20), 0, 10, lifecycle.ErrNever},
		"no horizon":            {0, last, lifecycle.Constant(20), 0, 0, lifecycle.ErrNever},
		"a start before day 0":  {0, last, lifecycle.Constant(20), -1, 10, lifecycle.ErrNever},
		"no start":              {0, last, lifecycle.Constant(20), nan, 10, lifecycle.ErrNever},
		"horizon not a number":  {0, last, lifecycle.Constant(20), 0, nan, lifecycle.ErrNever},
		"horizon of a lifetime": {0, last, lifecycle.Constant(20), 0, 1e6, lifecycle.ErrNever},
		"span backwards":        {2, 1, lifecycle.Constant(20), 0, 100, lifecycle.ErrStage},
		"no such stage":         {0, 9, lifecycle.Constant(20), 0, 100, lifecycle.ErrStage},
		"readings missing":      {0, last, func(int) (float64, float64) { return nan, nan }, 0, 100, degree.ErrTemperature},
		"readings upside down":  {0, last, func(int) (float64, float64) { return 22, 18 }, 0, 100, degree.ErrOrder},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := l.Through(c.from, c.to, c.climate, c.start, c.horizon)
			require.ErrorIs(t, err, c.want)
			require.Zero(t, got)
		})
	}
	hot, err := l.Through(0, last, func(int) (float64, float64) { return 24, 41 }, 0, 100)
	require.NoError(t, err, "a hot hour of the day is not a hot day")
	require.Positive(t, hot)
}

// FuzzThrough: whatever the climate, the answer is an error or a later moment
// within the horizon.
func FuzzThrough(f *testing.F) {
	f.Add(uint8(1), 20.0, 3.0, 4.0, 0.0, 60.0)
	f.Add(uint8(10), 12.0, 8.0, 0.0, 2.5, 400.0)
	f.Add(uint8(7), 33.0, 5.0, 9.0, 0.999, 3650.0)
	f.Fuzz(func(t *testing.T, species uint8, mean, amplitude, half, start, horizon float64) {
		l, err := lifecycle.Of(refdata.Species(species))
		if err != nil {
			return
		}
		end, err := l.GenerationThrough(swing(mean, amplitude, half), start, horizon)
		if err != nil {
			require.Zero(t, end)
			return
		}
		require.Greater(t, end, start)
		require.LessOrEqual(t, end, start+horizon)
	})
}

// FuzzTimes: never a NaN, never a time that is not positive.
func FuzzTimes(f *testing.F) {
	f.Add(uint8(1), 20.0, 1.0)
	f.Add(uint8(8), 4.0000001, 0.7)
	f.Add(uint8(14), 34.9, 1.3)
	f.Add(uint8(10), 12.6125, 8.5) // nearly never: adult in time, first egg not
	f.Fuzz(func(t *testing.T, species uint8, celsius, factor float64) {
		l, err := lifecycle.Of(refdata.Species(species))
		if err != nil {
			return
		}
		if l, err = l.OnHost(factor); err != nil {
			return
		}
		for _, ask := range []func(float64) (float64, error){l.Immature, l.PreLaying, l.Generation, l.AdultDays} {
			if d, err := ask(celsius); err != nil {
				require.Zero(t, d)
			} else {
				require.Positive(t, d)
				require.False(t, math.IsInf(d, 0))
			}
		}
		if g, err := l.Growth(celsius); err == nil {
			for _, x := range []float64{g.R, g.Lambda, g.Doubling, g.R0, g.Generation} {
				require.False(t, math.IsNaN(x), "%+v", g)
			}
			require.Positive(t, g.Generation)
		}
	})
}

func BenchmarkGrowth(b *testing.B) {
	l := of(b, refdata.WesternFlowerThrips)
	b.ReportAllocs()
	for b.Loop() {
		_, _ = l.Growth(22)
	}
}

func BenchmarkDayRate(b *testing.B) {
	l := of(b, refdata.WesternFlowerThrips)
	b.ReportAllocs()
	for b.Loop() {
		_, _ = l.DayRate(0, 17, 24)
	}
}

func BenchmarkGenerationThrough(b *testing.B) {
	l := of(b, refdata.CitrusMealybug)
	climate := swing(20, 3, 4)
	b.ReportAllocs()
	for b.Loop() {
		_, _ = l.GenerationThrough(climate, 0, 200)
	}
}
