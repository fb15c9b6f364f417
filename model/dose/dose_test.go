package dose_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/dose"
)

// The gallon is 231 cubic inches of 2.54 cm, so it can be worked out apart from
// the constant.
func TestGallonFromItsDefinition(t *testing.T) {
	const inchInMicrometres = 25_400
	cubic := int64(inchInMicrometres) * inchInMicrometres * inchInMicrometres // in cubic micrometres
	require.Equal(t, int64(dose.Gallon), 231*(cubic/1_000_000)*32)            // 1e6 cubic micrometres are a nanolitre
	require.Equal(t, dose.Gallon, 768*dose.Teaspoon)
	require.Equal(t, dose.Tablespoon, 3*dose.Teaspoon)
	require.Equal(t, dose.Pint, 16*dose.FluidOunce)
	require.Equal(t, dose.Quart, 2*dose.Pint)
}

func TestRateRefuses(t *testing.T) {
	ml, litre := dose.Measure{Thousandths: 1000, Of: dose.Ml}, dose.Measure{Thousandths: 1000, Of: dose.Litre}
	for name, m := range map[string][2]dose.Measure{
		"no product":              {{Of: dose.Ml}, litre},
		"no water":                {ml, {Of: dose.Litre}},
		"a negative count":        {{Thousandths: -1, Of: dose.Ml}, litre},
		"no unit":                 {{Thousandths: 1000}, litre},
		"more product than water": {litre, ml},
		"a count beyond measure":  {ml, {Thousandths: math.MaxInt64, Of: dose.Litre}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := dose.Rate(m[0], m[1])
			require.ErrorIs(t, err, dose.ErrMeasure)
		})
	}
}

func TestFor(t *testing.T) {
	soap := model.Product{Means: model.MeansSoap, RateUnit: model.RateMlPerLitre, RateMilli: 20_000, MixPerPlantMl: 150}
	noVolume, powder, ready := soap, soap, soap
	noVolume.MixPerPlantMl = 0
	powder.RateUnit, powder.RateMilli = model.RateGramPerLitre, 1_250
	ready.RateUnit, ready.RateMilli = model.RateReady, 0
	noRate, noUnit := soap, soap
	noRate.RateMilli, noUnit.RateUnit = 0, 0
	for name, c := range map[string]struct {
		product  model.Product
		kind     dose.Kind
		volume   int64
		amount   string
		unit     dose.Unit
		perLitre string
	}{
		"liquid, worked by hand":   {soap, dose.ToMix, 600, "12", dose.Millilitre, "20"},  // 20 ml/l x 0.6 l
		"powder, worked by hand":   {powder, dose.ToMix, 600, "0.75", dose.Gram, "1.25"},  // 1.25 g/l x 0.6 l
		"ready to use":             {ready, dose.Ready, 600, "600", dose.Millilitre, "0"}, // the spray is the product
		"no estimate per plant":    {noVolume, dose.ToMix, 0, "0", dose.Millilitre, "20"}, // only the rate can be given
		"rate not entered":         {noRate, dose.NotEntered, 600, "0", 0, "0"},           // never a default
		"unit of rate not entered": {noUnit, dose.NotEntered, 600, "0", 0, "0"},           // a number alone is no rate
		"nothing entered":          {model.Product{}, dose.NotEntered, 0, "0", 0, "0"},    //
		"water needs no product":   {model.Product{Means: model.MeansWater, MixPerPlantMl: 500}, dose.PlainWater, 2000, "0", 0, "0"},
	} {
		t.Run(name, func(t *testing.T) {
			m := dose.For(&c.product, 4)
			require.Equal(t, 4, m.Plants)
			require.Equal(t, c.kind, m.Kind)
			require.Equal(t, c.volume, m.VolumeMl)
			require.Equal(t, c.amount, m.Product.Decimal())
			require.Equal(t, c.unit, m.Product.Unit)
			require.Equal(t, c.perLitre, m.PerLitre.Decimal())
		})
	}
}

func TestMeasured(t *testing.T) {
	for _, c := range []struct {
		millionths int64
		want       string
	}{
		{0, "0"}, {1, "0.000001"}, {999, "0.000999"}, {1_234_567, "1.23"}, {9_999_999, "9.99"},
		{12_000_000, "12"}, {123_456_789, "123"}, {1_999_000_000, "1990"}, {50_000, "0.05"},
	} {
		require.Equal(t, c.want, dose.Amount{Millionths: c.millionths}.Measured().Decimal())
	}
}

func TestMeasuredStaysJustBelowTheLabel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		exact := rapid.Int64Range(0, 1<<50).Draw(t, "millionths")
		got := dose.Amount{Millionths: exact}.Measured().Millionths
		require.LessOrEqual(t, got, exact)
		if exact >= 100 {
			require.Less(t, exact-got, exact/100+1)
		}
	})
}

// Mixing for all plants at once needs as much as mixing for each on its own, to
// the last millionth: nothing is rounded on the way.
func TestBatchIsTheSumOfItsParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &model.Product{
			RateUnit:      rapid.SampledFrom([]model.RateUnit{model.RateMlPerLitre, model.RateGramPerLitre, model.RateReady}).Draw(t, "unit"),
			RateMilli:     rapid.IntRange(1, 1_000_000).Draw(t, "rate"),
			MixPerPlantMl: rapid.IntRange(0, 100_000).Draw(t, "per plant"),
		}
		a, b := rapid.IntRange(0, 2000).Draw(t, "a"), rapid.IntRange(0, 2000).Draw(t, "b")
		both := dose.For(p, a+b)
		require.Equal(t, both.Product.Millionths, dose.For(p, a).Product.Millionths+dose.For(p, b).Product.Millionths)
		require.Equal(t, both.VolumeMl, dose.For(p, a).VolumeMl+dose.For(p, b).VolumeMl)
		require.Equal(t, dose.For(p, a*3).Product, dose.For(p, a).Times(3).Product)
	})
}

func TestRateAgainstFloatingPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		small := []dose.Volume{dose.Ml, dose.Teaspoon, dose.Tablespoon, dose.FluidOunce}
		large := []dose.Volume{dose.Litre, dose.Pint, dose.Quart, dose.Gallon}
		p := dose.Measure{Thousandths: rapid.Int64Range(1, 10_000).Draw(t, "product"), Of: rapid.SampledFrom(small).Draw(t, "unit")}
		w := dose.Measure{Thousandths: rapid.Int64Range(1_000, 10_000).Draw(t, "water"), Of: rapid.SampledFrom(large).Draw(t, "of")}
		want := float64(p.Thousandths) * float64(p.Of) / (float64(w.Thousandths) * float64(w.Of)) * 1e6
		got, err := dose.Rate(p, w)
		require.NoError(t, err)
		require.LessOrEqual(t, float64(got), want+1e-6)
		require.Greater(t, float64(got), want-1-1e-6)
	})
}
