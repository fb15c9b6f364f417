package dose

import "math/bits"

// More volumes. An inch is 25.4 mm by definition, so a cubic inch is 16.387064 ml.
const (
	Cup       = Gallon / 16
	CubicInch = Gallon / 231
)

// Length is a length in micrometres.
type Length int64

// The lengths.
const (
	Millimetre Length = 1000
	Centimetre        = 10 * Millimetre
	Inch       Length = 25_400
	Foot              = 12 * Inch
)

// Mass is a mass in nanograms, in which the avoirdupois units are whole numbers: the
// pound is 453.59237 g by definition (from memory).
type Mass int64

// The masses.
const (
	Gramme Mass = 1_000_000_000
	Pound  Mass = 453_592_370_000
	Ounce       = Pound / 16
)

// Weight is a number of masses: half an ounce is Weight{500, Ounce}.
type Weight struct {
	Thousandths int64
	Of          Mass
}

func (w Weight) valid() bool {
	return w.Thousandths > 0 && w.Thousandths <= 10_000_000 && w.Of > 0 && w.Of <= Pound
}

// RateByWeight turns a label's "so much weight to so much water" into thousandths
// of a gram per litre, rounded down. More than a kilogram per litre is no rate.
func RateByWeight(product Weight, water Measure) (int, error) {
	if !product.valid() || !water.valid() {
		return 0, ErrMeasure
	}
	const scale = uint64(Litre) / million
	rate, ok := portion(uint64(product.Thousandths)*uint64(product.Of), scale, uint64(water.size()))
	if !ok || rate > million {
		return 0, ErrMeasure
	}
	return int(rate), nil
}

// portion is a * b / c, rounded down, or false if it does not fit.
func portion(a, b, c uint64) (uint64, bool) {
	hi, lo := bits.Mul64(a, b)
	if hi >= c {
		return 0, false
	}
	q, _ := bits.Div64(hi, lo, c)
	return q, q <= 1<<62
}

// In is the same volume in another unit, in thousandths of it, rounded down.
func (m Measure) In(unit Volume) (Measure, error) {
	if !m.valid() || unit <= 0 || unit > Gallon {
		return Measure{}, ErrMeasure
	}
	n, ok := portion(uint64(m.size()), 1, uint64(unit))
	if !ok {
		return Measure{}, ErrMeasure
	}
	return Measure{int64(n), unit}, nil
}

// In is an amount of a liquid in a unit of volume, rounded down to a thousandth of
// it, for people who measure with spoons.
func (a Amount) In(unit Volume) (Measure, error) {
	if a.Unit != Millilitre || a.Millionths < 0 || unit <= 0 || unit > Gallon {
		return Measure{}, ErrMeasure
	}
	n, ok := portion(uint64(a.Millionths), 1000*uint64(Ml)/million, uint64(unit))
	if !ok {
		return Measure{}, ErrMeasure
	}
	return Measure{int64(n), unit}, nil
}

// Take is how much product goes into water at a rate in thousandths of a millilitre
// per litre, in a unit of volume, rounded down to a thousandth of it.
func Take(rateMilli int, water Measure, unit Volume) (Measure, error) {
	if rateMilli < 0 || rateMilli > million || !water.valid() || unit <= 0 || unit > Gallon {
		return Measure{}, ErrMeasure
	}
	n, ok := portion(uint64(water.size()), uint64(rateMilli), uint64(unit)*million)
	if !ok {
		return Measure{}, ErrMeasure
	}
	return Measure{int64(n), unit}, nil
}

// PartsPerMillion is what an active ingredient comes to in a mix: a product that
// holds thousandths of a per cent of it, so much of it in so much water. The answer
// is in thousandths of a milligram per litre for weight by volume, or of a part per
// million by volume, rounded down; the water is not increased by the product.
func PartsPerMillion(percentThousandths int, product, water Measure) (int64, error) {
	if percentThousandths < 0 || percentThousandths > 100_000 || !product.valid() || !water.valid() {
		return 0, ErrMeasure
	}
	n, ok := portion(uint64(product.size()), uint64(percentThousandths)*10_000, uint64(water.size()))
	if !ok {
		return 0, ErrMeasure
	}
	return int64(n), nil
}

// Celsius turns thousandths of a degree Fahrenheit into thousandths of a degree
// Celsius, rounded down: right for a label's hottest temperature. For a coldest one
// go up to the next whole degree.
func Celsius(fahrenheitMilli int) int {
	n := (fahrenheitMilli - 32_000) * 5
	q := n / 9
	if n%9 < 0 {
		q--
	}
	return q
}
