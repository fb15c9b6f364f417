package population_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/degree"
	"leafturn/model/fault"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

func forecast(t *testing.T, p population.Plant, to int) *population.Outlook {
	t.Helper()
	o, err := population.Forecast(p, to, 400, 3, nil)
	require.NoError(t, err)
	return o
}

func TestForecastCanBeRepeated(t *testing.T) {
	_, w, c := found(t, 300, 60)
	p := population.Plant{Cloud: c, Climate: w, Arrivals: 0.02}
	one, two := forecast(t, p, 60), forecast(t, p, 60)
	require.Equal(t, one, two)
	other, err := population.Forecast(p, 60, 400, 4, nil)
	require.NoError(t, err)
	require.NotEqual(t, one.Dawns, other.Dawns)
	require.Equal(t, 21, one.From)
	require.Len(t, one.Dawns, 40)
}

func TestForecastStartsWhereTheCloudStands(t *testing.T) {
	m, err := population.New(refdata.GreenhouseWhitefly)
	require.NoError(t, err)
	w := steady(t, m, 21, 30)
	c := holding(t, m, 50, population.Animals{5, 7, 3, 2})
	o := forecast(t, population.Plant{Cloud: c, Climate: w}, 30)
	for s, n := range []int{5, 7, 3, 2} {
		b, ok := o.At(0, model.Stage(s))
		require.True(t, ok)
		require.Equal(t, population.Band{Low: n, Middle: n, High: n}, b)
	}
	require.Equal(t, 17, o.Dawns[0].Bands[population.All].Middle)
	_, ok := o.At(31, model.Adults)
	require.False(t, ok)
	_, ok = o.At(-1, model.Adults)
	require.False(t, ok)
}

func TestForecastCanBeStopped(t *testing.T) {
	_, w, c := found(t, 300, 60)
	asked := 0
	_, err := population.Forecast(population.Plant{Cloud: c, Climate: w}, 60, 1000, 3, func() bool { asked++; return asked > 3 })
	require.ErrorIs(t, err, population.ErrStopped)
	require.Equal(t, 4, asked)
}

// middle is the median of all animals on the last day.
func middle(o *population.Outlook) int { return o.Dawns[len(o.Dawns)-1].Bands[population.All].Middle }

// A spray that leaves the undersides out is a poor spray, and a course a good one.
func TestTreatmentsHelpByWhatTheyReach(t *testing.T) {
	m, w, c := found(t, 400, 60)
	at := func(parts ...model.Part) int {
		var acts []population.Act
		for d := 21; d < 50; d += 4 {
			acts = append(acts, population.Act{Day: d, Means: model.MeansSoap, Parts: parts})
		}
		k, err := m.Kills(60, acts)
		require.NoError(t, err)
		return middle(forecast(t, population.Plant{Cloud: c, Climate: w, Kills: k}, 40))
	}
	untreated := middle(forecast(t, population.Plant{Cloud: c, Climate: w}, 40)) // before they crowd each other
	all, tops := at(), at(model.TopSide)
	require.Less(t, 5*all, tops)
	require.Less(t, tops, untreated+untreated/10)
	require.Equal(t, untreated, at(model.Soil), "no thrips that soap kills sits there")
}

func TestASystemicWorksAfterItsUptakeOnly(t *testing.T) {
	m, err := population.New(refdata.MelonAphid)
	require.NoError(t, err)
	k, err := m.Kills(90, []population.Act{{Day: 3, Means: model.MeansSystemicSoil}})
	require.NoError(t, err)
	for d := range 17 {
		require.Zero(t, k.Rows(d, 0), "day %d", d)
	}
	require.Positive(t, k.Rows(17, 0).Low)
	require.Positive(t, k.Rows(60, 0).Low)
	require.Less(t, k.Rows(60, 0).High, k.Rows(20, 0).High, "it fades")
	require.Zero(t, k.Rows(17+46, 0))
	before, err := m.Kills(30, []population.Act{{Day: -20, Means: model.MeansSystemicSoil}})
	require.NoError(t, err)
	require.Positive(t, before.Rows(0, 0).Low, "what was done before still works")
}

