package dose_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/dose"
)

func TestPlausible(t *testing.T) {
	soap := func(milli int) model.Product {
		return model.Product{Means: model.MeansSoap, RateUnit: model.RateMlPerLitre, RateMilli: milli}
	}
	for name, c := range map[string]struct {
		p    model.Product
		want dose.Place
	}{
		"as pages print it":          {soap(15_000), dose.Expected},
		"a slip of the decimal":      {soap(1_500), dose.TooLow},
		"a slip the other way":       {soap(150_000), dose.TooHigh},
		"not entered":                {soap(0), dose.NoRate},
		"unit not entered":           {model.Product{Means: model.MeansSoap, RateMilli: 5}, dose.NoRate},
		"grams have no band":         {model.Product{Means: model.MeansSoap, RateUnit: model.RateGramPerLitre, RateMilli: 5}, dose.NoBand},
		"ready to use has none":      {model.Product{Means: model.MeansOil, RateUnit: model.RateReady}, dose.NoBand},
		"a systemic has none":        {model.Product{Means: model.MeansSystemicSoil, RateUnit: model.RateMlPerLitre, RateMilli: 1}, dose.NoBand},
		"other sprays have none":     {model.Product{Means: model.MeansContactSpray, RateUnit: model.RateMlPerLitre, RateMilli: 1}, dose.NoBand},
		"a negative rate is no rate": {soap(-4), dose.NoRate},
	} {
		t.Run(name, func(t *testing.T) {
			place, band := dose.Plausible(&c.p)
			require.Equal(t, c.want, place)
			require.Equal(t, place == dose.NoBand, len(band.Sources) == 0)
		})
	}
}

func TestForShelf(t *testing.T) {
	soap := &model.Product{Means: model.MeansSoap, RateUnit: model.RateMlPerLitre, RateMilli: 20_000, StockMilli: 30_000}
	b, err := dose.ForShelf(soap, []int{100, 250, 50}, 4)
	require.NoError(t, err)
	require.Equal(t, int64(400), b.Once.VolumeMl)
	require.Equal(t, 3, b.Once.Plants)
	require.Equal(t, "8", b.Once.Product.Decimal())
	require.Equal(t, "32", b.All.Decimal())
	require.Equal(t, "2", b.Short.Decimal())
	require.Equal(t, 3, b.Covers())

	enough, err := dose.ForShelf(soap, []int{100}, 4)
	require.NoError(t, err)
	require.Zero(t, enough.Short.Millionths)
	require.Equal(t, 4, enough.Covers())

	water, err := dose.ForShelf(&model.Product{Means: model.MeansWater}, []int{500}, 4)
	require.NoError(t, err)
	require.Zero(t, water.Short.Millionths)
	require.Equal(t, 4, water.Covers())

	for name, c := range map[string]struct {
		each  []int
		times int
	}{
		"a negative volume": {[]int{100, -1}, 1}, "no time": {[]int{1}, 0}, "too often": {[]int{1}, 401}, "too much": {[]int{math.MaxInt, 1}, 1},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := dose.ForShelf(soap, c.each, c.times)
			require.ErrorIs(t, err, dose.ErrMeasure)
		})
	}
}

func TestPotRefuses(t *testing.T) {
	for _, p := range []dose.Pot{{}, {dose.Round, 1, 1, 0}, {dose.Round, -1, 1, 1}, {dose.Square, 3000 * dose.Millimetre, 1, 1}, {9, 1, 1, 1}} {
		_, err := p.Millilitres()
		require.ErrorIs(t, err, dose.ErrMeasure)
	}
}

