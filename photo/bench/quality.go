package main

import (
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"os"
)

// compare prints how alike an original and a copy are.
func compare(original, copied string) error {
	v, err := psnr(original, copied)
	if err != nil {
		return err
	}
	_, err = fmt.Println(v)
	return err
}

// psnr compares the brightness of an upright copy with the source's, each pixel of
// which is the mean of the area that it covers: decibels, more is better.
func psnr(original, copied string) (float64, error) {
	from, err := luma(original)
	if err != nil {
		return 0, err
	}
	to, err := luma(copied)
	if err != nil {
		return 0, err
	}
	from = from.turned()
	if math.Abs(float64(from.w)/float64(from.h)-float64(to.w)/float64(to.h)) > 0.01 {
		return 0, fmt.Errorf("%s is %d by %d: not the shape of the picture", copied, to.w, to.h)
	}
	var sum float64
	for y := range to.h {
		for x := range to.w {
			d := from.mean(x, y, to.w, to.h) - to.at(x, y)
			sum += d * d
		}
	}
	return 10 * math.Log10(255*255*float64(to.w*to.h)/sum), nil
}

// grey is a picture's brightness.
type grey struct {
	v    []float64
	w, h int
}

func (g grey) at(x, y int) float64 { return g.v[y*g.w+x] }

func luma(name string) (grey, error) {
	f, err := os.Open(name)
	if err != nil {
		return grey{}, err
	}
	defer f.Close()
	img, err := jpeg.Decode(f)
	if err != nil {
		return grey{}, err
	}
	m, ok := img.(*image.YCbCr)
	if !ok {
		return grey{}, fmt.Errorf("%s is %T", name, img)
	}
	g := grey{w: m.Rect.Dx(), h: m.Rect.Dy()}
	for y := range g.h {
		for _, v := range m.Y[y*m.YStride:][:g.w] {
			g.v = append(g.v, float64(v))
		}
	}
	return g, nil
}

// turned is the picture a quarter to the right, as orientation 6 asks for.
func (g grey) turned() grey {
	out := grey{v: make([]float64, len(g.v)), w: g.h, h: g.w}
	for y := range g.h {
		for x := range g.w {
			out.v[x*out.w+g.h-1-y] = g.at(x, y)
		}
	}
	return out
}

// mean is the mean over the area of pixel x, y of a copy that is w by h pixels large.
// Pixels at the rim count by the part that lies inside.
func (g grey) mean(x, y, w, h int) float64 {
	x0, x1 := float64(x*g.w)/float64(w), float64((x+1)*g.w)/float64(w)
	y0, y1 := float64(y*g.h)/float64(h), float64((y+1)*g.h)/float64(h)
	var sum, area float64
	for j := int(y0); float64(j) < y1; j++ {
		for i := int(x0); float64(i) < x1; i++ {
			part := (math.Min(x1, float64(i+1)) - math.Max(x0, float64(i))) * (math.Min(y1, float64(j+1)) - math.Max(y0, float64(j)))
			sum, area = sum+part*g.at(i, j), area+part
		}
	}
	return sum / area
}
