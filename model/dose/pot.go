package dose

import "math"

// Shape is the outline of a pot seen from above.
type Shape uint8

// The shapes.
const (
	Round  Shape = 1 // Top and Bottom are diameters
	Square Shape = 2 // Top and Bottom are sides
)

// Pot is the inside of a pot: a frustum that is as wide as Top at the rim and as
// wide as Bottom at the floor.
type Pot struct {
	Shape               Shape
	Top, Bottom, Height Length
}

// widest is larger than any pot: two metres.
const widest = 2000 * Millimetre

// Millilitres is the volume to the rim, not rounded. Pots are not filled to the rim
// and inch sizes are only names, so a label that doses by the pot's size means its
// own measure and not this volume.
func (p Pot) Millilitres() (float64, error) {
	for _, l := range []Length{p.Top, p.Bottom, p.Height} {
		if l <= 0 || l > widest {
			return 0, ErrMeasure
		}
	}
	a, b, h := p.Top.cm(), p.Bottom.cm(), p.Height.cm()
	prism := h / 3 * (a*a + a*b + b*b) // of the square around it
	switch p.Shape {
	case Round:
		return math.Pi / 4 * prism, nil
	case Square:
		return prism, nil
	}
	return 0, ErrMeasure
}

func (l Length) cm() float64 { return float64(l) / float64(Centimetre) }
