package raster

import (
	"image"
	"image/color"
)

// Gray is brightness, 0 to 255, not rounded.
type Gray struct {
	W, H int
	V    []float32
}

// Crop takes a part of a picture's brightness, each pixel the mean of a square of
// the given side in the source. r counts in such squares and must lie inside.
func Crop(img image.Image, r image.Rectangle, side int) Gray {
	out := Gray{W: r.Dx(), H: r.Dy(), V: make([]float32, r.Dx()*r.Dy())}
	luma := lumaOf(img)
	origin := img.Bounds().Min
	each := 1 / float32(side*side)
	for y := range out.H {
		for x := range out.W {
			x0, y0 := origin.X+(r.Min.X+x)*side, origin.Y+(r.Min.Y+y)*side
			sum := 0
			for sy := y0; sy < y0+side; sy++ {
				for sx := x0; sx < x0+side; sx++ {
					sum += luma(sx, sy)
				}
			}
			out.V[y*out.W+x] = float32(sum) * each
		}
	}
	return out
}

// lumaOf gives the brightness at a pixel, without the detour over interfaces for
// the pictures that decoders and canvases give.
func lumaOf(img image.Image) func(x, y int) int {
	switch m := img.(type) {
	case *image.YCbCr:
		return func(x, y int) int { return int(m.Y[m.YOffset(x, y)]) }
	case *image.RGBA:
		return func(x, y int) int {
			p := m.Pix[m.PixOffset(x, y):][:4]
			return (299*int(p[0])+587*int(p[1])+114*int(p[2]))/1000 + 255 - int(p[3])
		}
	}
	return func(x, y int) int {
		_, _, _, a := img.At(x, y).RGBA()
		return int(color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y) + int(0xffff-a)>>8
	}
}

// Energy is the mean squared slope after smoothing with a Gaussian of the given
// deviation, and what white noise of variance one would add to it. A margin of
// three deviations at the rim is left out.
func (g Gray) Energy(sigma float64) (energy, perNoise float64) {
	v := append([]float32(nil), g.V...)
	Blur(v, g.W, sigma)
	k := kernel(sigma)
	margin := len(k)
	n := 0
	for y := margin; y < g.H-margin; y++ {
		for x := margin; x < g.W-margin; x++ {
			i := y*g.W + x
			dx, dy := float64(v[i+1]-v[i-1])/2, float64(v[i+g.W]-v[i-g.W])/2
			energy += dx*dx + dy*dy
			n++
		}
	}
	return energy / float64(max(n, 1)), 2 * squares(k) * squares(slope(k))
}

// slope is the half difference of the kernel, written out in full.
func slope(k []float32) []float32 {
	full := func(i int) float32 {
		if i = max(i, -i); i < len(k) {
			return k[i]
		}
		return 0
	}
	// The square sum of an odd function: half is listed, squares doubles it.
	out := make([]float32, len(k)+1)
	for i := 1; i <= len(k); i++ {
		out[i] = (full(i+1) - full(i-1)) / 2
	}
	return out
}

// squares sums the squares of a kernel of which the right half is given.
func squares(half []float32) float64 {
	sum := float64(half[0] * half[0])
	for _, v := range half[1:] {
		sum += 2 * float64(v*v)
	}
	return sum
}

// Noise estimates the deviation of white noise from what a mask that is blind to
// even slopes leaves over (Immerkaer 1996).
func (g Gray) Noise() float64 {
	sum, n := 0.0, 0
	for y := 1; y < g.H-1; y++ {
		for x := 1; x < g.W-1; x++ {
			i := y*g.W + x
			up, at, down := g.V[i-g.W-1:][:3], g.V[i-1:][:3], g.V[i+g.W-1:][:3]
			d := up[0] - 2*up[1] + up[2] - 2*(at[0]-2*at[1]+at[2]) + down[0] - 2*down[1] + down[2]
			sum += float64(max(d, -d))
			n++
		}
	}
	const half = 1.2533141373155 // the root of pi/2: a Gaussian's deviation by its mean distance
	return half / 6 * sum / float64(max(n, 1))
}
