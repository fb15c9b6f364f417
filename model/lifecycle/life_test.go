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

func of(t require.TestingT, s refdata.Species) *lifecycle.Life {
	l, err := lifecycle.Of(s)
	require.NoError(t, err)
	return l
}

// TestComputedGrowth solves the Euler–Lotka equation a second way: a newborn is
// stepped through the chain of its stages in small steps of time and its daughters
// are summed. The error of a step is of first order, so two sizes of step are
// extrapolated.
func TestComputedGrowth(t *testing.T) {
	for i, s := range refdata.All {
		celsius := []float64{17, 21, 25}[i%3]
		t.Run(s.String(), func(t *testing.T) {
			l := of(t, s)
			g, err := l.Growth(celsius)
			require.NoError(t, err)
			coarse, fine := daughters(t, l, celsius, g.R, 4000), daughters(t, l, celsius, g.R, 8000)
			require.InDelta(t, 1, 2*fine-coarse, 0.001)
		})
	}
}

// daughters is the discounted number of a newborn's daughters, with so many steps
// to a generation.
func daughters(t *testing.T, l *lifecycle.Life, celsius, r float64, steps int) float64 {
	t.Helper()
	generation, err := l.Generation(celsius)
	require.NoError(t, err)
	dt := generation / float64(steps)
	var moves []float64 // share of each step of the chain that moves on in dt
	add := func(n int, rate float64) {
		for range n {
			moves = append(moves, -math.Expm1(-rate*float64(n)*dt))
		}
	}
	alive := 1.0
	for stage := range l.Stages() {
		alive *= l.Survival(stage)
		add(l.StageSteps(stage), l.Rate(stage, celsius))
	}
	add(l.StageSteps(0), l.PreLayingRate(celsius))
	laying := len(moves)
	add(l.StageSteps(l.Stages()), l.LayingRate(celsius))
	chain := make([]float64, len(moves)+1)
	chain[0] = alive
	sum, born := 0.0, l.Births(celsius)*l.Female()*dt
	for i := range 6 * steps {
		for j := len(moves) - 1; j >= 0; j-- {
			moved := chain[j] * moves[j]
			chain[j], chain[j+1] = chain[j]-moved, chain[j+1]+moved
		}
		discount := math.Exp(-r * (float64(i) + 0.5) * dt)
		for _, mothers := range chain[laying:len(moves)] {
			sum += mothers * born * discount
		}
	}
	return sum
}

func TestComputedIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := of(t, rapid.SampledFrom(refdata.All).Draw(t, "species"))
		factor := rapid.Float64Range(0.5, 2).Draw(t, "host")
		l, err := l.OnHost(factor)
		require.NoError(t, err)
		g, err := l.Growth(rapid.Float64Range(13, 29).Draw(t, "celsius"))
		require.NoError(t, err)
		require.InDelta(t, math.Exp(g.R), g.Lambda, 1e-12)
		require.InDelta(t, 2, math.Exp(g.R*g.Doubling), 1e-9)
		require.InDelta(t, g.R, lifecycle.Increase(g.R0, g.Generation), 1e-9)
		require.InDelta(t, g.Generation, lifecycle.GenerationTime(g.R0, g.R), 1e-6*g.Generation)
	})
}

func TestGrowthOfAPopulationThatDies(t *testing.T) {
	p, err := refdata.Get(refdata.TwoSpottedMite)
	require.NoError(t, err)
	p.Adult.Young.Central = 1
	g, err := lifecycle.FromProfile(&p).Growth(22)
	require.NoError(t, err)
	require.Negative(t, g.R)
	require.Less(t, g.Lambda, 1.0)
	require.True(t, math.IsInf(g.Doubling, 1))
	require.Positive(t, g.Generation)
	p.Adult.Young.Central = 0
	g, err = lifecycle.FromProfile(&p).Growth(22)
	require.NoError(t, err)
	require.True(t, math.IsInf(g.R, -1))
	require.Zero(t, g.R0)
}

