package population_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/population"
)

// treatments are the names that testdata/effects.csv uses.
var treatments = map[string]struct {
	means  model.Means
	active string
}{
	"soap": {model.MeansSoap, ""}, "oil": {model.MeansOil, ""}, "pyrethrins": {model.MeansContactSpray, "Pyrethrins"},
	"spinosad": {model.MeansContactSpray, "spinosad"}, "azadirachtin": {model.MeansContactSpray, "azadirachtin"},
	"beauveria": {model.MeansContactSpray, "Beauveria bassiana"}, "systemic": {model.MeansSystemicSoil, "imidacloprid"},
	"bti": {model.MeansSoilDrench, "Bacillus thuringiensis israelensis"}, "nematodes": {model.MeansSoilDrench, "Steinernema feltiae"},
}

// The figures on treatments that pages print, each against what the model takes.
// The kill of a reached animal is met by three quarters of those a good spray
// reaches, the middle of refdata's band.
func TestPublishedEffects(t *testing.T) {
	checkEffects(t, func(source string) bool { return source != "PRACTICE" })
}

// Habits of the trade, not counted as published.
func TestPracticeEffects(t *testing.T) {
	checkEffects(t, func(source string) bool { return source == "PRACTICE" })
}

func checkEffects(t *testing.T, wanted func(source string) bool) {
	file, err := os.Open("testdata/effects.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	for _, r := range rows[1:] {
		if !wanted(r[0]) {
			continue
		}
		t.Run(r[0]+"/"+r[1], func(t *testing.T) {
			x, ok := treatments[r[2]]
			require.True(t, ok, r[2])
			value, err := strconv.ParseFloat(r[4], 64)
			require.NoError(t, err)
			checkEffect(t, population.EffectOf(x.means, x.active), r[3], value)
		})
	}
}

func checkEffect(t *testing.T, e population.Effect, quantity string, value float64) {
	const reached = 0.75
	switch quantity {
	case "kill_low":
		require.InDelta(t, value/100, reached*e.Kill.Low, 0.03)
	case "kill_high":
		require.InDelta(t, value/100, reached*e.Kill.High, 0.03)
	case "lasts":
		require.EqualValues(t, value, e.Lasts)
	case "lasts_at_most":
		require.LessOrEqual(t, float64(e.Lasts), value)
	case "delay":
		require.EqualValues(t, value, e.Delay)
	case "delay_at_least":
		require.GreaterOrEqual(t, float64(e.Delay), value)
	case "delay_at_most":
		require.LessOrEqual(t, float64(e.Delay), value)
	case "repeat_after":
		require.InDelta(t, value, float64(e.Delay+e.Lasts+1), 1)
	default:
		require.Fail(t, "unknown quantity", quantity)
	}
}

func TestEveryEffectSaysWhereItComesFrom(t *testing.T) {
	for name, x := range treatments {
		require.NotEmpty(t, population.EffectOf(x.means, x.active).Source, name)
	}
	for m := model.MeansSoap; m <= model.MeansWater; m++ {
		e := population.EffectOf(m, "an ingredient nobody knows")
		require.NotEmpty(t, e.Source)
		for _, s := range []population.Span{e.Kill, e.Later} {
			require.True(t, 0 <= s.Low && s.Low <= s.High && s.High <= 0.9)
		}
	}
	require.Zero(t, population.EffectOf(0, ""))
	require.Equal(t, population.EffectOf(model.MeansContactSpray, ""), population.EffectOf(model.MeansContactSpray, "Bti"), "an ingredient of another means")
}
