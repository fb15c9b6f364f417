package degree_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model/degree"
)

var methods = map[string]degree.Method{
	"average": degree.Average, "average raised": degree.AverageRaised, "single triangle": degree.SingleTriangle,
	"double triangle": degree.DoubleTriangle, "single sine": degree.SingleSine, "double sine": degree.DoubleSine,
}

// TestPublished holds every method against degree-days that tables print, to the
// last decimal printed. Sources: testdata/published/biology.md.
func TestPublished(t *testing.T) {
	file, err := os.Open("../../testdata/published/degreedays.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 71)
	misprints := 0
	for _, r := range rows[1:] {
		t.Run(r[0]+"/"+r[1], func(t *testing.T) {
			ours, printed := fromRow(t, r), number(t, r[9])
			if r[10] == "" {
				require.InDelta(t, printed, ours, lastDecimal(r[0])/2+1e-9)
				return
			}
			misprints++
			require.InDelta(t, number(t, r[10]), ours, 1e-9, "what the formula gives")
			require.Greater(t, math.Abs(printed-ours), 1.0, "a misprint that agrees is none")
		})
	}
	require.Equal(t, 1, misprints, "the one known misprint, row 9 of the double triangle")
}

// lastDecimal is the place to which a table is printed; trailing noughts are not
// kept in ours.
func lastDecimal(source string) float64 {
	return map[string]float64{"ZAL1983": 0.01, "MCM1997": 0.1, "UCC-OJAI": 0.01, "UCIPM-DD": 1, "UCIPM-DDC": 1}[source]
}

// fromRow computes a row in Celsius and gives the result in the row's own unit.
func fromRow(t *testing.T, r []string) float64 {
	t.Helper()
	toCelsius, size := func(x float64) float64 { return x }, 1.0
	if r[8] == "F" {
		toCelsius, size = func(f float64) float64 { return (f - 32) / 1.8 }, 1.8
	}
	read := func(s string, otherwise float64) float64 {
		if s == "" {
			return otherwise
		}
		return toCelsius(number(t, s))
	}
	low, high := read(r[3], 0), read(r[4], 0)
	limits := degree.Limits{Lower: read(r[6], 0), Upper: read(r[7], math.Inf(1))}
	if r[2] == "hours" {
		hours := make([]float64, 24)
		for i := range hours {
			hours[i] = low
		}
		d, err := degree.Hours(hours, limits)
		require.NoError(t, err)
		return d * size
	}
	require.Contains(t, methods, r[2])
	d, err := methods[r[2]].Day(low, high, read(r[5], low), limits)
	require.NoError(t, err)
	return d * size
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// TestComputed integrates the shapes of the day numerically and compares.
func TestComputed(t *testing.T) {
	shapes := map[string]func(phase float64) float64{ // 0 to 1 over the day, from 0 up to 1 and back
		"single triangle": func(p float64) float64 { return 1 - math.Abs(2*p-1) },
		"single sine":     func(p float64) float64 { return (1 - math.Cos(2*math.Pi*p)) / 2 },
	}
	days := map[string][4]float64{
		"below":           {2, 8, 10, 30},
		"above":           {32, 38, 10, 30},
		"between":         {12, 28, 10, 30},
		"across lower":    {4, 22, 10, 30},
		"across upper":    {15, 36, 10, 30},
		"across both":     {4, 36, 10, 30},
		"barely above":    {2, 10.01, 10, 30},
		"narrow window":   {5, 35, 19.9, 20.1},
		"lower at lowest": {10, 20, 10, 30},
	}
	for name, shape := range shapes {
		for day, d := range days {
			t.Run(name+"/"+day, func(t *testing.T) {
				limits := degree.Limits{Lower: d[2], Upper: d[3]}
				const steps = 200_000
				sum := 0.0
				for i := range steps {
					sum += limits.At(d[0] + (d[1]-d[0])*shape((float64(i)+0.5)/steps))
				}
				got, err := methods[name].Day(d[0], d[1], d[0], limits)
				require.NoError(t, err)
				require.InDelta(t, sum/steps, got, 1e-6)
			})
		}
	}
}

// TestComputedHours holds the readings of a sine day against the sine method.
func TestComputedHours(t *testing.T) {
	const low, high = 12.0, 26.0
	limits := degree.Limits{Lower: 10, Upper: 30}
	var hours []float64
	for h := range 24 {
		hours = append(hours, (low+high)/2-(high-low)/2*math.Cos(2*math.Pi*float64(h)/24))
	}
	got, err := degree.Hours(hours, limits)
	require.NoError(t, err)
	sine, err := degree.SingleSine.Day(low, high, low, limits)
	require.NoError(t, err)
	require.InDelta(t, sine, got, 1e-9)
	half, err := degree.Hours(hours[:12], limits)
	require.NoError(t, err)
	require.Less(t, half, got, "half a day's readings are half a day")
}

func TestRefuses(t *testing.T) {
	usual := degree.Limits{Lower: 10, Upper: 30}
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		method          degree.Method
		low, high, next float64
		limits          degree.Limits
		want            error
	}{
		"minimum above maximum":         {degree.SingleSine, 20, 10, 20, usual, degree.ErrOrder},
		"next minimum above maximum":    {degree.DoubleSine, 10, 20, 21, usual, degree.ErrOrder},
		"no minimum":                    {degree.Average, nan, 10, 0, usual, degree.ErrTemperature},
		"no maximum":                    {degree.Average, 10, nan, 0, usual, degree.ErrTemperature},
		"no next minimum":               {degree.DoubleTriangle, 10, 20, nan, usual, degree.ErrTemperature},
		"endless heat":                  {degree.SingleTriangle, 10, inf, 0, usual, degree.ErrTemperature},
		"colder than anywhere":          {degree.Average, -61, 10, 0, usual, degree.ErrTemperature},
		"hotter than anywhere":          {degree.Average, 10, 61, 0, usual, degree.ErrTemperature},
		"thresholds equal":              {degree.SingleSine, 10, 20, 0, degree.Limits{Lower: 10, Upper: 10}, degree.ErrLimits},
		"thresholds crossed":            {degree.SingleSine, 10, 20, 0, degree.Limits{Lower: 30, Upper: 10}, degree.ErrLimits},
		"lower threshold not a number":  {degree.SingleSine, 10, 20, 0, degree.Limits{Lower: nan, Upper: 30}, degree.ErrTemperature},
		"upper threshold not a number":  {degree.SingleSine, 10, 20, 0, degree.Limits{Lower: 10, Upper: nan}, degree.ErrTemperature},
		"upper threshold minus endless": {degree.SingleSine, 10, 20, 0, degree.Limits{Lower: 10, Upper: -inf}, degree.ErrTemperature},
		"no method":                     {0, 10, 20, 10, usual, degree.ErrMethod},
		"a method too many":             {degree.DoubleSine + 1, 10, 20, 10, usual, degree.ErrMethod},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := c.method.Day(c.low, c.high, c.next, c.limits)
			require.ErrorIs(t, err, c.want)
		})
	}
}

