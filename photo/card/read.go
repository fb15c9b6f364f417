package card

import (
	"math"
	"slices"
)

// Limits of what can be read. The first three were set on drawn cards.
const (
	leastSide   = 500  // of the card's longer side, in pixels
	mostBlur    = 3.2  // standard deviation in pixels
	leastBright = 40.0 // of 255
	mostGrain   = 0.08 // of the ground's brightness
	mostHidden  = 0.12 // of the card
	mostCovered = 0.25 // of the card
)

// read counts on a card whose corners are known.
func (p picture) read(q quad) Reading {
	r := Reading{Method: Method, Corners: q.corners(p.long())}
	sides := q.sides()
	if max((sides[0]+sides[2])/2, (sides[1]+sides[3])/2) < leastSide {
		r.CannotTell = TooSmall
		return r
	}
	_, blur := p.refine(q, 20)
	f := p.flatten(q)
	rel := f.relief()
	r.Hidden = rel.hidden
	found := rel.blobs()
	switch {
	case rel.bright < leastBright || rel.grain > mostGrain:
		r.CannotTell = TooDark
	case blur > mostBlur:
		r.CannotTell = Blurred
	case rel.hidden > mostHidden:
		r.CannotTell = Glare
	case covered(found) > mostCovered*float64(f.w*f.h):
		r.CannotTell = Crowded
	default:
		r.count(f, p.long(), found)
	}
	return r
}

func covered(blobs []blob) float64 {
	sum := 0.0
	for _, b := range blobs {
		sum += b.area
	}
	return sum
}

// blob is a connected piece that stands out.
type blob struct {
	shape         // of its middle, without the blur around it
	whole   shape // of all of it
	peak    float64
	certain float64
}

// shape is the form of a set of pixels.
type shape struct {
	at            vec
	area          float64
	length, broad float64 // of the ellipse with the same moments: its axes
	thick         float64 // side of the largest square inside
}

const (
	seedCertain  = 6.0 // standard deviations of the grain
	growCertain  = 4.0
	seedContrast = 0.16
	growContrast = 0.08
	leastArea    = 6.0 // pixels
	blurred      = 0.4 // of the peak; what is weaker is taken for blur
	rim          = 4   // pixels at the card's sides that are not looked at
)

// blobs finds the pieces that stand out and hold a place that surely does.
func (r relief) blobs() []blob {
	mask := make([]bool, r.w*r.h)
	for y := rim; y < r.h-rim; y++ {
		for x := rim; x < r.w-rim; x++ {
			i := y*r.w + x
			mask[i] = r.certain[i] > growCertain && r.contrast[i] > growContrast
		}
	}
	var out []blob
	for _, piece := range pieces(mask, r.w, r.h) {
		b := r.blob(piece)
		if b.certain > seedCertain && b.peak > seedContrast && b.area >= leastArea {
			out = append(out, b)
		}
	}
	return out
}

func (r relief) blob(piece []int32) blob {
	var b blob
	for _, i := range piece {
		b.peak = max(b.peak, float64(r.contrast[i]))
		b.certain = max(b.certain, float64(r.certain[i]))
	}
	slices.Sort(piece)
	b.whole = shapeOf(piece, r.w)
	middle := slices.DeleteFunc(piece, func(i int32) bool { return float64(r.contrast[i]) < blurred*b.peak })
	b.shape = shapeOf(middle, r.w)
	return b
}

// shapeOf measures pixels in rising order.
func shapeOf(pixels []int32, w int) shape {
	var sx, sy, sxx, syy, sxy float64
	for _, i := range pixels {
		x, y := float64(int(i)%w), float64(int(i)/w)
		sx, sy, sxx, syy, sxy = sx+x, sy+y, sxx+x*x, syy+y*y, sxy+x*y
	}
	n := float64(len(pixels))
	sxx, syy, sxy = sxx/n-sx*sx/n/n+1.0/12, syy/n-sy*sy/n/n+1.0/12, sxy/n-sx*sy/n/n
	mean, half := (sxx+syy)/2, math.Hypot((sxx-syy)/2, sxy)
	return shape{
		at: vec{sx / n, sy / n}, area: n,
		length: 4 * math.Sqrt(mean+half), broad: 4 * math.Sqrt(max(mean-half, 0)),
		thick: thickness(pixels, w),
	}
}

// thickness is the side of the largest square that fits into a piece.
func thickness(pixels []int32, w int) float64 {
	side := make(map[int32]int32, len(pixels))
	var most int32
	for _, i := range pixels { // sorted, so the neighbours before are known
		x := i % int32(w)
		s := int32(1)
		if x > 0 {
			s = 1 + min(side[i-1], side[i-int32(w)], side[i-int32(w)-1])
		}
		side[i] = s
		most = max(most, s)
	}
	return float64(most)
}
