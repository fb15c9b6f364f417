package card

import (
	"math"
	"slices"
)

// coarse is the longer side of the copy on which the card is looked for.
const coarse = 480

// find finds the card: the largest region of one strong colour, yellow or blue,
// whose outline is close to four straight sides.
func find(p picture) (quad, Reason) {
	if min(p.w, p.h) < 100 {
		return quad{}, TooSmall
	}
	small := p.reduced(coarse)
	best, whole := candidate{}, candidate{}
	for _, c := range small.candidates() {
		if c.worth() > best.worth() {
			best = c
		}
		if !c.rim && c.worth() > whole.worth() {
			whole = c
		}
	}
	if whole.area > 0 {
		best = whole // a table of nearly the colour of a card reaches the rim
	}
	if best.tint < 0.2 {
		return quad{}, NoCard
	}
	if best.rim {
		return quad{}, Cut
	}
	ratio := p.long() / small.long()
	q := best.quad.scaled(ratio)
	if q, _ = p.refine(q, 4*ratio); !q.sound() {
		return quad{}, NoCard
	}
	return q.turned(), Readable
}

// yellow and blue say how much of the colour there is in chroma divided by luma.
// Shadow leaves both unchanged. Green is kept apart from yellow by its red.
func yellow(cb, cr float64) float64 { return -cb - 2*max(0, -cr-0.05) - max(0, cr-0.2) }
func blue(cb, cr float64) float64   { return cb - max(0, cr) }

// candidate is a region that may be a card.
type candidate struct {
	quad quad
	area float64 // of the region, its holes filled, in pixels
	fits float64 // share of the quad that the region fills
	tint float64 // mean tint inside
	rim  bool    // reaches the picture's rim
}

func (c candidate) worth() float64 { return c.area * math.Pow(c.fits, 4) * c.tint }

// candidates are the regions that have four sides and are large enough. Reflected
// light and shadow on a card can have less colour than Otsu's limit asks for, so
// lower limits are tried as well; the region that fits its sides best wins.
func (p picture) candidates() []candidate {
	var all []candidate
	for _, tint := range []func(cb, cr float64) float64{yellow, blue} {
		tints := p.tints(tint)
		limit := max(otsu(tints), 0.14)
		for _, part := range []float64{1, 0.75, 0.5} {
			c := p.candidate(tints, part*limit)
			if c.fits > leastFit && c.area > leastCard*float64(p.w*p.h) {
				all = append(all, c)
			}
		}
	}
	return all
}

const (
	leastFit  = 0.85 // of the quad must be filled
	leastCard = 0.04 // of the picture must be card
)

func (p picture) candidate(tints []float64, limit float64) candidate {
	inside := make([]bool, len(tints))
	for i, t := range tints {
		inside[i] = t > limit
	}
	r := largest(inside, p.w, p.h)
	if r.area < 50 {
		return candidate{}
	}
	q, ok := enclosing(hull(r.outline))
	if !ok || !q.sound() {
		return candidate{}
	}
	c := candidate{quad: q, area: r.area, tint: r.mean(tints), fits: r.area / max(q.area(), r.area)}
	for _, v := range q {
		c.rim = c.rim || v.x < 1 || v.y < 1 || v.x > float64(p.w-2) || v.y > float64(p.h-2)
	}
	return c
}

func (p picture) tints(tint func(cb, cr float64) float64) []float64 {
	tints := make([]float64, p.w*p.h)
	for y := range p.h {
		for x := range p.w {
			cb, cr := p.chroma(float64(x), float64(y))
			l := max(p.luma(float64(x), float64(y)), 30)
			tints[y*p.w+x] = tint(cb/l, cr/l)
		}
	}
	return tints
}

// otsu is the limit that parts values between 0 and 1 into two classes with the
// greatest variance between them (Otsu 1979).
func otsu(values []float64) float64 {
	const bins = 128
	var count [bins]float64
	var all, sum float64
	for _, v := range values {
		b := int(min(max(v, 0), 0.999) * bins)
		count[b]++
		all, sum = all+1, sum+float64(b)
	}
	best, limit := -1.0, 0
	var below, sumBelow float64
	for b, n := range count {
		below, sumBelow = below+n, sumBelow+n*float64(b)
		if below == 0 || below == all {
			continue
		}
		apart := sumBelow/below - (sum-sumBelow)/(all-below)
		if v := below * (all - below) * apart * apart; v > best {
			best, limit = v, b
		}
	}
	return (float64(limit) + 1) / bins
}