// Soap does nothing to eggs in the leaf nor to what rests in the mix; a drench does
// nothing on the leaf.
func TestEachMeansReachesItsStages(t *testing.T) {
	m, err := population.New(refdata.WesternFlowerThrips)
	require.NoError(t, err)
	soap, err := m.Kills(1, []population.Act{{Means: model.MeansSoap}})
	require.NoError(t, err)
	drench, err := m.Kills(1, []population.Act{{Means: model.MeansSoilDrench}})
	require.NoError(t, err)
	p, err := refdata.Get(refdata.WesternFlowerThrips)
	require.NoError(t, err)
	for i, s := range p.Stages {
		require.Equal(t, s.As == model.Young, soap.Rows(0, i).High > 0, s.Name)
		require.Equal(t, s.As == model.Resting, drench.Rows(0, i).High > 0, s.Name)
	}
	span := soap.Rows(0, 1)
	require.InDelta(t, 0.55, (span.Low+span.High)/2, 0.03, "a soap spray kills 50 to 60 per cent (UKENT)")
}

func TestNeighboursCatchIt(t *testing.T) {
	m, err := population.New(refdata.WesternFlowerThrips)
	require.NoError(t, err)
	w := steady(t, m, 22, 60)
	sick := holding(t, m, 300, population.Animals{0, 20, 0, 10})
	clean := holding(t, m, 300, population.Animals{})
	plants := []population.Plant{{Cloud: sick, Climate: w}, {Cloud: clean, Climate: w}, {Cloud: clean, Climate: w}}
	links := []population.Link{{From: 0, To: 1, PerDay: m.Wander()}, {From: 1, To: 2, PerDay: m.Wander()}}
	all, err := population.Spread(plants, links, 60, 300, 5, nil)
	require.NoError(t, err)
	for d := 10; d <= 60; d += 10 {
		near, far := all[1].Dawns[d].Present, all[2].Dawns[d].Present
		require.GreaterOrEqual(t, near, far, "day %d", d)
	}
	require.Greater(t, all[1].Dawns[30].Present, 0.5)
	require.Zero(t, all[1].Dawns[0].Present)
	apart, err := population.Spread(plants, nil, 60, 300, 5, nil)
	require.NoError(t, err)
	require.Zero(t, apart[1].Dawns[60].Present, "apart it stays clean")
	_, err = population.Spread(plants, []population.Link{{From: 0, To: 3, PerDay: 0.1}}, 60, 10, 5, nil)
	require.ErrorIs(t, err, population.ErrLink)
	_, err = population.Spread(plants, []population.Link{{From: 0, To: 1, PerDay: math.NaN()}}, 60, 10, 5, nil)
	require.ErrorIs(t, err, population.ErrLink)
}

func TestEverySpeciesCanBeForecast(t *testing.T) {
	for _, s := range refdata.All {
		t.Run(s.String(), func(t *testing.T) {
			m, err := population.New(s)
			require.NoError(t, err)
			w := steady(t, m, 22, 120)
			c, err := m.Begun(60, 1, population.Beginning{From: 0, To: 0, Founders: 10})
			require.NoError(t, err)
			o := forecast(t, population.Plant{Cloud: c, Climate: w}, 120)
			require.Greater(t, o.Dawns[120].Bands[population.All].High, 10, "it breeds at 22 degrees")
		})
	}
}

func TestInputsThatCannotBe(t *testing.T) {
	_, err := population.New(0)
	require.ErrorIs(t, err, refdata.ErrSpecies)
	m, err := population.New(refdata.TwoSpottedMite)
	require.NoError(t, err)
	for name, c := range map[string]struct {
		days []population.Day
		err  error
	}{
		"none":      {nil, population.ErrDays},
		"too many":  {population.Steady(20, 401), population.ErrDays},
		"NaN":       {[]population.Day{{Low: math.NaN(), High: 20}}, degree.ErrTemperature},
		"infinite":  {[]population.Day{{Low: 3, High: math.Inf(1)}}, degree.ErrTemperature},
		"absurd":    {[]population.Day{{Low: 3, High: 300}}, degree.ErrTemperature},
		"reversed":  {[]population.Day{{Low: 20, High: 10}}, degree.ErrOrder},
		"below 0 K": {[]population.Day{{Low: -400, High: 10}}, degree.ErrTemperature},
	} {
		_, err := m.Climate(c.days)
		require.ErrorIs(t, err, c.err, name)
	}
	_, err = m.Kills(10, []population.Act{{Day: 10, Means: model.MeansSoap}})
	require.ErrorIs(t, err, population.ErrAct)
	_, err = m.Kills(10, []population.Act{{Day: 1, Means: 9}})
	require.ErrorIs(t, err, population.ErrAct)
	_, err = m.Kills(0, nil)
	require.ErrorIs(t, err, population.ErrDays)
	_, err = m.Holding(10, 1, population.Animals{0, -1})
	require.ErrorIs(t, err, population.ErrStart)
	_, err = m.Holding(0, 1, population.Animals{})
	require.ErrorIs(t, err, population.ErrMembers)
	_, err = m.Begun(10, 1, population.Beginning{From: 5, To: 4, Founders: 2})
	require.ErrorIs(t, err, population.ErrStart)
	_, err = m.Begun(10, 1, population.Beginning{To: 4, Founders: math.NaN()})
	require.ErrorIs(t, err, population.ErrStart)
	c := holding(t, m, 10, population.Animals{0, 1})
	w := steady(t, m, 20, 20)
	_, err = population.Forecast(population.Plant{Cloud: c, Climate: w}, 21, 10, 1, nil)
	require.ErrorIs(t, err, population.ErrDays)
	_, err = population.Forecast(population.Plant{Cloud: c, Climate: w}, 20, 0, 1, nil)
	require.ErrorIs(t, err, population.ErrMembers)
}

