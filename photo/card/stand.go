package card

import "math"

// relief is how far each place of the flat card stands out.
type relief struct {
	w, h     int
	contrast []float32 // distance from the ground in colour, as a share of its brightness
	certain  []float32 // the same, in standard deviations of the grain
	bright   float64   // median brightness of the ground
	grain    float64   // median of the grain's standard deviation, as a share of brightness
	hidden   float64   // share of the card where reflected light has taken the colour away
}

const tile = 64 // side of the squares in which grain is measured

func (f flat) relief() relief {
	reach := max(f.w, f.h) / 32
	var grounds [3]plane
	for i, low := range [3]float32{0, -128, -128} {
		f.channels[i] = f.channels[i].smooth()
		grounds[i] = f.channels[i].ground(reach, low)
	}
	r := relief{w: f.w, h: f.h, contrast: make([]float32, f.w*f.h), certain: make([]float32, f.w*f.h)}
	r.bright, r.hidden = lightOf(grounds)
	for y := range f.h {
		for x := range f.w {
			i := y*f.w + x
			// Shadow dims specks as it dims the ground. Reflected light brightens both,
			// and takes nothing from the difference.
			light := max(min(grounds[0].doubledAt(x, y), float32(r.bright)), 16)
			for k, c := range f.channels {
				c.pix[i] = (c.pix[i] - grounds[k].doubledAt(x, y)) / light
			}
		}
	}
	for _, c := range f.channels {
		c.withoutLines(max(f.w, f.h) / 16)
	}
	var grains []float64
	for y := 0; y < f.h; y += tile {
		for x := 0; x < f.w; x += tile {
			grains = append(grains, r.measure(f, x, y))
		}
	}
	r.grain = median(grains)
	return r
}

// measure fills one tile, and gives the grain of its luma.
func (r relief) measure(f flat, x0, y0 int) float64 {
	x1, y1 := min(x0+tile, f.w), min(y0+tile, f.h)
	var sigma [3]float64
	for k, c := range f.channels {
		var values []float64
		for y := y0; y < y1; y += 2 {
			for x := x0; x < x1; x += 2 {
				values = append(values, float64(c.pix[y*f.w+x]))
			}
		}
		sigma[k] = max(deviation(values), 0.006)
	}
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			i := y*f.w + x
			sum, certain := 0.0, 0.0
			for k, c := range f.channels {
				v := float64(c.pix[i])
				sum, certain = sum+v*v, certain+v*v/(sigma[k]*sigma[k])
			}
			r.contrast[i], r.certain[i] = float32(math.Sqrt(sum)), float32(math.Sqrt(certain))
		}
	}
	return sigma[0]
}

// lightOf is the median brightness of the ground, and how much of it has lost its
// colour to reflected light: less than a third of the usual colour, and brighter
// than usual.
func lightOf(grounds [3]plane) (bright, hidden float64) {
	n := len(grounds[0].pix)
	light, tint := make([]float64, n), make([]float64, n)
	for i := range n {
		light[i] = float64(grounds[0].pix[i])
		tint[i] = math.Hypot(float64(grounds[1].pix[i]), float64(grounds[2].pix[i])) / max(light[i], 16)
	}
	usual := median(append([]float64(nil), tint...))
	bright = median(append([]float64(nil), light...))
	lost := 0
	for i := range n {
		if light[i] > bright && tint[i] < usual/3 {
			lost++
		}
	}
	return bright, float64(lost) / float64(n)
}
