package cardtest

import (
	"math"
	"math/rand/v2"
)

// place is a place on the card in millimetres.
type place struct{ x, y float64 }

func (p place) distance(q place) float64 { return math.Hypot(p.x-q.x, p.y-q.y) }

// colour is light sent back, red, green and blue, linear, 1 being white.
type colour [3]float32

const perMM = 10 // samples of a sheet along a millimetre

// sheet is the card as it lies, seen without a camera.
type sheet struct {
	width, height float64 // millimetres
	w, h          int     // samples
	pix           []colour
	specks        []place
	large         []place
}

// The sizes of cards, in millimetres. From memory.
var formats = [][2]float64{{250, 100}, {200, 75}, {125, 100}}

const (
	margin      = 4.0  // millimetres from the rim within which no speck is
	largeLength = 12.0 // the longest insect in millimetres
)

func newSheet(r *rand.Rand, s Scene) *sheet {
	f := formats[r.IntN(len(formats))]
	c := &sheet{width: f[0], height: f[1], w: int(f[0] * perMM), h: int(f[1] * perMM)}
	c.pix = make([]colour, c.w*c.h)
	c.ground(r, s.Blue)
	if s.Lines {
		c.lines(r)
	}
	for range s.Large {
		c.insect(r)
	}
	for range s.Fibres {
		c.fibre(r)
	}
	c.scatter(r, s)
	return c
}

func (c *sheet) ground(r *rand.Rand, blue bool) {
	base := colour{0.78, 0.62, 0.05}
	if blue {
		base = colour{0.05, 0.2, 0.6}
	}
	fx, fy := 0.01+0.02*r.Float64(), 0.01+0.02*r.Float64()
	for y := range c.h {
		for x := range c.w {
			glue := 1 + 0.03*float32(math.Sin(fx*float64(x))*math.Sin(fy*float64(y))) // uneven glue
			c.pix[y*c.w+x] = base.times(glue)
		}
	}
}

func (k colour) times(f float32) colour { return colour{k[0] * f, k[1] * f, k[2] * f} }

// lines prints a grid.
func (c *sheet) lines(r *rand.Rand) {
	apart := []float64{10, 20, 25.4}[r.IntN(3)]
	half := 0.12 + 0.2*r.Float64()
	ink, strength := colour{0.02, 0.02, 0.02}, 0.4+0.5*r.Float64()
	for x := apart; x < c.width-3; x += apart {
		c.stroke(place{x, 0}, place{x, c.height}, half, ink, strength)
	}
	for y := apart; y < c.height-3; y += apart {
		c.stroke(place{0, y}, place{c.width, y}, half, ink, strength)
	}
}

// scatter puts the specks where they can be seen: not under a large insect, and
// not over the middle of another speck.
func (c *sheet) scatter(r *rand.Rand, s Scene) {
	kinds := specksOnYellow
	if s.Blue {
		kinds = specksOnBlue
	}
	kind := kinds[r.IntN(len(kinds))]
	length := kind.length * (0.85 + 0.3*r.Float64()) // this crowd's
	for tries := 0; len(c.specks) < s.Specks; tries++ {
		at := place{margin + r.Float64()*(c.width-2*margin), margin + r.Float64()*(c.height-2*margin)}
		if tries < 100_000 && !c.free(at, length) {
			continue
		}
		kind.draw(r, c, at, length)
		c.specks = append(c.specks, at)
	}
}

func (c *sheet) free(at place, length float64) bool {
	for _, l := range c.large {
		if at.distance(l) < 0.6*largeLength+length {
			return false
		}
	}
	for _, s := range c.specks {
		if at.distance(s) < 0.7*length {
			return false
		}
	}
	return true
}
