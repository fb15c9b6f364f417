package cardtest

import (
	"math"
	"math/rand/v2"
)

// kind is a kind of speck.
type kind struct {
	length float64 // millimetres
	broad  float64 // width as a share of the length
	body   colour
	wings  float64 // how much the wings hide; 0 is none
}

// Lengths are of the order of small flying pests; all figures are from memory.
var (
	specksOnYellow = []kind{
		{length: 1.6, broad: 0.55, body: colour{0.8, 0.8, 0.74}},               // white
		{length: 2.4, broad: 0.3, body: colour{0.02, 0.02, 0.02}, wings: 0.35}, // black, winged
		{length: 1.5, broad: 0.32, body: colour{0.1, 0.05, 0.02}},              // brown, slender
		{length: 1.8, broad: 0.6, body: colour{0.06, 0.08, 0.02}},              // dark, round
	}
	specksOnBlue = []kind{
		{length: 1.5, broad: 0.32, body: colour{0.1, 0.05, 0.02}},
		{length: 1.4, broad: 0.35, body: colour{0.45, 0.36, 0.12}}, // yellowish, slender
		{length: 2.4, broad: 0.3, body: colour{0.02, 0.02, 0.02}, wings: 0.35},
	}
)

func (k kind) draw(r *rand.Rand, c *sheet, at place, length float64) {
	long := length * math.Exp(0.15*r.NormFloat64()) / 2
	broad := long * k.broad * (0.9 + 0.2*r.Float64())
	turn := 2 * math.Pi * r.Float64()
	body := k.body.times(float32(0.8 + 0.4*r.Float64()))
	if k.wings > 0 {
		for _, side := range []float64{-0.5, 0.5} {
			c.ellipse(ahead(at, turn+side+math.Pi, 0.4*long), 0.8*long, 0.35*long, turn+side, colour{0.3, 0.3, 0.3}, k.wings)
		}
	}
	c.ellipse(at, long, broad, turn, body, 0.95)
}

// insect draws a large one: body, wings and legs.
func (c *sheet) insect(r *rand.Rand) {
	at := place{largeLength + r.Float64()*(c.width-2*largeLength), largeLength + r.Float64()*(c.height-2*largeLength)}
	long, turn := largeLength/2*(0.5+0.5*r.Float64()), 2*math.Pi*r.Float64()
	dark := colour{0.03, 0.025, 0.02}
	for _, side := range []float64{-0.35, 0.35} {
		c.ellipse(ahead(at, turn+side+math.Pi, 0.4*long), 0.9*long, 0.3*long, turn+side, colour{0.35, 0.33, 0.3}, 0.5)
	}
	c.ellipse(at, long, 0.28*long, turn, dark, 0.97)
	c.ellipse(ahead(at, turn, 0.95*long), 0.25*long, 0.25*long, turn, dark, 0.97)
	for leg := range 6 {
		from := ahead(at, turn, (float64(leg/2)-1)*0.35*long)
		side := math.Pi/2 + 0.5*(r.Float64()-0.5)
		if leg%2 == 1 {
			side = -side
		}
		c.stroke(from, ahead(from, turn+side, 0.8*long), 0.08, dark, 0.9)
	}
	c.large = append(c.large, at)
}

// fibre draws a bent hair.
func (c *sheet) fibre(r *rand.Rand) {
	at := place{r.Float64() * c.width, r.Float64() * c.height}
	turn, bend := 2*math.Pi*r.Float64(), 0.1*r.NormFloat64()
	half := 0.05 + 0.05*r.Float64()
	for range 10 + r.IntN(20) {
		next := ahead(at, turn, 1)
		c.stroke(at, next, half, colour{0.05, 0.05, 0.06}, 0.85)
		at, turn = next, turn+bend
	}
}

func ahead(p place, turn, by float64) place {
	return place{p.x + by*math.Cos(turn), p.y + by*math.Sin(turn)}
}

// ellipse paints one with its half axes in millimetres and a rim one sample soft.
func (c *sheet) ellipse(at place, long, broad, turn float64, k colour, strength float64) {
	cos, sin := math.Cos(turn), math.Sin(turn)
	c.paint(at, long, k, strength, func(dx, dy float64) float64 {
		u, v := (dx*cos+dy*sin)/long, (dy*cos-dx*sin)/broad
		return (1 - math.Hypot(u, v)) * broad
	})
}

// stroke paints a straight line.
func (c *sheet) stroke(from, to place, half float64, k colour, strength float64) {
	middle := place{(from.x + to.x) / 2, (from.y + to.y) / 2}
	long := from.distance(to) / 2
	ux, uy := (to.x-from.x)/(2*long), (to.y-from.y)/(2*long)
	c.paint(middle, long+half, k, strength, func(dx, dy float64) float64 {
		along, across := dx*ux+dy*uy, dy*ux-dx*uy
		over := max(math.Abs(along)-long, 0)
		return half - math.Hypot(over, across)
	})
}

// paint blends a colour where inside, in millimetres from the rim, is positive.
func (c *sheet) paint(at place, reach float64, k colour, strength float64, inside func(dx, dy float64) float64) {
	x0, x1 := max(0, int((at.x-reach)*perMM)-1), min(c.w, int((at.x+reach)*perMM)+2)
	y0, y1 := max(0, int((at.y-reach)*perMM)-1), min(c.h, int((at.y+reach)*perMM)+2)
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			d := inside((float64(x)+0.5)/perMM-at.x, (float64(y)+0.5)/perMM-at.y)
			cover := float32(min(max(d*perMM+0.5, 0), 1) * strength)
			if cover == 0 {
				continue
			}
			p := &c.pix[y*c.w+x]
			for i := range p {
				p[i] += (k[i] - p[i]) * cover
			}
		}
	}
}
