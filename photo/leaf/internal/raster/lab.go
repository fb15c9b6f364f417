package raster

import (
	"math"
	"slices"
)

// Lab is a picture in CIELAB under the white of daylight (D65): L is lightness,
// 0 to 100; A runs from green to red, B from blue to yellow; grey is 0, 0.
type Lab struct {
	W, H    int
	L, A, B []float32
}

// ToLab converts sRGB.
func ToLab(p RGB) Lab {
	n := p.W * p.H
	out := Lab{W: p.W, H: p.H, L: make([]float32, n), A: make([]float32, n), B: make([]float32, n)}
	for i := range n {
		out.L[i], out.A[i], out.B[i] = labOf(p.Pix[3*i], p.Pix[3*i+1], p.Pix[3*i+2])
	}
	return out
}

// labOf follows IEC 61966-2-1 (sRGB to XYZ) and CIE 15 (XYZ to L*a*b*).
func labOf(r, g, b float32) (l, a, bb float32) {
	lr, lg, lb := light.at(r/255), light.at(g/255), light.at(b/255)
	fx := root.at((0.4124564*lr + 0.3575761*lg + 0.1804375*lb) / 0.95047)
	fy := root.at(0.2126729*lr + 0.7151522*lg + 0.0721750*lb)
	fz := root.at((0.0193339*lr + 0.1191920*lg + 0.9503041*lb) / 1.08883)
	return 116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)
}

// curve is a function on 0 to 1, drawn as straight lines between its points.
type curve [4097]float32

func newCurve(f func(float64) float64) *curve {
	var c curve
	for i := range c {
		c[i] = float32(f(float64(i) / float64(len(c)-1)))
	}
	return &c
}

func (c *curve) at(x float32) float32 {
	x = min(max(x, 0), 1) * float32(len(c)-1)
	i := min(int(x), len(c)-2)
	return c[i] + (x-float32(i))*(c[i+1]-c[i])
}

var (
	light = newCurve(func(v float64) float64 {
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	})
	root = newCurve(func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	})
)

// Blur smooths a channel of a picture w pixels wide with a Gaussian of the given
// deviation, in place. The rim is repeated outwards.
func Blur(v []float32, w int, sigma float64) {
	if len(v) == 0 {
		return
	}
	h := len(v) / w
	k := kernel(sigma)
	r := len(k) - 1
	line := make([]float32, max(w, h)+2*r)
	for y := range h {
		blurLine(v, y*w, 1, w, k, line)
	}
	for x := range w {
		blurLine(v, x, w, h, k, line)
	}
}

// blurLine smooths n values from start on, step apart; line is scratch.
func blurLine(v []float32, start, step, n int, k, line []float32) {
	r := len(k) - 1
	for i := range n + 2*r {
		line[i] = v[start+min(max(i-r, 0), n-1)*step]
	}
	for i := range n {
		at := line[i:][:2*r+1]
		sum := k[0] * at[r]
		for j := 1; j <= r; j++ {
			sum += k[j] * (at[r-j] + at[r+j])
		}
		v[start+i*step] = sum
	}
}

// kernel is the right half of a Gaussian, centre first, adding up to one.
func kernel(sigma float64) []float32 {
	k := make([]float32, int(math.Ceil(3*sigma))+1)
	total := 0.0
	for i := range k {
		g := math.Exp(-float64(i*i) / (2 * sigma * sigma))
		k[i] = float32(g)
		total += g
		if i > 0 {
			total += g
		}
	}
	for i := range k {
		k[i] /= float32(total)
	}
	return k
}

// Median of a channel inside a mask; 0 if the mask is empty.
func Median(v []float32, m Mask) float32 {
	inside := make([]float32, 0, len(v))
	for i, in := range m.In {
		if in {
			inside = append(inside, v[i])
		}
	}
	if len(inside) == 0 {
		return 0
	}
	slices.Sort(inside)
	return inside[len(inside)/2]
}
