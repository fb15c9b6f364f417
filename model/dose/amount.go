package dose

import (
	"strconv"
	"strings"
)

// Unit is what an amount of product is measured in.
type Unit uint8

// The units.
const (
	Millilitre Unit = 1
	Gram       Unit = 2
)

// Amount is how much of a product, in millionths of its unit: a label's rate in
// thousandths times a volume in thousandths of a litre leaves nothing to round.
type Amount struct {
	Millionths int64
	Unit       Unit
}

const million = 1_000_000

// Measured is the amount as a person measures it out: rounded down to three
// significant digits.
func (a Amount) Measured() Amount {
	step := int64(1)
	for a.Millionths/step >= 1000 {
		step *= 10
	}
	a.Millionths -= a.Millionths % step
	return a
}

// Decimal is the amount as a plain decimal number without its unit, such as
// "12.5". A catalogue of texts puts in its own decimal sign.
func (a Amount) Decimal() string {
	whole := strconv.FormatInt(a.Millionths/million, 10)
	rest := a.Millionths % million
	if rest == 0 {
		return whole
	}
	digits := strconv.FormatInt(million+rest, 10)[1:]
	return whole + "." + strings.TrimRight(digits, "0")
}
