package align

import "math"

const (
	leastAlike = 0.5 // of the squares
	alike      = 0.4 // correlation of a square that looks alike
	square     = 40  // pixels
)

// likeness says which share of the squares of a looks like what the similarity
// puts onto them from b: of all, and of those in the middle, where the leaf is.
// Two leaves on the same table agree around the leaf, and not in the middle.
// Squares without anything to see are not asked.
func likeness(a, b view, s Similarity) (all, middle float64) {
	var seen, good, seenMiddle, goodMiddle float64
	a, b = a.box(1), b.box(1)
	for y := 0; y+square <= a.h; y += square {
		for x := 0; x+square <= a.w; x += square {
			c, ok := correlation(a, b, s, x, y)
			if !ok {
				continue
			}
			inMiddle := a.middle(Point{float64(x + square/2), float64(y + square/2)}, 0.25)
			seen++
			if inMiddle {
				seenMiddle++
			}
			if c < alike {
				continue
			}
			good++
			if inMiddle {
				goodMiddle++
			}
		}
	}
	return good / max(seen, 1), goodMiddle / max(seenMiddle, 1)
}

// middle reports whether a place is farther than a share of the sides from the rim.
func (v view) middle(p Point, share float64) bool {
	x, y := share*float64(v.w), share*float64(v.h)
	return p.X > x && p.X < float64(v.w)-x && p.Y > y && p.Y < float64(v.h)-y
}

// around reports whether the pairs lie around the middle and not in it: the share
// of its corners that agree is less than a quarter of the share elsewhere. Corners
// the second picture does not show are not asked.
func (f fit) around(corners []feature, p, q view) bool {
	var inside, outside, agreeInside, agreeOutside float64
	for _, c := range corners {
		if to := f.similarity.Apply(c.at); !q.holds(to.X, to.Y) {
			continue
		}
		if p.middle(c.at, 0.3) {
			inside++
		} else {
			outside++
		}
	}
	for _, c := range f.pairs {
		if p.middle(c.a, 0.3) {
			agreeInside++
		} else {
			agreeOutside++
		}
	}
	const few = 10 // corners: too few to ask
	return inside >= few && agreeInside/inside < agreeOutside/max(outside, 1)/4
}

// correlation compares brightness within a square; even changes of light do not
// matter. It is false where the square is not on both pictures or too plain.
func correlation(a, b view, s Similarity, x0, y0 int) (float64, bool) {
	var n, sa, sb, saa, sbb, sab float64
	for y := y0; y < y0+square; y += 2 {
		for x := x0; x < x0+square; x += 2 {
			p := s.Apply(Point{float64(x), float64(y)})
			if !b.holds(p.X, p.Y) {
				return 0, false
			}
			u, v := float64(a.pix[y*a.w+x]), b.at(p.X, p.Y)
			n, sa, sb = n+1, sa+u, sb+v
			saa, sbb, sab = saa+u*u, sbb+v*v, sab+u*v
		}
	}
	va, vb := saa/n-sa*sa/n/n, sbb/n-sb*sb/n/n
	if max(va, vb) < 25 { // a standard deviation of 5 steps
		return 0, false
	}
	return (sab/n - sa*sb/n/n) / math.Sqrt(max(va*vb, 1)), true
}
