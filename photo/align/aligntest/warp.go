// Package aligntest makes second photos of leaves for checking package align: the
// same picture turned, scaled, moved, lit anew, with grain and with new marks. A
// true second photo differs in more than that.
package aligntest

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"

	"leafturn/photo/align"
)

// Change is what happened between two photos.
type Change struct {
	Similarity align.Similarity
	gain, tilt float64 // of the light, and how it falls off to one side
	offset     float64
	grain      float64
	marks      []mark
	seed       uint64
}

type mark struct {
	at     align.Point
	radius float64
}

// Draw draws a change of a picture of this size: turned up to 40°, scaled up to
// 20 %, moved up to 10 %, and lit anew, with eight new marks.
func Draw(seed uint64, size image.Point) Change {
	r := rand.New(rand.NewPCG(seed, 40))
	within := func(most float64) float64 { return most * (2*r.Float64() - 1) }
	middle := middleOf(size)
	c := Change{
		Similarity: About(middle, 1+within(0.2), within(40*math.Pi/180), within(0.1), within(0.1)),
		gain:       0.7 + 0.5*r.Float64(), tilt: within(0.2), offset: within(10), grain: 3, seed: seed,
	}
	for range 8 {
		c.marks = append(c.marks, mark{
			align.Point{X: r.Float64() * 2 * middle.X, Y: r.Float64() * 2 * middle.Y}, 0.01 + 0.02*r.Float64(),
		})
	}
	return c
}

// About is the similarity that scales and turns about a point and then moves.
func About(p align.Point, scale, turn, dx, dy float64) align.Similarity {
	s := align.Similarity{A: scale * math.Cos(turn), B: scale * math.Sin(turn)}
	at := s.Apply(p)
	s.X, s.Y = p.X-at.X+dx, p.Y-at.Y+dy
	return s
}

func middleOf(size image.Point) align.Point {
	long := float64(max(size.X, size.Y))
	return align.Point{X: float64(size.X) / long / 2, Y: float64(size.Y) / long / 2}
}

// Of makes the second photo. What the first did not show is grey.
func (c Change) Of(img image.Image) image.Image {
	b := img.Bounds()
	src := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(src, src.Rect, img, b.Min, draw.Src)
	out := image.NewRGBA(src.Rect)
	back, long := c.Similarity.Inverse(), float64(max(b.Dx(), b.Dy()))
	r := rand.New(rand.NewPCG(c.seed, 3))
	for y := range b.Dy() {
		for x := range b.Dx() {
			p := back.Apply(align.Point{X: (float64(x) + 0.5) / long, Y: (float64(y) + 0.5) / long})
			light := c.gain * (1 + c.tilt*(float64(x)/long-0.5))
			k := c.marked(p, sample(src, p.X*long-0.5, p.Y*long-0.5))
			for i := range k {
				k[i] = min(max(k[i]*light+c.offset+c.grain*r.NormFloat64(), 0), 255)
			}
			out.SetRGBA(x, y, color.RGBA{byte(k[0]), byte(k[1]), byte(k[2]), 255})
		}
	}
	return out
}

func (c Change) marked(p align.Point, k [3]float64) [3]float64 {
	for _, m := range c.marks {
		if math.Hypot(p.X-m.at.X, p.Y-m.at.Y) < m.radius {
			return [3]float64{90, 60, 30}
		}
	}
	return k
}

func sample(img *image.RGBA, x, y float64) [3]float64 {
	i, j := int(math.Floor(x)), int(math.Floor(y))
	if i < 0 || j < 0 || i+1 >= img.Rect.Dx() || j+1 >= img.Rect.Dy() {
		return [3]float64{200, 200, 200}
	}
	fx, fy := x-float64(i), y-float64(j)
	o := img.PixOffset(i, j)
	var k [3]float64
	for c := range k {
		a, b := float64(img.Pix[o+c]), float64(img.Pix[o+4+c])
		d, e := float64(img.Pix[o+img.Stride+c]), float64(img.Pix[o+img.Stride+4+c])
		k[c] = (a*(1-fx)+b*fx)*(1-fy) + (d*(1-fx)+e*fx)*fy
	}
	return k
}

// Off is how far two similarities are apart at the worst corner of a picture of
// this size, in pixels of a picture whose longer side has 640.
func Off(a, b align.Similarity, size image.Point) float64 {
	m, worst := middleOf(size), 0.0
	for _, p := range []align.Point{{}, {X: 2 * m.X}, {Y: 2 * m.Y}, {X: 2 * m.X, Y: 2 * m.Y}} {
		u, v := a.Apply(p), b.Apply(p)
		worst = max(worst, math.Hypot(u.X-v.X, u.Y-v.Y))
	}
	return 640 * worst
}
