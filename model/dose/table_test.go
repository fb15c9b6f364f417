package dose_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/dose"
)

var units = map[string]dose.Volume{
	"ml": dose.Ml, "litre": dose.Litre, "teaspoon": dose.Teaspoon, "tablespoon": dose.Tablespoon,
	"fluid ounce": dose.FluidOunce, "cup": dose.Cup, "pint": dose.Pint, "quart": dose.Quart, "gallon": dose.Gallon,
	"cubic inch": dose.CubicInch,
}

// Sources of the rows: testdata/published/treatments.md.
func TestPublishedArithmetic(t *testing.T) { checkRows(t, "published", 4) }
func TestComputedArithmetic(t *testing.T)  { checkRows(t, "computed", 12) }
func TestMemoryArithmetic(t *testing.T)    { checkRows(t, "memory", 7) }

func checkRows(t *testing.T, kind string, want int) {
	n := 0
	for _, r := range readTable(t, "treatments-arithmetic.csv") {
		if r[0] != kind {
			continue
		}
		n++
		t.Run(r[1]+"/"+r[2]+" "+r[3], func(t *testing.T) {
			require.Contains(t, figures, r[2])
			in := map[string]string{}
			for part := range strings.SplitSeq(r[3], ";") {
				name, value, _ := strings.Cut(part, "=")
				in[name] = value
			}
			require.InDelta(t, number(t, r[4]), figures[r[2]](t, in), number(t, r[5])+1e-9)
		})
	}
	require.Equal(t, want, n)
}

func readTable(t *testing.T, name string) [][]string {
	file, err := os.Open("../../testdata/published/" + name)
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

func number(t *testing.T, s string) float64 {
	f, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return f
}

func measure(t *testing.T, s string) dose.Measure {
	count, unit, _ := strings.Cut(s, " ")
	require.Contains(t, units, unit)
	return dose.Measure{Thousandths: int64(number(t, count) * 1000), Of: units[unit]}
}

// figures works out each kind of figure with what the package has for it.
var figures = map[string]func(t *testing.T, in map[string]string) float64{
	"percent": func(t *testing.T, in map[string]string) float64 {
		rate, err := dose.Rate(measure(t, in["product"]), measure(t, in["water"]))
		require.NoError(t, err)
		return float64(rate) / 10_000
	},
	"fluid_ounces_per_gallon": func(t *testing.T, in map[string]string) float64 {
		rate, err := dose.Rate(measure(t, "1 litre"), measure(t, in["ratio"]+" litre"))
		require.NoError(t, err)
		take, err := dose.Take(rate, measure(t, "1 gallon"), dose.FluidOunce)
		require.NoError(t, err)
		return float64(take.Thousandths) / 1000
	},
	"ppm_of_percent": func(t *testing.T, in map[string]string) float64 {
		n, err := dose.PartsPerMillion(int(number(t, in["percent"])*1000), measure(t, "1 litre"), measure(t, "1 litre"))
		require.NoError(t, err)
		return float64(n) / 1000
	},
	"ppm_of_stock": func(t *testing.T, in map[string]string) float64 {
		n, err := dose.PartsPerMillion(int(number(t, in["percent"])*1000), measure(t, in["product"]), measure(t, in["water"]))
		require.NoError(t, err)
		return float64(n) / 1000
	},
	"round_pot_litres": func(t *testing.T, in map[string]string) float64 {
		cm := func(name string) dose.Length { return dose.Length(number(t, in[name])) * dose.Centimetre }
		ml, err := dose.Pot{Shape: dose.Round, Top: cm("top"), Bottom: cm("bottom"), Height: cm("height")}.Millilitres()
		require.NoError(t, err)
		return ml / 1000
	},
	"square_feet": func(t *testing.T, in map[string]string) float64 {
		metre := float64(100 * dose.Centimetre)
		return number(t, in["square_metres"]) * metre * metre / (float64(dose.Foot) * float64(dose.Foot))
	},
	"celsius": func(t *testing.T, in map[string]string) float64 {
		return float64(dose.Celsius(int(number(t, in["fahrenheit"])*1000))) / 1000
	},
	"gram_per_litre": func(t *testing.T, in map[string]string) float64 {
		require.Equal(t, "1 ounce", in["weight"])
		rate, err := dose.RateByWeight(dose.Weight{Thousandths: 1000, Of: dose.Ounce}, measure(t, in["water"]))
		require.NoError(t, err)
		return float64(rate) / 1000
	},
	"millilitres": func(t *testing.T, in map[string]string) float64 {
		require.Contains(t, units, in["unit"])
		return float64(units[in["unit"]]) / float64(dose.Ml)
	},
}

// A strength that one page prints lies in the band that others give for its kind.
func TestPublishedPlausible(t *testing.T) {
	means := map[string]model.Means{"soap": model.MeansSoap, "oil": model.MeansOil}
	rows := readTable(t, "treatments-rates.csv")
	require.Len(t, rows, 4)
	for _, r := range rows {
		t.Run(r[0]+"/"+r[1]+" "+r[2]+" "+r[3]+" per "+r[5], func(t *testing.T) {
			rate, err := dose.Rate(measure(t, r[2]+" "+r[3]), measure(t, r[4]+" "+r[5]))
			require.NoError(t, err)
			require.Contains(t, means, r[1])
			place, band := dose.Plausible(&model.Product{Means: means[r[1]], RateUnit: model.RateMlPerLitre, RateMilli: rate})
			require.Equal(t, dose.Expected, place, "%d ml/1000 l in %+v", rate, band)
		})
	}
}