func TestHoursRefuses(t *testing.T) {
	_, err := degree.Hours(nil, degree.Above(10))
	require.ErrorIs(t, err, degree.ErrReadings)
	_, err = degree.Hours([]float64{20, math.NaN()}, degree.Above(10))
	require.ErrorIs(t, err, degree.ErrTemperature)
	_, err = degree.Hours([]float64{20}, degree.Limits{Lower: 20, Upper: 10})
	require.ErrorIs(t, err, degree.ErrLimits)
}

// TestSingleMethodsIgnoreTheNextDay: their callers need not know it.
func TestSingleMethodsIgnoreTheNextDay(t *testing.T) {
	for _, m := range degree.Methods {
		if m.Double() {
			continue
		}
		a, err := m.Day(10, 20, math.NaN(), degree.Above(12))
		require.NoError(t, err)
		b, err := m.Day(10, 20, 10, degree.Above(12))
		require.NoError(t, err)
		require.Equal(t, b, a)
	}
}

// TestLaws holds for every method and any day:
//  1. the gain lies between 0 and the window, and between those of constant days
//     at the minimum and the maximum;
//  2. a warmer day gains no less;
//  3. without a range the methods agree;
//  4. a day wholly inside the thresholds gains its mean;
//  5. windows that touch add up.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(degree.Methods).Draw(t, "method")
		low := rapid.Float64Range(-20, 40).Draw(t, "low")
		high := low + rapid.Float64Range(0, 19).Draw(t, "range")
		l := degree.Limits{Lower: rapid.Float64Range(0, 20).Draw(t, "lower")}
		l.Upper = l.Lower + rapid.Float64Range(0.01, 20).Draw(t, "window")
		day := func(low, high float64, l degree.Limits) float64 {
			d, err := m.Day(low, high, low, l)
			require.NoError(t, err)
			return d
		}
		got := day(low, high, l)
		require.GreaterOrEqual(t, got, l.At(low)-1e-9)
		require.LessOrEqual(t, got, l.At(high)+1e-9)
		warmer := rapid.Float64Range(0, 1).Draw(t, "warmer")
		require.GreaterOrEqual(t, day(low+warmer, high+warmer, l), got-1e-9)
		require.InDelta(t, l.At(low), day(low, low, l), 1e-9)
		if low >= l.Lower && high <= l.Upper {
			require.InDelta(t, (low+high)/2-l.Lower, got, 1e-9)
		}
		middle := (l.Lower + l.Upper) / 2
		if middle > l.Lower && middle < l.Upper {
			below, above := day(low, high, degree.Limits{Lower: l.Lower, Upper: middle}), day(low, high, degree.Limits{Lower: middle, Upper: l.Upper})
			require.InDelta(t, got, below+above, 1e-9)
		}
	})
}

func TestNothingIsAllocated(t *testing.T) {
	hours := make([]float64, 24)
	limits := degree.Limits{Lower: 10, Upper: 30}
	require.Zero(t, testing.AllocsPerRun(100, func() {
		for _, m := range degree.Methods {
			_, _ = m.Day(5, 35, 6, limits)
			_, _ = m.Day(35, 5, 6, limits)
		}
		_, _ = degree.Hours(hours, limits)
	}))
}

func FuzzDay(f *testing.F) {
	f.Add(uint8(5), 10.0, 20.0, 12.0, 9.5, 30.0)
	f.Add(uint8(6), -60.0, 60.0, -60.0, -59.0, 59.0)
	f.Add(uint8(3), 10.0, math.Nextafter(10, 11), 10.0, 10.0, math.Inf(1))
	f.Add(uint8(4), 0.0, 5e-324, 0.0, 0.0, 1.0)
	f.Fuzz(func(t *testing.T, method uint8, low, high, next, lower, upper float64) {
		limits := degree.Limits{Lower: lower, Upper: upper}
		d, err := degree.Method(method).Day(low, high, next, limits)
		if err != nil {
			require.Zero(t, d)
			return
		}
		require.GreaterOrEqual(t, d, 0.0)
		require.LessOrEqual(t, d, limits.At(high)+1e-9)
	})
}

func BenchmarkDay(b *testing.B) {
	limits := degree.Limits{Lower: 10, Upper: 30}
	for name, m := range methods {
		b.Run(strings.ReplaceAll(name, " ", "-"), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, _ = m.Day(5, 35, 6, limits)
			}
		})
	}
}