// A pot lies between the straight pots of its floor and of its rim, and a round one
// holds pi/4 of the square one around it.
func TestPotVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := func(name string) dose.Length { return dose.Length(rapid.Int64Range(1000, 600_000).Draw(t, name)) }
		p := dose.Pot{Shape: dose.Square, Top: length("top"), Bottom: length("bottom"), Height: length("height")}
		v, err := p.Millilitres()
		require.NoError(t, err)
		cm := func(l dose.Length) float64 { return float64(l) / float64(dose.Centimetre) }
		small, large := min(cm(p.Top), cm(p.Bottom)), max(cm(p.Top), cm(p.Bottom))
		require.GreaterOrEqual(t, v, small*small*cm(p.Height)*(1-1e-12))
		require.LessOrEqual(t, v, large*large*cm(p.Height)*(1+1e-12))
		p.Shape = dose.Round
		r, err := p.Millilitres()
		require.NoError(t, err)
		require.InEpsilon(t, v*math.Pi/4, r, 1e-12)
	})
}

// There and back between two units never gains, and loses less than a thousandth of
// the coarser one.
func TestUnitsThereAndBack(t *testing.T) {
	all := []dose.Volume{dose.Ml, dose.Litre, dose.Teaspoon, dose.Tablespoon, dose.FluidOunce, dose.Cup, dose.Pint, dose.Quart, dose.Gallon, dose.CubicInch}
	rapid.Check(t, func(t *rapid.T) {
		from, to := rapid.SampledFrom(all).Draw(t, "from"), rapid.SampledFrom(all).Draw(t, "to")
		m := dose.Measure{Thousandths: rapid.Int64Range(10_000, 50_000_000).Draw(t, "n"), Of: from}
		there, err := m.In(to)
		require.NoError(t, err)
		size := func(m dose.Measure) float64 { return float64(m.Thousandths) * float64(m.Of) }
		require.LessOrEqual(t, size(there), size(m)*(1+1e-12))
		require.Greater(t, size(there), size(m)-float64(to)*(1+1e-9))
	})
}

// Every litre of a rate in spoons is what the same rate gives in millilitres.
func TestTakeAgreesWithMix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate, litres := rapid.IntRange(1, 1_000_000).Draw(t, "rate"), rapid.IntRange(1, 1000).Draw(t, "litres")
		take, err := dose.Take(rate, dose.Measure{Thousandths: int64(litres) * 1000, Of: dose.Litre}, dose.Ml)
		require.NoError(t, err)
		mix := dose.Of(&model.Product{RateUnit: model.RateMlPerLitre, RateMilli: rate}, int64(litres)*1000)
		require.Equal(t, mix.Product.Millionths/1000, take.Thousandths)
		spoons, err := mix.Product.In(dose.Teaspoon)
		require.NoError(t, err)
		again, err := dose.Take(rate, dose.Measure{Thousandths: int64(litres) * 1000, Of: dose.Litre}, dose.Teaspoon)
		require.NoError(t, err)
		require.Equal(t, again, spoons)
	})
}

func FuzzUnits(f *testing.F) {
	f.Add(int64(1000), int64(dose.Gallon), 20_000, int64(500))
	f.Fuzz(func(t *testing.T, n, of int64, rate int, grams int64) {
		water := dose.Measure{Thousandths: n, Of: dose.Volume(of)}
		_, err1 := water.In(dose.Teaspoon)
		_, err2 := dose.Take(rate, water, dose.Ml)
		_, err3 := dose.PartsPerMillion(rate, water, water)
		_, err4 := dose.RateByWeight(dose.Weight{Thousandths: grams, Of: dose.Ounce}, water)
		_, err5 := dose.Amount{Millionths: n, Unit: dose.Millilitre}.In(dose.Volume(of))
		for _, err := range []error{err1, err2, err3, err4, err5} {
			if err != nil {
				require.ErrorIs(t, err, dose.ErrMeasure)
			}
		}
	})
}

func BenchmarkForShelf(b *testing.B) {
	p := &model.Product{RateUnit: model.RateMlPerLitre, RateMilli: 20_000}
	each := make([]int, 500)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := dose.ForShelf(p, each, 5); err != nil {
			b.Fatal(err)
		}
	}
}
