package card

import (
	"math"
	"slices"
)

// refine moves the sides of a quad onto the strongest step of brightness and
// colour within reach, and says how wide these steps are: the standard deviation
// of the blur, in pixels. The width is NaN where too few steps are seen.
func (p picture) refine(q quad, reach float64) (quad, float64) {
	var sides [4]line
	var widths []float64
	for i := range q {
		from, to := q[i], q[(i+1)%4]
		sides[i] = line{from, to}
		steps := p.steps(from, to, reach)
		for _, s := range steps {
			if s.width > 0 {
				widths = append(widths, s.width)
			}
		}
		if l, ok := lineThrough(steps, to.minus(from)); ok {
			sides[i] = l
		}
	}
	var out quad
	for i := range sides {
		at, ok := meet(sides[(i+3)%4], sides[i])
		if !ok || at.distance(q[i]) > 4*reach {
			at = q[i]
		}
		out[i] = at
	}
	if len(widths) < 20 {
		return out, math.NaN()
	}
	slices.Sort(widths)
	return out, widths[len(widths)/4] // the sharper ones: a rim may be ragged, never too sharp
}

// line goes through two places.
type line struct{ a, b vec }

func meet(l, m line) (vec, bool) {
	u, v := l.b.minus(l.a), m.b.minus(m.a)
	det := u.cross(v)
	if math.Abs(det) < 1e-6*u.length()*v.length() {
		return vec{}, false
	}
	return l.a.plus(u.times(m.a.minus(l.a).cross(v) / det)), true
}

// leastStep is the least change of brightness and colour, over four pixels, that
// is taken for the card's rim.
const leastStep = 16

// step is a place where the card ends.
type step struct {
	at    vec
	width float64 // 0 where it cannot be told
}

// steps looks across a side at many places along it.
func (p picture) steps(from, to vec, reach float64) []step {
	along := to.minus(from)
	n := int(along.length() / 4)
	if n < 8 {
		return nil
	}
	across := vec{-along.y, along.x}.times(1 / along.length())
	var found []step
	for i := n / 16; i < n-n/16; i++ {
		middle := from.plus(along.times((float64(i) + 0.5) / float64(n)))
		if s, ok := p.stepAcross(middle, across, reach); ok {
			found = append(found, s)
		}
	}
	return found
}

// stepAcross finds the strongest change along a short line. The width follows
// from the height of the step and its steepest slope, which for a Gaussian blur
// is the height divided by sigma and the root of 2 pi.
func (p picture) stepAcross(middle, across vec, reach float64) (step, bool) {
	n := int(2 * reach)
	values := make([][3]float64, n+1)
	for k := range values {
		v := middle.plus(across.times(float64(k) - reach))
		values[k][0] = p.luma(v.x, v.y)
		values[k][1], values[k][2] = p.chroma(v.x, v.y)
	}
	best, at := 0.0, -1
	for k := 2; k+2 <= n; k++ {
		if d := apart(values[k-2], values[k+2]); d > best {
			best, at = d, k
		}
	}
	if at < 0 || best < leastStep {
		return step{}, false
	}
	return step{middle.plus(across.times(float64(at) - reach)), widthOf(values, at)}, true
}

// widthOf judges the step at a place by the channel that changes most.
func widthOf(values [][3]float64, at int) float64 {
	n := len(values) - 1
	before, after := values[max(at-n/3, 0)], values[min(at+n/3, n)]
	channel, rise := 0, 0.0
	for i := range before {
		if d := math.Abs(after[i] - before[i]); d > rise {
			channel, rise = i, d
		}
	}
	slope := 0.0
	for k := max(at-2, 1); k <= min(at+2, n-1); k++ {
		slope = max(slope, math.Abs(values[k+1][channel]-values[k-1][channel])/2)
	}
	if rise < leastStep || slope == 0 {
		return 0
	}
	return rise / slope / math.Sqrt(2*math.Pi)
}

func apart(a, b [3]float64) float64 {
	return math.Abs(a[0]-b[0]) + math.Abs(a[1]-b[1]) + math.Abs(a[2]-b[2])
}

// lineThrough fits a line to the steps. Those far off the median distance from
// the old direction are left out: insects and shadows make steps of their own.
func lineThrough(steps []step, along vec) (line, bool) {
	if len(steps) < 12 {
		return line{}, false
	}
	var l line
	for _, near := range []float64{math.Inf(1), 4, 2, 1.2} {
		kept := steps
		if l != (line{}) {
			kept = nil
			for _, s := range steps {
				if math.Abs(l.off(s.at)) < near {
					kept = append(kept, s)
				}
			}
		}
		if len(kept) < 12 || len(kept) < len(steps)/4 {
			break
		}
		l = theilSen(kept, along)
	}
	return l, l != line{}
}

// off is how far a place lies beside the line.
func (l line) off(v vec) float64 {
	u := l.b.minus(l.a)
	return u.cross(v.minus(l.a)) / u.length()
}

// theilSen fits by medians: of the slopes between places half a side apart, then
// of what is left (Theil 1950, Sen 1968).
func theilSen(steps []step, along vec) line {
	u := along.times(1 / along.length())
	v := vec{-u.y, u.x}
	n, half := len(steps), len(steps)/2
	slopes := make([]float64, 0, half)
	for i := range half {
		d := steps[i+n-half].at.minus(steps[i].at)
		if t := d.dot(u); t > 1 {
			slopes = append(slopes, d.dot(v)/t)
		}
	}
	slope := median(slopes)
	rest := make([]float64, n)
	for i, s := range steps {
		rest[i] = s.at.dot(v) - slope*s.at.dot(u)
	}
	at := v.times(median(rest))
	return line{at, at.plus(u).plus(v.times(slope))}
}

func median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	slices.Sort(values)
	return values[len(values)/2]
}

func (q quad) scaled(by float64) quad {
	for i, v := range q {
		q[i] = vec{(v.x+0.5)*by - 0.5, (v.y+0.5)*by - 0.5}
	}
	return q
}
