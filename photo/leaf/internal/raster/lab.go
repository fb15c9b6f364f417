package raster

import "math"

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
	k := kernel(sigma)
	across := make([]float32, len(v))
	line := make([]float32, w+2*(len(k)-1))
	for from := 0; from < len(v); from += w {
		blurRow(across[from:][:w], v[from:][:w], k, line)
	}
	blurDown(v, across, w, k)
}

// blurRow smooths one row; line is scratch for the row with its rim repeated.
func blurRow(to, from, k, line []float32) {
	r := len(k) - 1
	for i := range line {
		line[i] = from[min(max(i-r, 0), len(from)-1)]
	}
	for i := range to {
		at := line[i:][:2*r+1]
		sum := k[0] * at[r]
		for j := 1; j <= r; j++ {
			sum += k[j] * (at[r-j] + at[r+j])
		}
		to[i] = sum
	}
}

// blurDown smooths columns, a row at a time: memory is read in its order.
func blurDown(to, from []float32, w int, k []float32) {
	h := len(from) / w
	row := func(y int) []float32 { return from[min(max(y, 0), h-1)*w:][:w] }
	for y := range h {
		out := to[y*w:][:w]
		for x, v := range row(y) {
			out[x] = k[0] * v
		}
		for j := 1; j < len(k); j++ {
			above, below := row(y-j), row(y+j)
			for x := range out {
				out[x] += k[j] * (above[x] + below[x])
			}
		}
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

// Bins of Median: colours and chroma lie between -160 and 160.
const (
	bins    = 1 << 13
	perStep = bins / 320
)

// Median of a channel inside a mask, to the twenty-fifth of a step; 0 if the mask
// is empty. It counts instead of sorting, which takes a tenth of the time.
func Median(v []float32, m Mask) float32 {
	var count [bins]int32
	n := int32(0)
	for i, in := range m.In {
		if in {
			count[min(max(int((v[i]+160)*perStep), 0), bins-1)]++
			n++
		}
	}
	seen := int32(0)
	for i, c := range count {
		if seen += c; 2*seen > n {
			return (float32(i)+0.5)/perStep - 160
		}
	}
	return 0
}
