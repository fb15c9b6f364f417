package cardtest

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"

	"leafturn/photo/card"
)

// view is a camera over a card on a table.
type view struct {
	s      Scene
	toCard [9]float64 // from pixels to millimetres
	toView [9]float64 // and back
	table  table
	lights lights
}

// newView puts the card into the middle of the picture, its long side along the
// picture's, a little askew and with perspective.
func newView(r *rand.Rand, s Scene, c *sheet) *view {
	w, h := float64(s.Width), float64(s.Height)
	cw, ch := c.width, c.height
	if s.Height > s.Width {
		cw, ch = ch, cw
	}
	turn := s.Turn * math.Pi / 180 * (2*r.Float64() - 1)
	cos, sin := math.Abs(math.Cos(turn)), math.Abs(math.Sin(turn))
	fill := (0.97 - 1.6*s.Tilt) * min(w/(cw*cos+ch*sin), h/(cw*sin+ch*cos)) * (0.88 + 0.1*r.Float64())
	var to [4]place
	for i, m := range [4]place{{-cw, -ch}, {cw, -ch}, {cw, ch}, {-cw, ch}} {
		x, y := m.x*fill/2, m.y*fill/2
		x += s.Tilt * fill * min(cw, ch) * (2*r.Float64() - 1)
		y += s.Tilt * fill * min(cw, ch) * (2*r.Float64() - 1)
		to[i] = place{w/2 + x*math.Cos(turn) - y*math.Sin(turn), h/2 + x*math.Sin(turn) + y*math.Cos(turn)}
	}
	from := [4]place{{0, 0}, {c.width, 0}, {c.width, c.height}, {0, c.height}}
	if s.Height > s.Width {
		from = [4]place{{0, c.height}, {0, 0}, {c.width, 0}, {c.width, c.height}}
	}
	return &view{s: s, toView: project(from, to), toCard: project(to, from), table: newTable(r), lights: newLights(r, s, c)}
}

// point is where a place on the card is on the photo.
func (v *view) point(m place) card.Point {
	p := apply(v.toView, m)
	long := float64(max(v.s.Width, v.s.Height))
	return card.Point{X: p.x / long, Y: p.y / long}
}

// expose takes the photo.
func (v *view) expose(r *rand.Rand, c *sheet) image.Image {
	w, h := v.s.Width, v.s.Height
	light := make([]colour, w*h)
	for y := range h {
		for x := range w {
			light[y*w+x] = v.seen(c, float64(x), float64(y))
		}
	}
	blur(light, w, h, v.s.Blur)
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i, k := range light {
		img.SetRGBA(i%w, i/w, color.RGBA{v.sensed(r, k[0]), v.sensed(r, k[1]), v.sensed(r, k[2]), 255})
	}
	return img
}

// sensed is the 8-bit value of an amount of light. Grain grows with the root of
// the light, as shot noise does.
func (v *view) sensed(r *rand.Rand, light float32) byte {
	light = min(max(light, 0), 1)
	root := math.Sqrt(float64(light))
	value := 255 * root * (1 - 0.2*(1-root)*root) // close to the usual power of 1/2.2
	noise := v.s.Grain * (0.4 + 0.85*math.Sqrt(root)) * r.NormFloat64()
	return byte(min(max(value+noise, 0), 255))
}

// seen is the light a pixel receives: of the sheet or table the mean of four rays,
// of the lights, which change slowly, the ray in the middle.
func (v *view) seen(c *sheet, x, y float64) colour {
	diffuse, reflected := v.lights.at(apply(v.toCard, place{x + 0.5, y + 0.5}))
	var sum colour
	for _, d := range [4]place{{0.25, 0.25}, {0.75, 0.25}, {0.25, 0.75}, {0.75, 0.75}} {
		m := apply(v.toCard, place{x + d.x, y + d.y})
		var k colour
		gloss := float32(0) // of the table
		if m.x >= 0 && m.y >= 0 && m.x < c.width && m.y < c.height {
			k, gloss = c.pix[int(m.y*perMM)*c.w+int(m.x*perMM)], 1
		} else {
			k = v.table.at(x+d.x, y+d.y)
		}
		for i := range sum {
			sum[i] += k[i]*float32(diffuse) + gloss*float32(reflected)
		}
	}
	return sum.times(float32(v.s.Light / 4))
}

// table is what the card lies on.
type table struct {
	base  colour
	grain [4]float64
}

func newTable(r *rand.Rand) table {
	bases := []colour{{0.3, 0.3, 0.3}, {0.6, 0.6, 0.58}, {0.3, 0.17, 0.08}, {0.05, 0.05, 0.05}, {0.04, 0.1, 0.03}}
	return table{bases[r.IntN(len(bases))], [4]float64{0.002 + 0.01*r.Float64(), 0.05 + 0.1*r.Float64(), 6 * r.Float64(), 0.1 + 0.2*r.Float64()}}
}

// at is the table's colour: streaks like those of wood.
func (t table) at(x, y float64) colour {
	g := t.grain
	streak := math.Sin(g[1]*y+3*math.Sin(g[0]*x+g[2])) + 0.5*math.Sin(2.3*g[1]*y+g[0]*x)
	return t.base.times(float32(1 + g[3]*streak/1.5))
}

// lights are uneven light, a shadow with a soft edge, and reflected light.
type lights struct {
	slope, shade   place // direction over the card, per millimetre
	middle         place
	shadow, soft   float64
	offset         float64
	spot           place
	strength, wide float64
}

func newLights(r *rand.Rand, s Scene, c *sheet) lights {
	direction := func(size float64) place {
		a := 2 * math.Pi * r.Float64()
		return place{size * math.Cos(a), size * math.Sin(a)}
	}
	return lights{
		slope: direction(s.Uneven * r.Float64() / c.width), shade: direction(1),
		middle: place{c.width / 2, c.height / 2},
		shadow: s.Shadow, soft: 1 + 8*r.Float64(), offset: (r.Float64() - 0.5) * c.height,
		spot:     place{r.Float64() * c.width, r.Float64() * c.height},
		strength: s.Glare, wide: 6 + 18*r.Float64(),
	}
}

func (l lights) at(m place) (diffuse, reflected float64) {
	dx, dy := m.x-l.middle.x, m.y-l.middle.y
	diffuse = 1 + l.slope.x*dx + l.slope.y*dy
	inShade := 1 / (1 + math.Exp(-(l.shade.x*dx+l.shade.y*dy-l.offset)/l.soft*3))
	diffuse *= 1 - l.shadow*inShade
	d := m.distance(l.spot) / l.wide
	return max(diffuse, 0.05), l.strength * math.Exp(-d*d/2)
}
