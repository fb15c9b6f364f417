// Package raster holds what measuring a leaf does with pixels: a small picture in
// CIELAB, and masks, which are sets of its pixels.
//
// A picture is reduced first, so that everything after works on a few hundred
// thousand pixels however large the photo was.
package raster

import (
	"image"
	"image/color"
)

// RGB is a picture of three interleaved channels, 0 to 255 each, not rounded.
type RGB struct {
	W, H int
	Pix  []float32
}

// Reduce gives the picture with its longer side at most long pixels. Each pixel is
// the mean of the source pixels that fall into it. The picture is laid on white.
func Reduce(img image.Image, long int) RGB {
	r := img.Bounds()
	w, h := Fit(r.Dx(), r.Dy(), long)
	out := RGB{W: w, H: h, Pix: make([]float32, 3*w*h)}
	row := make([]uint32, 4*w)
	column := make([]int, r.Dx())
	for x := range column {
		column[x] = 4 * (x * w / r.Dx())
	}
	add := adder(img)
	for y := range h {
		clear(row)
		for sy := from(y, r.Dy(), h); sy < from(y+1, r.Dy(), h); sy++ {
			add(row, column, r.Min.Y+sy)
		}
		means(out.Pix[3*w*y:][:3*w], row)
	}
	return out
}

// Fit is the size of a picture of w by h pixels whose longer side is brought down
// to long. Smaller pictures stay as they are.
func Fit(w, h, long int) (int, int) {
	longer := max(w, h)
	if longer <= long {
		return w, h
	}
	return max(1, w*long/longer), max(1, h*long/longer)
}

// from is the first of size source rows that belongs to row y of n: the smallest s
// with s*n/size == y.
func from(y, size, n int) int { return (y*size + n - 1) / n }

// means writes the mean of each cell of sums: red, green, blue and a count.
func means(pix []float32, sums []uint32) {
	for i := 0; i < len(sums); i += 4 {
		n := 1 / float32(sums[i+3])
		to := pix[i/4*3:][:3]
		to[0], to[1], to[2] = float32(sums[i])*n, float32(sums[i+1])*n, float32(sums[i+2])*n
	}
}

// adder adds the pixels of the source row y to the cells that column names.
func adder(img image.Image) func(cells []uint32, column []int, y int) {
	x0 := img.Bounds().Min.X
	switch m := img.(type) {
	case *image.YCbCr:
		return func(cells []uint32, column []int, y int) {
			for x, cell := range column {
				yi, ci := m.YOffset(x0+x, y), m.COffset(x0+x, y)
				r, g, b := color.YCbCrToRGB(m.Y[yi], m.Cb[ci], m.Cr[ci])
				put(cells[cell:], r, g, b)
			}
		}
	case *image.RGBA:
		return func(cells []uint32, column []int, y int) {
			line := m.Pix[m.PixOffset(x0, y):]
			for x, cell := range column {
				p := line[4*x:][:4]
				white := 255 - p[3] // colours are premultiplied; the rest is the white below
				put(cells[cell:], p[0]+white, p[1]+white, p[2]+white)
			}
		}
	}
	return func(cells []uint32, column []int, y int) {
		for x, cell := range column {
			r, g, b, a := img.At(x0+x, y).RGBA()
			white := 0xffff - a
			put(cells[cell:], byte((r+white)>>8), byte((g+white)>>8), byte((b+white)>>8))
		}
	}
}

func put(cell []uint32, r, g, b byte) {
	cell = cell[:4]
	cell[0] += uint32(r)
	cell[1] += uint32(g)
	cell[2] += uint32(b)
	cell[3]++
}