func TestADayAllocatesNothing(t *testing.T) {
	m, w, c := found(t, 10, 60)
	k := course(t, m, 60, 21, 22, 23)
	require.Zero(t, testing.AllocsPerRun(100, func() { c.OneDay(w, 22, k) }))
}

// Whatever the temperatures, treatments, counts and order of looks, there is an
// error with words for a person, or every number is a number and every chance a
// chance.
func FuzzForecast(f *testing.F) {
	f.Add(uint64(1), uint8(1), 18.0, 24.0, 3, uint8(1), 2, 5, 0.1, 6, 12, 1.0)
	f.Add(uint64(2), uint8(8), -20.0, 55.0, 0, uint8(4), 200, 0, 3.0, 12, 6, 0.2)
	f.Add(uint64(3), uint8(99), math.NaN(), 24.0, -1, uint8(7), -5, 0, math.Inf(1), -1, 0, math.NaN())
	f.Add(uint64(4), uint8(1), 18.0, 24.0, 3, uint8(1), 0, 5, 0.0, 5, 5, 1.0)
	f.Fuzz(func(t *testing.T, seed uint64, species uint8, low, high float64, day int, means uint8, young, adults int, arrivals float64, one, two int, effort float64) {
		m, err := population.New(refdata.Species(species))
		if refused(t, err, refdata.ErrSpecies) {
			return
		}
		days := population.Steady(20, 20)
		days[3], days[7] = population.Day{Low: low, High: high}, population.Day{Low: low, High: high}
		w, err := m.Climate(days)
		if refused(t, err, degree.ErrTemperature, degree.ErrOrder) {
			return
		}
		k, err := m.Kills(20, []population.Act{{Day: day, Means: model.Means(means)}})
		if refused(t, err, population.ErrAct) {
			return
		}
		c, err := m.Holding(4, seed, population.Animals{0, young % 5000, 0, adults % 5000})
		if refused(t, err, population.ErrStart) {
			return
		}
		p, err := c.Ending(w, 20, k)
		require.NoError(t, err)
		require.True(t, p >= 0 && p <= 1+1e-9, "chance %v", p)
		plant := population.Plant{Cloud: c, Climate: w, Kills: k, Arrivals: arrivals}
		if forecastIsWhole(t, plant, seed) {
			return
		}
		for _, d := range []int{one, two} {
			if refused(t, c.Live(w, d, k, arrivals), population.ErrOrder, population.ErrDays) {
				return
			}
			like, err := c.Take(population.Look{Day: d, Effort: effort, Counts: population.Animals{0, young, 0, adults}})
			if refused(t, err, population.ErrLook) {
				return
			}
			require.True(t, like >= 0 && !math.IsInf(like, 1), "likelihood %v", like)
		}
		require.GreaterOrEqual(t, two, one, "a look before the last one was taken in")
		forecastIsWhole(t, plant, seed)
	})
}

// refused reports whether there is an error, which must be one of those expected.
func refused(t *testing.T, err error, expected ...error) bool {
	t.Helper()
	if err == nil {
		return false
	}
	require.True(t, slices.ContainsFunc(expected, func(e error) bool { return errors.Is(err, e) }), "%v", err)
	require.NotEmpty(t, fault.CodeOf(err))
	return true
}

// forecastIsWhole checks a forecast and reports whether it was refused.
func forecastIsWhole(t *testing.T, p population.Plant, seed uint64) bool {
	t.Helper()
	o, err := population.Forecast(p, 20, 4, seed, nil)
	if refused(t, err, population.ErrArrivals) {
		return true
	}
	for _, d := range o.Dawns {
		require.True(t, d.Present >= 0 && d.Present <= 1)
		for _, b := range d.Bands {
			require.True(t, 0 <= b.Low && b.Low <= b.Middle && b.Middle <= b.High, "%v", b)
		}
	}
	return false
}
