package align

import (
	"math"
	"math/rand/v2"
)

const (
	mostBits      = 80  // that may differ between two views of one corner
	ratio         = 0.9 // of the best to the second best elsewhere
	tolerance     = 3.0 // pixels
	tries         = 3000
	leastAgreeing = 12
	leastScale    = 0.4
	mostError     = 4.0 / working
)

// pair is a corner on both views.
type pair struct{ a, b Point }

// match pairs corners that are each other's nearest and clearly so.
func match(from, to []feature) []pair {
	back := make([]int, len(to))
	for j := range to {
		back[j], _ = nearest(to[j], from)
	}
	var pairs []pair
	for i := range from {
		j, clear := nearest(from[i], to)
		if clear && back[j] == i {
			pairs = append(pairs, pair{from[i].at, to[j].at})
		}
	}
	return pairs
}

// nearest is the feature that looks most alike, and whether it does so clearly:
// the next best one, elsewhere, must be worse. The same corner seen at another
// size is not elsewhere.
func nearest(f feature, among []feature) (best int, clear bool) {
	least := 257
	distances := make([]int16, len(among))
	for i, g := range among {
		d := f.bits.distance(g.bits)
		distances[i] = int16(d)
		if d < least {
			best, least = i, d
		}
	}
	if least > mostBits {
		return best, false
	}
	for i, d := range distances {
		if float64(least) > ratio*float64(d) && away(among[i].at, among[best].at) > 4*tolerance {
			return best, false
		}
	}
	return best, true
}

func away(a, b Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// fit is a similarity in pixels and the pairs that agree with it.
type fit struct {
	similarity Similarity
	pairs      []pair
}

// agree finds the similarity with which most pairs agree, from two pairs at a
// time (RANSAC, Fischler and Bolles 1981), and then fits it to all that do. The
// same pairs give the same result.
func agree(pairs []pair) fit {
	var best fit
	if len(pairs) < leastAgreeing {
		return best
	}
	r := rand.New(rand.NewPCG(1981, uint64(len(pairs))))
	for range tries {
		p, q := pairs[r.IntN(len(pairs))], pairs[r.IntN(len(pairs))]
		if away(p.a, q.a) < 20 || away(p.b, q.b) < 20 {
			continue
		}
		s := through(p.a, q.a, p.b, q.b)
		if s.Scale() < leastScale || s.Scale() > 1/leastScale {
			continue
		}
		if within := s.within(pairs); len(within) > len(best.pairs) {
			best = fit{s, within}
		}
	}
	for range 5 {
		if len(best.pairs) < leastAgreeing {
			break
		}
		best.similarity = leastSquares(best.pairs)
		best.pairs = best.similarity.within(pairs)
	}
	best.pairs = apart(best.pairs)
	return best
}

func (s Similarity) within(pairs []pair) []pair {
	var out []pair
	for _, p := range pairs {
		if away(s.Apply(p.a), p.b) < tolerance {
			out = append(out, p)
		}
	}
	return out
}

// apart keeps one of pairs that lie close together: a corner seen at several
// sizes is one witness.
func apart(pairs []pair) []pair {
	var out []pair
	for _, p := range pairs {
		alone := true
		for _, q := range out {
			alone = alone && away(p.a, q.a) > 4
		}
		if alone {
			out = append(out, p)
		}
	}
	return out
}

// leastSquares is the similarity with the least squares of distances: in closed
// form, about the centres.
func leastSquares(pairs []pair) Similarity {
	ca, cb := centres(pairs)
	var dot, cross, square float64
	for _, p := range pairs {
		ax, ay, bx, by := p.a.X-ca.X, p.a.Y-ca.Y, p.b.X-cb.X, p.b.Y-cb.Y
		dot += ax*bx + ay*by
		cross += ax*by - ay*bx
		square += ax*ax + ay*ay
	}
	s := Similarity{A: dot / square, B: cross / square}
	at := s.Apply(ca)
	s.X, s.Y = cb.X-at.X, cb.Y-at.Y
	return s
}

func centres(pairs []pair) (a, b Point) {
	n := float64(len(pairs))
	for _, p := range pairs {
		a.X, a.Y, b.X, b.Y = a.X+p.a.X/n, a.Y+p.a.Y/n, b.X+p.b.X/n, b.Y+p.b.Y/n
	}
	return a, b
}

// uncertainty is three standard deviations of where the fit puts the corner of
// the view that is farthest from the pairs, in pixels of the other view. Pairs
// that lie close together say little about places far from them.
func (f fit) uncertainty(v view) float64 {
	c, _ := centres(f.pairs)
	var spread, off float64
	for _, p := range f.pairs {
		spread += math.Pow(away(p.a, c), 2)
		off += math.Pow(away(f.similarity.Apply(p.a), p.b), 2)
	}
	n := float64(len(f.pairs))
	w, h := float64(v.w-1), float64(v.h-1)
	far := math.Hypot(max(c.X, w-c.X), max(c.Y, h-c.Y))
	return 3 * math.Sqrt(off/(n-2)*(1/n+far*far/spread))
}
