package align

import (
	"cmp"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
)

const (
	levels        = 6    // sizes at which corners are looked for
	levelStep     = 1.25 // between them
	most          = 600  // corners of the full view; smaller ones give fewer
	patch         = 15   // radius of what a corner is told apart by
	cell          = 32   // corners are taken evenly from squares of this side
	leastContrast = 6    // of a corner, in steps of brightness
	leastFeatures = 40
)

// feature is a corner and what it looks like.
type feature struct {
	at   Point // in pixels of the view
	bits descriptor
}

// descriptor are the answers to 256 questions which of two places is brighter.
type descriptor [4]uint64

func (d descriptor) distance(e descriptor) int {
	n := 0
	for i := range d {
		n += bits.OnesCount64(d[i] ^ e[i])
	}
	return n
}

// features finds corners at several sizes.
func (v view) features() []feature {
	var all []feature
	by := 1.0
	for range levels {
		if min(v.w, v.h) < 4*patch {
			break
		}
		soft := v.smooth(2)
		for _, c := range v.corners() {
			all = append(all, feature{
				at:   Point{(float64(c.x)+0.5)*by - 0.5, (float64(c.y)+0.5)*by - 0.5},
				bits: soft.describe(c.x, c.y, soft.direction(c.x, c.y)),
			})
		}
		v, by = v.smaller(levelStep), by*levelStep
	}
	return all
}

type corner struct{ x, y, strength int }

// circle are the 16 pixels around a corner.
var circle = [16][2]int{
	{0, -3}, {1, -3}, {2, -2}, {3, -1}, {3, 0}, {3, 1}, {2, 2}, {1, 3},
	{0, 3}, {-1, 3}, {-2, 2}, {-3, 1}, {-3, 0}, {-3, -1}, {-2, -2}, {-1, -3},
}

// corners finds pixels that are brighter, or darker, than nine in a row of the
// circle around them (FAST, Rosten and Drummond 2006), the strongest of their
// neighbours, and takes the best of every square.
func (v view) corners() []corner {
	v = v.box(1)
	strength := make([]int, v.w*v.h)
	for y := patch; y < v.h-patch; y++ {
		for x := patch; x < v.w-patch; x++ {
			strength[y*v.w+x] = v.strength(x, y)
		}
	}
	squares := make(map[[2]int][]corner)
	for y := patch; y < v.h-patch; y++ {
		for x := patch; x < v.w-patch; x++ {
			if s := strength[y*v.w+x]; s > 0 && strongest(strength, v.w, x, y) {
				k := [2]int{x / cell, y / cell}
				squares[k] = append(squares[k], corner{x, y, s})
			}
		}
	}
	return fairly(squares, ((v.w+cell-1)/cell)*((v.h+cell-1)/cell), most*v.w*v.h/(working*working/2))
}

// strength is the largest contrast for which the pixel is still a corner, or 0.
func (v view) strength(x, y int) int {
	i := y*v.w + x
	center := int(v.pix[i])
	// Of four opposite pixels two neighbours must differ; most pixels end here.
	n, s := int(v.pix[i-3*v.w])-center, int(v.pix[i+3*v.w])-center
	e, w := int(v.pix[i+3])-center, int(v.pix[i-3])-center
	if max(n, s) < leastContrast && max(e, w) < leastContrast && min(n, s) > -leastContrast && min(e, w) > -leastContrast {
		return 0
	}
	var d [16]int
	for k, o := range circle {
		d[k] = int(v.pix[i+o[1]*v.w+o[0]]) - center
	}
	best := 0
	for from := range d {
		low, high := d[from], d[from]
		for k := 1; k < 9; k++ {
			low, high = min(low, d[(from+k)%16]), max(high, d[(from+k)%16])
		}
		best = max(best, low, -high)
	}
	if best < leastContrast {
		return 0
	}
	return best
}

func strongest(strength []int, w, x, y int) bool {
	i := y*w + x
	for _, o := range [8]int{-w - 1, -w, -w + 1, -1, 1, w - 1, w, w + 1} {
		if n := strength[i+o]; n > strength[i] || n == strength[i] && o < 0 {
			return false
		}
	}
	return true
}

// fairly takes the best corners of every square, so that one bright part of the
// picture does not get all.
func fairly(squares map[[2]int][]corner, n, wanted int) []corner {
	each := max(wanted/n, 1)
	var rest, all []corner
	for _, s := range squares {
		slices.SortFunc(s, stronger)
		all = append(all, s[:min(each, len(s))]...)
		rest = append(rest, s[min(each, len(s)):]...)
	}
	slices.SortFunc(rest, stronger)
	all = append(all, rest[:min(len(rest), max(wanted-len(all), 0))]...)
	slices.SortFunc(all, stronger)
	return all
}

// stronger orders corners, the same way each time.
func stronger(a, b corner) int {
	return cmp.Or(b.strength-a.strength, a.y-b.y, a.x-b.x)
}

// direction is where the brightness around a corner has its centre of mass
// (Rosin 1999). It turns with the picture.
func (v view) direction(x, y int) float64 {
	var mx, my int
	for dy := -patch; dy <= patch; dy++ {
		for dx := -patch; dx <= patch; dx++ {
			if dx*dx+dy*dy <= patch*patch {
				b := int(v.pix[(y+dy)*v.w+x+dx])
				mx, my = mx+dx*b, my+dy*b
			}
		}
	}
	return math.Atan2(float64(my), float64(mx))
}

// pattern are the pairs of places that a descriptor compares, drawn once from a
// normal distribution, as BRIEF does (Calonder and others 2010).
var pattern = func() (p [256][4]float64) {
	r := rand.New(rand.NewPCG(2010, 256))
	draw := func() (x, y float64) {
		for {
			x, y = r.NormFloat64()*6, r.NormFloat64()*6
			if math.Hypot(x, y) < patch-1 {
				return x, y
			}
		}
	}
	for i := range p {
		p[i][0], p[i][1] = draw()
		p[i][2], p[i][3] = draw()
	}
	return p
}()

// describe compares the pairs after turning them (steered BRIEF, Rublee and
// others 2011).
func (v view) describe(x, y int, turn float64) descriptor {
	cos, sin := math.Cos(turn), math.Sin(turn)
	at := func(px, py float64) byte {
		dx, dy := math.Round(px*cos-py*sin), math.Round(px*sin+py*cos)
		return v.pix[(y+int(dy))*v.w+x+int(dx)]
	}
	var d descriptor
	for i, p := range pattern {
		if at(p[0], p[1]) < at(p[2], p[3]) {
			d[i/64] |= 1 << (i % 64)
		}
	}
	return d
}
