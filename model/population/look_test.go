package population_test

import (
	"math"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

func eyes(day int, a population.Animals) population.Look {
	return population.Look{Day: day, Way: refdata.Eye, Effort: 0.5, Counts: a}
}

// A simulated outbreak is looked at once a week and the cloud takes the counts in.
// The truth, drawn from the same model, must lie in the 80 per cent band about 80
// per cent of the time: the number of animals four days after the last look, and
// the two figures that were drawn for the plant.
func TestBandsCoverTheTruth(t *testing.T) {
	m, err := population.New(refdata.WesternFlowerThrips)
	require.NoError(t, err)
	w := steady(t, m, 21, 60)
	const runs = 220
	truths, err := m.Begun(runs*3, 77, population.Beginning{From: 0, To: 14, Founders: 3})
	require.NoError(t, err)
	hits, done := map[string]int{}, 0
	r := population.NewRand(8)
	for i := 0; done < runs; i++ {
		require.Less(t, i, truths.Len())
		truth := truths.Only(i)
		cloud, err := m.Begun(400, uint64(1000+i), population.Beginning{From: 0, To: 14, Founders: 3})
		require.NoError(t, err)
		if !lookWeekly(t, m, w, truth, cloud, &r) {
			continue // it died out before anybody saw it: nobody would ask
		}
		done++
		host, fertile := truth.Truth(0)
		var hosts, fertiles, totals []float64
		for j := range cloud.Len() {
			h, f := cloud.Truth(j)
			hosts, fertiles, totals = append(hosts, h), append(fertiles, f), append(totals, float64(cloud.InStage(j, -1)))
		}
		count(hits, "host", host, hosts)
		count(hits, "fertile", fertile, fertiles)
		count(hits, "total", float64(truth.InStage(0, -1)), totals)
	}
	for what, n := range hits {
		t.Logf("%s: %d of %d in the 80 per cent band", what, n, runs)
		require.GreaterOrEqual(t, float64(n), 0.7*runs, what)
		require.LessOrEqual(t, float64(n), 0.9*runs, what)
	}
	require.Len(t, hits, 3)
}

func lookWeekly(t *testing.T, m *population.Model, w *population.Climate, truth, cloud *population.Cloud, r *population.Rand) bool {
	seen := false
	for day := 14; day <= 35; day += 7 {
		require.NoError(t, truth.Live(w, day, nil, 0))
		require.NoError(t, cloud.Live(w, day, nil, 0))
		l := truth.See(eyes(day, population.Animals{}), 0, r)
		seen = seen || l.Counts != population.Animals{}
		_, err := cloud.Take(l)
		require.NoError(t, err)
	}
	require.NoError(t, truth.Live(w, 39, nil, 0))
	require.NoError(t, cloud.Live(w, 39, nil, 0))
	return seen && truth.InStage(0, -1) > 0
}

func count(hits map[string]int, what string, truth float64, drawn []float64) {
	sort.Float64s(drawn)
	n := len(drawn)
	if low, high := drawn[n/10], drawn[n-1-n/10]; truth >= low && truth <= high {
		hits[what]++
	}
}

// meanTotal is the mean number of animals over a cloud.
func meanTotal(c *population.Cloud) float64 {
	sum := 0
	for i := range c.Len() {
		sum += c.InStage(i, -1)
	}
	return float64(sum) / float64(c.Len())
}

func TestCountsMoveTheCloud(t *testing.T) {
	m, err := population.New(refdata.WesternFlowerThrips)
	require.NoError(t, err)
	w := steady(t, m, 21, 60)
	means := map[string]float64{}
	for name, l := range map[string]*population.Look{
		"nobody looked":             nil,
		"none":                      {Effort: 1},
		"none, hardly looked":       {Effort: 0.05},
		"many":                      {Effort: 1, Counts: population.Animals{0, 60, 0, 25}},
		"seen, not counted":         {Effort: 1, Uncounted: true, Counts: population.Animals{0, 1}},
		"not seen, not counted":     {Effort: 1, Uncounted: true},
		"none, soil only looked at": {Effort: 1, Parts: []model.Part{model.Soil}},
	} {
		c, err := m.Begun(2000, 5, population.Beginning{From: 0, To: 14, Founders: 3})
		require.NoError(t, err)
		require.NoError(t, c.Live(w, 20, nil, 0))
		if l != nil {
			l.Day = 20
			p, err := c.Take(*l)
			require.NoError(t, err)
			require.Greater(t, p, 0.0)
		}
		means[name] = meanTotal(c)
	}
	before := means["nobody looked"]
	require.Less(t, means["none"], 0.5*before)
	require.Less(t, means["not seen, not counted"], 0.5*before)
	require.Less(t, means["none"], means["none, hardly looked"])
	require.Greater(t, means["many"], 1.5*before)
	require.Greater(t, means["seen, not counted"], before)
	require.InEpsilon(t, before, means["none, soil only looked at"], 0.15, "adults and larvae do not sit in the soil")
}

// A card shows no mites, so an empty one tells nothing.
func TestAnEmptyCardTellsNothingOfMites(t *testing.T) {
	m, err := population.New(refdata.TwoSpottedMite)
	require.NoError(t, err)
	w := steady(t, m, 21, 30)
	c, err := m.Begun(1000, 5, population.Beginning{From: 0, To: 5, Founders: 3})
	require.NoError(t, err)
	require.NoError(t, c.Live(w, 15, nil, 0))
	before := meanTotal(c)
	_, err = c.Take(population.Look{Day: 15, Way: refdata.Card, Effort: 1})
	require.NoError(t, err)
	require.InEpsilon(t, before, meanTotal(c), 0.01)
}

func TestLooksThatCannotBe(t *testing.T) {
	m, err := population.New(refdata.WesternFlowerThrips)
	require.NoError(t, err)
	w := steady(t, m, 21, 30)
	c, err := m.Begun(10, 5, population.Beginning{From: 0, To: 5, Founders: 3})
	require.NoError(t, err)
	require.NoError(t, c.Live(w, 10, nil, 0))
	for name, x := range map[string]struct {
		look population.Look
		err  error
	}{
		"negative count": {population.Look{Day: 10, Effort: 1, Counts: population.Animals{0, -1}}, population.ErrLook},
		"no effort":      {population.Look{Day: 10}, population.ErrLook},
		"NaN effort":     {population.Look{Day: 10, Effort: math.NaN()}, population.ErrLook},
		"too much":       {population.Look{Day: 10, Effort: 1.1}, population.ErrLook},
		"no such way":    {population.Look{Day: 10, Effort: 1, Way: 9}, population.ErrLook},
		"earlier":        {population.Look{Day: 9, Effort: 1}, population.ErrOrder},
		"later":          {population.Look{Day: 11, Effort: 1}, population.ErrOrder},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := c.Take(x.look)
			require.ErrorIs(t, err, x.err)
		})
	}
	require.ErrorIs(t, c.Live(w, 9, nil, 0), population.ErrOrder)
	require.ErrorIs(t, c.Live(w, 31, nil, 0), population.ErrDays)
	require.ErrorIs(t, c.Live(w, 12, nil, math.NaN()), population.ErrArrivals)
	require.ErrorIs(t, c.Live(w, 12, nil, -1), population.ErrArrivals)
	other, err := population.New(refdata.TwoSpottedMite)
	require.NoError(t, err)
	require.ErrorIs(t, c.Live(steady(t, other, 20, 30), 12, nil, 0), population.ErrClimate)
}

