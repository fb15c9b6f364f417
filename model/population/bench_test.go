package population_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

// found is an invented plant: thrips came in the last two weeks, twelve were found.
func found(tb testing.TB, members, days int) (*population.Model, *population.Climate, *population.Cloud) {
	m, err := population.New(refdata.WesternFlowerThrips)
	require.NoError(tb, err)
	w, err := m.Climate(population.Steady(21, days))
	require.NoError(tb, err)
	c, err := m.Begun(members, 7, population.Beginning{From: 0, To: 14, Founders: 2})
	require.NoError(tb, err)
	require.NoError(tb, c.Live(w, 21, nil, 0))
	_, err = c.Take(population.Look{Day: 21, Way: refdata.Eye, Effort: 0.5, Counts: population.Animals{0, 9, 0, 3}})
	require.NoError(tb, err)
	return m, w, c
}

func course(tb testing.TB, m *population.Model, days int, at ...int) *population.Kills {
	var acts []population.Act
	for _, d := range at {
		acts = append(acts, population.Act{Day: d, Means: model.MeansSoap})
	}
	k, err := m.Kills(days, acts)
	require.NoError(tb, err)
	return k
}

func BenchmarkForecastUntreated(b *testing.B) {
	_, w, c := found(b, 1000, 81)
	b.ReportAllocs()
	for b.Loop() {
		_, err := population.Forecast(population.Plant{Cloud: c, Climate: w}, 81, 1000, 1, nil)
		require.NoError(b, err)
	}
}

func BenchmarkForecastTreated(b *testing.B) {
	m, w, c := found(b, 1000, 81)
	k := course(b, m, 81, 21, 26, 31, 36, 41, 46)
	b.ReportAllocs()
	for b.Loop() {
		_, err := population.Forecast(population.Plant{Cloud: c, Climate: w, Kills: k}, 81, 1000, 1, nil)
		require.NoError(b, err)
	}
}

// One count taken in: a week lived by 2,000 particles, then weighed and resampled.
func BenchmarkCount(b *testing.B) {
	_, w, c := found(b, 2000, 81)
	b.ReportAllocs()
	for b.Loop() {
		d := c.Clone()
		require.NoError(b, d.Live(w, 28, nil, 0))
		_, err := d.Take(population.Look{Day: 28, Way: refdata.Eye, Effort: 0.5, Counts: population.Animals{0, 14, 0, 5}})
		require.NoError(b, err)
	}
}

func BenchmarkClimate(b *testing.B) {
	m, _, _ := found(b, 1, 81)
	days := population.Steady(20, 60)
	for i := range days {
		days[i].High += float64(i % 7)
	}
	for b.Loop() {
		_, err := m.Climate(days)
		require.NoError(b, err)
	}
}

func BenchmarkEndings(b *testing.B) {
	m, w, c := found(b, 1000, 81)
	k := course(b, m, 81, 21, 26, 31, 36, 41, 46)
	s := c.Sample(32)
	b.ReportAllocs()
	for b.Loop() {
		_, err := s.Ending(w, 81, k)
		require.NoError(b, err)
	}
}
