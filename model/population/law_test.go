package population_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/lifecycle"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

func one(v float64) refdata.Value {
	return refdata.Value{Low: v, Central: v, High: v, Source: "memory"}
}

// plain is an invented species: an egg and an adult, thresholds at 0 °C, so that at
// 20 °C a day is 20 degree-days.
func plain(egg, survival, laying, young, spread, adultSpread float64) *refdata.Profile {
	return &refdata.Profile{
		Species: refdata.TwoSpottedMite,
		Stages:  []refdata.Stage{{Name: "egg", As: model.Eggs, Lower: one(0), Constant: one(egg), Survival: one(survival)}},
		Adult: refdata.Adult{
			Stage:  refdata.Stage{Name: "adult", As: model.Adults, Lower: one(0), Constant: one(laying)},
			Laying: one(laying), Young: one(young), Female: one(1), Spread: one(adultSpread),
		},
		Upper: one(40), Lethal: one(50), Spread: one(spread),
	}
}

func modelOf(tb testing.TB, p *refdata.Profile) *population.Model {
	m, err := population.FromProfile(p)
	require.NoError(tb, err)
	return m
}

func steady(tb testing.TB, m *population.Model, celsius float64, days int) *population.Climate {
	w, err := m.Climate(population.Steady(celsius, days))
	require.NoError(tb, err)
	return w
}

func holding(tb testing.TB, m *population.Model, members int, a population.Animals) *population.Cloud {
	c, err := m.Holding(members, 11, a)
	require.NoError(tb, err)
	return c
}

// The time in a stage has the mean of its constant and the variance of the spread:
// for the Erlang chain, mean²/boxes. Days are seen at their ends, which adds half a
// day at most and a twelfth of a day squared.
func TestDelaysHaveTheRightMeanAndVariance(t *testing.T) {
	for name, c := range map[string]struct{ days, spread, celsius float64 }{
		"narrow":        {20, 0.15, 20},
		"usual":         {20, 0.25, 20},
		"Erlang of 4":   {25, 0.5, 20},
		"Erlang of 1":   {25, 1, 20},
		"short":         {4, 0.25, 20},
		"cool":          {10, 0.25, 8},
		"warm and wide": {10, 0.35, 31},
	} {
		t.Run(name, func(t *testing.T) {
			m := modelOf(t, plain(c.days*20, 1, 1e6, 0, c.spread, 1))
			const days = 300
			w := steady(t, m, c.celsius, days)
			cloud := holding(t, m, 400, population.Animals{}).Fix().Place(0, 100)
			mean, square, last := 0.0, 0.0, 400*100
			for d := 1; d < days; d++ {
				require.NoError(t, cloud.Live(w, d, nil, 0))
				left := 0
				for i := range cloud.Len() {
					left += cloud.InStage(i, 0)
				}
				x := float64(last-left) / (400 * 100)
				mean += x * (float64(d) - 0.5)
				square += x * (float64(d) - 0.5) * (float64(d) - 0.5)
				last = left
			}
			require.Less(t, last, 20, "nearly all got through")
			want := c.days * 20 / c.celsius
			require.InDelta(t, want, mean, 0.02*want+0.3)
			sd := c.spread * want
			require.InDelta(t, sd, math.Sqrt(square-mean*mean), 0.08*sd+0.35)
		})
	}
}

