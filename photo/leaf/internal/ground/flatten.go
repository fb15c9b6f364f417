// Package ground finds a leaf that lies on a plain, light ground.
//
// The ground is what the border of the picture shows. Its colour is seldom even:
// lamps and the phone's shadow make it fall off. A curved surface (a polynomial of
// second degree in x and y) is laid through the border, channel by channel, and the
// picture divided by it. Afterwards the ground is an even grey, so that colour
// means leaf, and the same leaf has nearly the same colours under another lamp.
package ground

import (
	"math"
	"slices"

	"leafturn/photo/leaf/internal/raster"
)

// level is what the ground becomes in every channel.
const level = 230

// What a plain ground may be.
const (
	mostSpread = 0.06 // share of the brightness
	leastLevel = 80   // of 255
	mostColour = 0.35 // of the brightest channel is between it and the darkest
)

// Surface is a ground: for each channel the weights of 1, x, y, xx, xy and yy,
// where x and y run from -1 to 1 over the picture.
type Surface struct {
	weights [3][6]float64
	// Spread is the typical distance of the border's pixels from the surface, as a
	// share of its brightness. Plain grounds have a few hundredths.
	Spread float64
	// Level is the mean brightness of the border, 0 to 255.
	Level float64
}

// Fit lays a surface through the border. Pixels far off, such as a stalk that
// leaves the picture, are put aside and the surface laid again.
func Fit(p raster.RGB) Surface {
	border := borderOf(p.W, p.H)
	var s Surface
	kept := border
	for range 4 {
		s.weights = leastSquares(p, kept)
		off := make([]float64, len(border))
		for i, at := range border {
			off[i] = s.off(p, at)
		}
		s.Spread = median(slices.Clone(off))
		kept = kept[:0:0]
		for i, at := range border {
			if off[i] <= max(3*s.Spread, 0.02) {
				kept = append(kept, at)
			}
		}
	}
	for _, at := range border {
		for c := range 3 {
			s.Level += float64(p.Pix[3*at+c]) / float64(3*len(border))
		}
	}
	return s
}

// Plain reports whether the border is one even, light, nearly colourless ground.
func (s Surface) Plain() bool {
	r, g, b := s.weights[0][0], s.weights[1][0], s.weights[2][0]
	colour := (max(r, g, b) - min(r, g, b)) / max(r, g, b, 1)
	return s.Spread < mostSpread && s.Level > leastLevel && colour < mostColour
}

// borderOf are the indices of pixels in a frame, a twentieth of the shorter side
// wide, about eight deep: more would say no more.
func borderOf(w, h int) []int {
	wide := max(1, min(w, h)/20)
	step := max(1, wide/8)
	var all []int
	for y := 0; y < h; y += step {
		for x := 0; x < w; x += step {
			if x < wide || y < wide || x >= w-wide || y >= h-wide {
				all = append(all, y*w+x)
			}
		}
	}
	return all
}

// terms are 1, x, y, xx, xy, yy at a pixel.
func terms(w, h, at int) [6]float64 {
	x := 2*(float64(at%w)+0.5)/float64(w) - 1
	y := 2*(float64(at/w)+0.5)/float64(h) - 1
	return [6]float64{1, x, y, x * x, x * y, y * y}
}

func (s Surface) at(t [6]float64, channel int) float64 {
	v := 0.0
	for i, w := range s.weights[channel] {
		v += w * t[i]
	}
	return max(v, 1)
}

// off is how far a pixel is from the surface, as a share of the surface.
func (s Surface) off(p raster.RGB, at int) float64 {
	t := terms(p.W, p.H, at)
	worst := 0.0
	for c := range 3 {
		v := s.at(t, c)
		worst = max(worst, math.Abs(float64(p.Pix[3*at+c])-v)/v)
	}
	return worst
}

// Flatten divides the picture by the surface, in place.
func (s Surface) Flatten(p raster.RGB) {
	for at := range p.W * p.H {
		t := terms(p.W, p.H, at)
		for c := range 3 {
			p.Pix[3*at+c] *= level / float32(s.at(t, c))
		}
	}
}

// leastSquares are the weights that come closest to each channel at the pixels.
func leastSquares(p raster.RGB, pixels []int) (weights [3][6]float64) {
	var m [6][6]float64 // normal equations, and their right sides
	var right [3][6]float64
	for _, at := range pixels {
		t := terms(p.W, p.H, at)
		for i := range t {
			for j := range t {
				m[i][j] += t[i] * t[j]
			}
			for c := range right {
				right[c][i] += t[i] * float64(p.Pix[3*at+c])
			}
		}
	}
	for i := range m { // a trace of ridge: tiny pictures leave some weights open
		m[i][i] += 1e-6 * (1 + float64(len(pixels)))
	}
	for c := range weights {
		weights[c] = solve(m, right[c])
	}
	return weights
}

// solve is Gauss-Jordan elimination; the ridge keeps every pivot positive.
func solve(m [6][6]float64, x [6]float64) [6]float64 {
	for i := range m {
		for j := range m {
			if j == i {
				continue
			}
			f := m[j][i] / m[i][i]
			for k := i; k < len(m); k++ {
				m[j][k] -= f * m[i][k]
			}
			x[j] -= f * x[i]
		}
	}
	for i := range x {
		x[i] /= m[i][i]
	}
	return x
}

// median sorts what it is given.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return v[len(v)/2]
}
