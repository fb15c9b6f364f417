package dose

import (
	"errors"
	"math/bits"
)

// Volume is a unit in which labels and kitchens measure. Its value is its size in
// thirty-seconds of a nanolitre, in which all of them are whole numbers.
type Volume int64

// The volumes. The United States gallon is 231 cubic inches and an inch is
// 25.4 mm, both by definition, so a gallon is 3785.411784 ml exactly (NIST
// Handbook 44, appendix C, from memory); the others are parts of it.
const (
	Ml         Volume = 32 * million
	Litre             = 1000 * Ml
	Gallon     Volume = 32 * 3_785_411_784
	Quart             = Gallon / 4
	Pint              = Gallon / 8
	FluidOunce        = Gallon / 128
	Tablespoon        = Gallon / 256
	Teaspoon          = Gallon / 768
)

// Measure is a number of volumes: 2.5 ml is Measure{2500, Ml}.
type Measure struct {
	Thousandths int64
	Of          Volume
}

// ErrMeasure is returned when a rate cannot be made of two measures: one of them
// is not positive, or there is more product than water.
var ErrMeasure = errors.New("measure out of range")

// mostThousandths keeps a count times its volume within 63 bits.
const mostThousandths = 50_000_000

// Rate turns a label's "so much product to so much water" into thousandths of a
// millilitre per litre, as model.Product keeps it, rounded down.
func Rate(product, water Measure) (int, error) {
	if !product.valid() || !water.valid() {
		return 0, ErrMeasure
	}
	p, w := uint64(product.size()), uint64(water.size())
	if p > w {
		return 0, ErrMeasure
	}
	hi, lo := bits.Mul64(p, million)
	quotient, _ := bits.Div64(hi, lo, w) // p <= w, so the quotient is at most a million
	return int(quotient), nil
}

func (m Measure) valid() bool {
	return m.Thousandths > 0 && m.Thousandths <= mostThousandths && m.Of > 0 && m.Of <= Gallon
}

func (m Measure) size() int64 { return m.Thousandths * int64(m.Of) }