// TestHostsStretchTime: a slow host makes every time longer by its factor, and a
// population's growth slower by the same.
func TestHostsStretchTime(t *testing.T) {
	for _, s := range refdata.All {
		l := of(t, s)
		slow, err := l.OnHost(lifecycle.SlowHost)
		require.NoError(t, err)
		for _, celsius := range []float64{16, 22, 27} {
			a, err := l.Generation(celsius)
			require.NoError(t, err)
			b, err := slow.Generation(celsius)
			require.NoError(t, err)
			require.InDelta(t, a*lifecycle.SlowHost, b, 1e-9)
			ga, err := l.Growth(celsius)
			require.NoError(t, err)
			gb, err := slow.Growth(celsius)
			require.NoError(t, err)
			require.InDelta(t, ga.R/lifecycle.SlowHost, gb.R, 1e-9)
			require.InDelta(t, ga.R0, gb.R0, 1e-9)
		}
		again, err := l.Generation(22)
		require.NoError(t, err)
		require.InDelta(t, again*lifecycle.SlowHost, must(t)(slow.Generation(22)), 1e-9, "the ordinary life is unchanged")
	}
}

func must(t *testing.T) func(float64, error) float64 {
	return func(x float64, err error) float64 {
		t.Helper()
		require.NoError(t, err)
		return x
	}
}

func TestWarmerIsNeverSlower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(refdata.All).Draw(t, "species")
		l := of(t, s)
		a := rapid.Float64Range(12.5, 29.9).Draw(t, "celsius")
		b := min(29.9, a+rapid.Float64Range(0, 5).Draw(t, "warmer"))
		if b >= l.Lethal() {
			return
		}
		cool, err := l.Generation(a)
		require.NoError(t, err)
		warm, err := l.Generation(b)
		require.NoError(t, err)
		require.LessOrEqual(t, warm, cool+1e-9)
	})
}

func TestBandHoldsHostsAndKinds(t *testing.T) {
	ask := func(l *lifecycle.Life) (float64, error) { return l.Immature(22) }
	wft, err := lifecycle.Over(refdata.WesternFlowerThrips, ask)
	require.NoError(t, err)
	require.InDelta(t, wft.Central*lifecycle.FastHost, wft.Low, 1e-9)
	require.InDelta(t, wft.Central*lifecycle.SlowHost, wft.High, 1e-9)
	onion, err := lifecycle.Over(refdata.OnionThrips, ask)
	require.NoError(t, err)
	unknown, err := lifecycle.Over(refdata.ThripsUnknown, ask)
	require.NoError(t, err)
	require.InDelta(t, min(wft.Low, onion.Low), unknown.Low, 1e-9)
	require.InDelta(t, max(wft.High, onion.High), unknown.High, 1e-9)
	require.Greater(t, unknown.Central, wft.Central)
	require.Less(t, unknown.Central, onion.Central)
}

func TestBandPassesErrorsOn(t *testing.T) {
	_, err := lifecycle.Over(0, func(l *lifecycle.Life) (float64, error) { return l.Immature(22) })
	require.ErrorIs(t, err, refdata.ErrSpecies)
	_, err = lifecycle.Over(refdata.FungusGnat, func(l *lifecycle.Life) (float64, error) { return l.Immature(5) })
	require.ErrorIs(t, err, lifecycle.ErrNever)
}

