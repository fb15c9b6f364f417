package card

import (
	"math"
	"slices"
)

// count turns blobs into specks.
func (r *Reading) count(f flat, long float64, found []blob) {
	kept, u := sift(found, float64(max(f.w, f.h)))
	for _, b := range kept {
		n := b.members(u)
		at := f.toPhoto.at(b.at.x+0.5, b.at.y+0.5)
		end := f.toPhoto.at(b.at.x+0.5+0.7*b.whole.length, b.at.y+0.5)
		s := Speck{
			At:     Point{(at.x + 0.5) / long, (at.y + 0.5) / long},
			Radius: at.distance(end) / long, Count: n, Faint: b.peak < 1.5*leastPeak*u.peak,
		}
		r.Specks = append(r.Specks, s)
		r.Count += n
	}
	r.Low, r.High = r.Count, r.Count
	for _, s := range r.Specks {
		if s.Faint {
			r.Low -= s.Count
		} else {
			r.Low -= s.Count / 2
		}
		r.High += s.Count / 2
	}
}

// Limits of what counts as a speck, set on drawn cards of other seeds than those
// of the figures. "Usual" is the median speck of the card.
const (
	longest     = 0.03   // of the card's longer side: no single speck is longer
	stout       = 0.0055 // of the card's longer side: a large insect is at least as thick
	longestDirt = 0.15   // of the card's longer side: what is longer is print or hair
	enough      = 15     // specks that settle what is usual, whatever else lies about
	leastPeak   = 0.42   // of the usual contrast
	mostThick   = 1.9    // of the usual thickness
	leastThick  = 0.6    // of the usual thickness
	leastShare  = 1.0 / 3
	mostSingle  = 5.0 // of the usual area: a simple shape larger than that is a large insect
	mostAlone   = 3.2 // of the usual area: a simple shape up to that is one speck
	mostWinding = 8.0 // area divided by the thickest square: hairs and lines have more
	surround    = 0.7 // of a large insect's length: pieces as near as that are parts of it
)

// usual is the median speck.
type usual struct {
	area, thick, peak  float64
	wholeThick, length float64
}

func usualOf(blobs []blob) usual {
	of := func(value func(blob) float64) float64 {
		values := make([]float64, len(blobs))
		for i, b := range blobs {
			values[i] = value(b)
		}
		return median(values)
	}
	return usual{
		area:       of(func(b blob) float64 { return b.area }),
		thick:      of(func(b blob) float64 { return b.thick }),
		peak:       of(func(b blob) float64 { return b.peak }),
		wholeThick: of(func(b blob) float64 { return b.whole.thick }),
		length:     of(func(b blob) float64 { return b.whole.length }),
	}
}

// sift keeps what can be specks. What the usual speck looks like decides, and with
// few specks on the card that is unsure. Then what is large beyond doubt goes first,
// with the legs and wings around it.
func sift(found []blob, side float64) ([]blob, usual) {
	var simple []blob
	for _, b := range found {
		if b.simple() && b.whole.length < longest*side {
			simple = append(simple, b)
		}
	}
	typical := strong(simple)
	var large []blob
	if len(typical) < enough {
		large = keep(found, func(b blob) bool {
			return b.whole.length > longest*side && b.whole.length < longestDirt*side &&
				b.whole.thick > stout*side && b.peak > 0.3
		})
		typical = strong(keep(simple, func(b blob) bool { return !b.partOf(large) }))
	}
	if len(typical) == 0 {
		return nil, usual{}
	}
	u := usualOf(typical)
	large = append(large, keep(found, func(b blob) bool {
		return b.whole.thick > 1.8*u.wholeThick && b.whole.length > 1.6*u.length && b.whole.length < longestDirt*side
	})...)
	return keep(found, func(b blob) bool { return b.like(u) && !b.partOf(large) }), u
}

func keep(blobs []blob, when func(blob) bool) []blob {
	var out []blob
	for _, b := range blobs {
		if when(b) {
			out = append(out, b)
		}
	}
	return out
}

// strong keeps the blobs that stand out at least half as much as the best fifth.
func strong(blobs []blob) []blob {
	if len(blobs) == 0 {
		return nil
	}
	peaks := make([]float64, len(blobs))
	for i, b := range blobs {
		peaks[i] = b.peak
	}
	slices.Sort(peaks)
	limit := 0.5 * peaks[len(peaks)*4/5]
	return keep(blobs, func(b blob) bool { return b.peak > limit })
}

// fill is the share of its ellipse that a shape fills. It is close to 1 for one
// body, and less for several or for one with legs.
func (s shape) fill() float64 { return s.area / (math.Pi / 4 * s.length * s.broad) }

func (s shape) winding() float64 { return s.area / (s.thick * s.thick) }

// simple reports whether the shape is that of one body.
func (s shape) simple() bool {
	return s.fill() > 0.9 && s.length < 4.2*s.broad && s.winding() < 6
}

// partOf reports whether the blob is one of the large ones, or lies so near one
// and is so much smaller that it is taken for a leg or a wing of it.
func (b blob) partOf(large []blob) bool {
	for _, l := range large {
		d := b.at.distance(l.at)
		if d == 0 || b.area < l.area/2 && d < surround*l.whole.length+3 {
			return true
		}
	}
	return false
}

// like reports whether the blob can be a speck, or a clump of specks, as is usual
// on this card.
func (b blob) like(u usual) bool {
	switch {
	case b.peak < leastPeak*u.peak, b.area < leastShare*u.area:
		return false
	case b.thick > mostThick*u.thick, b.thick < leastThick*u.thick:
		return false
	case b.winding() > mostWinding:
		return false
	case b.simple():
		return b.area < mostSingle*u.area
	}
	return b.length < 4*b.broad || b.fill() < 0.85 // a clump is not slim and even
}

// members is how many specks a blob holds: by its area, unless it is one body.
func (b blob) members(u usual) int {
	if b.simple() && b.area < mostAlone*u.area {
		return 1
	}
	return max(1, int(math.Round(b.area/u.area)))
}