// A lineage whose adults lay at a steady rate and die at a steady rate leaves a
// geometric number of young. In days, σ = exp(-death) of living on and Poisson(b)
// young a day, its generating function is G(s) = (1-σ)E/(1-σE), E = exp(b(s-1)),
// and it dies out with the smallest root of G(s) = s: for short days 1/R, the
// linear birth–death process.
func TestDyingOutMatchesTheBirthDeathProcess(t *testing.T) {
	for name, c := range map[string]struct {
		death, births float64
		founders      int
	}{
		"slow, R = 1.5, one":   {0.05, 0.075, 1},
		"slow, R = 1.5, three": {0.05, 0.075, 3},
		"R = 2":                {0.1, 0.2, 1},
		"R = 4, two":           {0.1, 0.4, 2},
		"R = 0.8":              {0.1, 0.08, 4},
	} {
		t.Run(name, func(t *testing.T) {
			m := modelOf(t, plain(1, 1, 20/c.death, c.births/c.death, 1, 1))
			w := steady(t, m, 20, 400)
			require.InDelta(t, c.births, w.Births(0), 1e-12)
			want := math.Pow(geometricRoot(c.death, c.births), float64(c.founders))
			short := math.Pow(min(1, c.death/c.births), float64(c.founders))
			require.InDelta(t, short, want, 0.06, "short days")
			cloud := holding(t, m, 3000, population.Animals{model.Adults: c.founders}).Fix()
			got, err := cloud.Ending(w, 400, nil)
			require.NoError(t, err)
			require.InDelta(t, want, got, 0.005)
			require.NoError(t, cloud.Live(w, 400, nil, 0))
			require.InDelta(t, want, 1-cloud.Present(), 4*math.Sqrt(want*(1-want)/3000)+0.006)
		})
	}
}

func geometricRoot(death, births float64) float64 {
	sigma, s := math.Exp(-death), 0.0
	for range 20_000 { // going up from 0 ends at the smallest root
		e := math.Exp(births * (s - 1))
		s = (1 - sigma) * e / (1 - sigma*e)
	}
	return s
}

// What is drawn dies out as often as the formula says, with the treatments of a
// course and every stage of a true species in between.
func TestEndingMatchesTheDraws(t *testing.T) {
	for _, s := range []refdata.Species{refdata.TwoSpottedMite, refdata.MelonAphid, refdata.WesternFlowerThrips} {
		t.Run(s.String(), func(t *testing.T) {
			m, err := population.New(s)
			require.NoError(t, err)
			w := steady(t, m, 22, 60)
			kills := course(t, m, 60, 0, 3, 6, 9, 12, 15, 18)
			cloud := holding(t, m, 4000, population.Animals{model.Young: 2, model.Adults: 2})
			want, err := cloud.Ending(w, 40, kills)
			require.NoError(t, err)
			require.NoError(t, cloud.Live(w, 40, kills, 0))
			require.Greater(t, want, 0.02, "the case says something")
			require.InDelta(t, want, 1-cloud.Present(), 4*math.Sqrt(want*(1-want)/4000)+0.005)
		})
	}
}

// Left alone, the mean grows as the Euler–Lotka equation says once the ages have
// settled.
func TestMeanGrowsAsEulerLotkaSays(t *testing.T) {
	for _, s := range []refdata.Species{refdata.WesternFlowerThrips, refdata.TwoSpottedMite, refdata.GreenhouseWhitefly, refdata.MelonAphid, refdata.CitrusMealybug} {
		for _, celsius := range []float64{18, 22, 25} {
			m, err := population.New(s)
			require.NoError(t, err)
			life, err := lifecycle.Of(s)
			require.NoError(t, err)
			g, err := life.Growth(celsius)
			require.NoError(t, err)
			days := 400 // slow pests come in waves for long
			w := steady(t, m, celsius, days)
			mean := population.Mean(w, 0, 20, days)
			r := math.Log(mean[days]/mean[days/2]) / float64(days/2)
			require.InDelta(t, g.R, r, 0.05*g.R+0.002, "%v at %v", s, celsius)
		}
	}
}

// The draws have the mean of the deterministic integration.
func TestDrawsHaveTheMeanOfTheIntegration(t *testing.T) {
	m, err := population.New(refdata.TwoSpottedMite)
	require.NoError(t, err)
	w := steady(t, m, 21, 40)
	mean := population.Mean(w, 0, 2, 40)
	cloud := holding(t, m, 4000, population.Animals{}).Fix()
	cloud.PlaceAdults(2) // few, so that they do not crowd each other
	for d := 5; d <= 15; d += 5 {
		require.Less(t, mean[d], 0.02*float64(population.CapacityOf(refdata.TwoSpottedMite)), "or crowding shows")
		require.NoError(t, cloud.Live(w, d, nil, 0))
		sum := 0
		for i := range cloud.Len() {
			sum += cloud.InStage(i, -1)
		}
		require.InEpsilon(t, mean[d], float64(sum)/4000, 0.03, "day %d", d)
	}
}