func TestRefuses(t *testing.T) {
	l := of(t, refdata.WesternFlowerThrips)
	nan := math.NaN()
	for name, c := range map[string]struct {
		ask  func() (float64, error)
		want error
	}{
		"too cold":              {func() (float64, error) { return l.Immature(9.5) }, lifecycle.ErrNever},
		"hardly above too cold": {func() (float64, error) { return l.Immature(9.501) }, lifecycle.ErrNever},
		"too hot":               {func() (float64, error) { return l.Immature(35) }, lifecycle.ErrNever},
		"no temperature":        {func() (float64, error) { return l.Immature(nan) }, degree.ErrTemperature},
		"colder than anywhere":  {func() (float64, error) { return l.PreLaying(-100) }, degree.ErrTemperature},
		"hotter than anywhere":  {func() (float64, error) { return l.AdultDays(100) }, degree.ErrTemperature},
		"no such stage":         {func() (float64, error) { return l.StageDays(6, 20) }, lifecycle.ErrStage},
		"a stage before all":    {func() (float64, error) { return l.StageDays(-1, 20) }, lifecycle.ErrStage},
		"a span backwards":      {func() (float64, error) { return l.Span(3, 2, 20) }, lifecycle.ErrStage},
		"a day of no stage":     {func() (float64, error) { return l.DayRate(9, 15, 20) }, lifecycle.ErrStage},
		"a day upside down":     {func() (float64, error) { return l.DayRate(0, 20, 15) }, degree.ErrOrder},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := c.ask()
			require.ErrorIs(t, err, c.want)
			require.Zero(t, got)
		})
	}
	for _, factor := range []float64{0, -1, 0.01, 11, nan, math.Inf(1)} {
		_, err := l.OnHost(factor)
		require.ErrorIs(t, err, lifecycle.ErrHost)
	}
	_, err := lifecycle.Of(99)
	require.ErrorIs(t, err, refdata.ErrSpecies)
	_, err = l.Growth(5)
	require.ErrorIs(t, err, lifecycle.ErrNever)
	require.Zero(t, l.Survival(5))
	require.Zero(t, l.Survival(-1))
}

func TestSteps(t *testing.T) {
	for variation, want := range map[float64]int{0.25: 16, 0.5: 4, 1: 1, 3: 1, 0.01: 100, 0: 1, -1: 1} {
		require.Equal(t, want, lifecycle.Steps(variation), "variation %v", variation)
	}
	require.Equal(t, 1, lifecycle.Steps(math.NaN()))
}

// TestPractice holds the trade's rule of thumb for thrips: about two weeks from
// egg to adult, and adults that live 30 to 45 days. Common practice, no source, at
// ordinary room temperature.
func TestPractice(t *testing.T) {
	t.Run("egg to adult about two weeks", func(t *testing.T) {
		l := of(t, refdata.ThripsUnknown)
		require.Greater(t, must(t)(l.Immature(20)), 14.0)
		require.Less(t, must(t)(l.Immature(25)), 14.0)
		require.InDelta(t, 14, must(t)(l.Immature(23.5)), 1)
	})
	t.Run("adults live 30 to 45 days", func(t *testing.T) {
		p, err := refdata.Get(refdata.ThripsUnknown)
		require.NoError(t, err)
		mean := lifecycle.FromProfile(&p)
		p.Adult.Constant.Central = p.Adult.Constant.High
		longest := lifecycle.FromProfile(&p)
		require.Less(t, must(t)(mean.AdultDays(20)), 30.0, "the rule is an upper range, not a mean")
		require.Greater(t, must(t)(longest.AdultDays(20)), 30.0)
		require.InDelta(t, 45, must(t)(longest.AdultDays(20)), 5)
		require.InDelta(t, 30, must(t)(longest.AdultDays(25)), 3)
	})
}

func TestInnerLoopsDoNotAllocate(t *testing.T) {
	l := of(t, refdata.GreenhouseWhitefly)
	require.Zero(t, testing.AllocsPerRun(100, func() {
		for stage := 0; stage <= l.Stages(); stage++ {
			_ = l.Rate(stage, 22)
			_, _ = l.DayRate(stage, 18, 24)
			_, _ = l.StageDays(stage, 22)
		}
		_, _ = l.Generation(22)
		_ = l.PreLayingRate(22) + l.LayingRate(22) + l.Births(22)
	}))
}