// What a look counts is as likely as not to be in the upper half of what was to be
// expected, and few members explain what nobody would have expected.
func TestSurprise(t *testing.T) {
	m, err := population.New(refdata.MelonAphid)
	require.NoError(t, err)
	usual := population.Look{Effort: 0.5}
	fresh := func(seed uint64) *population.Cloud {
		c, err := m.Holding(500, seed, population.Animals{0, 20, 0, 8})
		require.NoError(t, err)
		return c
	}
	upper, r := 0, population.NewRand(1)
	for seed := range uint64(100) {
		c := fresh(seed)
		p, err := c.AtLeast(c.See(usual, 0, &r))
		require.NoError(t, err)
		if p <= 0.5 {
			upper++
		}
	}
	require.InDelta(t, 50, upper, 15)

	c := fresh(1)
	require.InDelta(t, 500, c.Effective(), 0)
	for _, x := range []struct {
		young           int
		likely, explain float64 // at least
	}{{0, 1, 100}, {5, 0.3, 100}, {400, 0, 0}} {
		look := usual
		look.Counts[model.Young] = x.young
		p, err := c.AtLeast(look)
		require.NoError(t, err)
		require.GreaterOrEqual(t, p, x.likely)
		before := c.Effective()
		_, err = c.Take(look)
		require.NoError(t, err)
		require.LessOrEqual(t, c.Effective(), before)
		require.GreaterOrEqual(t, c.Effective(), x.explain)
	}
	require.Less(t, c.Effective(), 100.0)

	usual.Day = 3
	_, err = c.AtLeast(usual)
	require.ErrorIs(t, err, population.ErrOrder)
	usual.Day, usual.Effort = 0, 2
	_, err = c.AtLeast(usual)
	require.ErrorIs(t, err, population.ErrLook)
}