// Nobody appears from nowhere, and nobody is lost.
func TestMassBalance(t *testing.T) {
	m, err := population.New(refdata.ThripsUnknown)
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		days := population.Steady(20, 50)
		for i := range days {
			low := rapid.Float64Range(-5, 38).Draw(t, "low")
			days[i] = population.Day{Low: low, High: low + rapid.Float64Range(0, 10).Draw(t, "range")}
		}
		w, err := m.Climate(days)
		require.NoError(t, err)
		kills, err := m.Kills(50, anyActs(t, 50))
		require.NoError(t, err)
		start := population.Animals{rapid.IntRange(0, 300).Draw(t, "eggs"), rapid.IntRange(0, 40).Draw(t, "young"), 0, rapid.IntRange(0, 3).Draw(t, "adults")}
		c, err := m.Holding(3, rapid.Uint64().Draw(t, "seed"), start)
		require.NoError(t, err)
		require.NoError(t, c.Live(w, 50, kills, rapid.Float64Range(0, 2).Draw(t, "arrivals")))
		for i := range c.Len() {
			born, came, died := c.Balance(i)
			require.Equal(t, born+came-died, c.InStage(i, -1))
			require.GreaterOrEqual(t, c.InStage(i, -1), 0)
		}
	})
}

func anyActs(t *rapid.T, days int) []population.Act {
	var acts []population.Act
	for range rapid.IntRange(0, 5).Draw(t, "acts") {
		acts = append(acts, population.Act{
			Day:    rapid.IntRange(-30, days-1).Draw(t, "day"),
			Means:  model.Means(rapid.IntRange(1, 6).Draw(t, "means")),
			Active: rapid.SampledFrom([]string{"", "spinosad", "Steinernema feltiae", "pyrethrins"}).Draw(t, "active"),
		})
	}
	return acts
}

// Over the whole youth of a true species the mean is lifecycle's, and the spread that
// of independent stages, or a little more: the common clock goes as the stage with
// the least to spare allows.
func TestYouthHasTheRightMeanAndSpread(t *testing.T) {
	for _, s := range []refdata.Species{refdata.WesternFlowerThrips, refdata.TwoSpottedMite, refdata.GreenhouseWhitefly, refdata.CitrusMealybug} {
		for _, celsius := range []float64{16, 21, 26} {
			p, err := refdata.Get(s)
			require.NoError(t, err)
			for i := range p.Stages {
				p.Stages[i].Survival = one(1)
			}
			p.Adult.Young = one(1e-9)
			life := lifecycle.FromProfile(&p)
			want, variance := 0.0, 0.0
			for i := range p.Stages {
				d, err := life.StageDays(i, celsius)
				require.NoError(t, err)
				want += d
				variance += math.Pow(d*p.Spread.Central, 2)
			}
			mean, sd := youth(t, modelOf(t, &p), celsius)
			require.InEpsilon(t, want, mean, 0.04, "%v at %v", s, celsius)
			require.Greater(t, sd, 0.95*math.Sqrt(variance), "%v at %v", s, celsius)
			require.Less(t, sd, 1.25*math.Sqrt(variance)+0.3, "%v at %v", s, celsius)
			t.Logf("%v at %v: %.1f days, spread %.2f for %.2f", s, celsius, mean, sd, math.Sqrt(variance))
		}
	}
}

// youth lets eggs grow up and gives the mean and standard deviation of their days.
func youth(t *testing.T, m *population.Model, celsius float64) (mean, sd float64) {
	const days, eggs = 250, 100 * 100
	w := steady(t, m, celsius, days)
	c := holding(t, m, 100, population.Animals{}).Fix().Place(0, 100)
	young, square := eggs, 0.0
	for d := 1; d < days && young > 0; d++ {
		require.NoError(t, c.Live(w, d, nil, 0))
		left := 0
		for i := range c.Len() {
			left += c.Young(i)
		}
		x, day := float64(young-left)/eggs, float64(d)-0.5
		mean += x * day
		square += x * day * day
		young = left
	}
	require.Zero(t, young)
	return mean, math.Sqrt(square - mean*mean)
}