// region is a connected piece of a mask.
type region struct {
	area    float64 // between its first and last pixel in each row
	pixels  []int32
	outline []vec // first and last pixel of each row
}

func (r region) mean(values []float64) float64 {
	sum := 0.0
	for _, i := range r.pixels {
		sum += values[i]
	}
	return sum / float64(len(r.pixels))
}

// largest is the largest connected piece. Holes, which insects and reflections
// make, count as part of it.
func largest(mask []bool, w, h int) region {
	var best []int32
	for _, piece := range pieces(mask, w, h) {
		if len(piece) > len(best) {
			best = piece
		}
	}
	r := region{pixels: best}
	slices.Sort(best)
	for i := 0; i < len(best); {
		y, first := int(best[i])/w, int(best[i])%w
		last := first
		for ; i < len(best) && int(best[i])/w == y; i++ {
			last = int(best[i]) % w
		}
		r.area += float64(last - first + 1)
		// The corners of the first and last pixel, so that the hull holds all of them.
		l, u := float64(first)-0.5, float64(y)-0.5
		right, lower := float64(last)+0.5, float64(y)+0.5
		r.outline = append(r.outline, vec{l, u}, vec{l, lower}, vec{right, u}, vec{right, lower})
	}
	return r
}

// pieces are the connected pieces of a mask, neighbours by edge or corner.
func pieces(mask []bool, w, h int) [][]int32 {
	seen := make([]bool, len(mask))
	var all [][]int32
	for i, in := range mask {
		if !in || seen[i] {
			continue
		}
		seen[i] = true
		piece := []int32{int32(i)}
		for k := 0; k < len(piece); k++ {
			x, y := int(piece[k])%w, int(piece[k])/w
			for v := max(y-1, 0); v <= min(y+1, h-1); v++ {
				for u := max(x-1, 0); u <= min(x+1, w-1); u++ {
					if j := v*w + u; mask[j] && !seen[j] {
						seen[j] = true
						piece = append(piece, int32(j))
					}
				}
			}
		}
		all = append(all, piece)
	}
	return all
}

// hull is the convex hull, clockwise as seen (Andrew 1979).
func hull(points []vec) []vec {
	slices.SortFunc(points, func(a, b vec) int {
		if a.x != b.x {
			return cmpFloat(a.x, b.x)
		}
		return cmpFloat(a.y, b.y)
	})
	half := func(points []vec) []vec {
		var out []vec
		for _, p := range points {
			for len(out) > 1 && out[len(out)-1].minus(out[len(out)-2]).cross(p.minus(out[len(out)-1])) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	upper := half(points)
	slices.Reverse(points)
	return append(upper, half(points)...)
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// enclosing lays four sides round a convex outline: again and again it takes away
// the side whose loss adds the least area, and lengthens its neighbours until
// they meet. A corner hidden by a reflection comes back that way.
func enclosing(outline []vec) (quad, bool) {
	for len(outline) > 4 {
		best, least, at := -1, math.Inf(1), vec{}
		n := len(outline)
		for i := range n {
			a, b, c, d := outline[(i+n-1)%n], outline[i], outline[(i+1)%n], outline[(i+2)%n]
			meet, ok := crossing(a, b, c, d)
			if !ok {
				continue
			}
			if added := math.Abs(meet.minus(b).cross(c.minus(b))); added < least {
				best, least, at = i, added, meet
			}
		}
		if best < 0 {
			return quad{}, false
		}
		outline[best] = at
		outline = slices.Delete(outline, (best+1)%n, (best+1)%n+1)
	}
	if len(outline) < 4 {
		return quad{}, false
	}
	return quad(outline), true
}

// crossing is where the lines from a through b and from d through c meet, beyond
// b and c.
func crossing(a, b, c, d vec) (vec, bool) {
	u, v := b.minus(a), c.minus(d)
	det := u.cross(v)
	if math.Abs(det) < 1e-9 {
		return vec{}, false
	}
	k := c.minus(b).cross(v) / det
	l := c.minus(b).cross(u) / det
	if k < 0 || l < 0 {
		return vec{}, false
	}
	return b.plus(u.times(k)), true
}
