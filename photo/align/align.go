package align

import (
	"image"
	"math"

	"leafturn/model/fault"
)

// Method names the way of aligning. Store it with a result.
const Method = "align-1"

// Point is a place on a picture. Both coordinates are in units of the picture's
// longer side, so that a place found on one copy of a photo holds on every other.
type Point struct{ X, Y float64 }

// Similarity turns, scales and moves the plane:
//
//	x' = A·x − B·y + X
//	y' = B·x + A·y + Y
type Similarity struct{ A, B, X, Y float64 }

// Identity leaves every point where it is.
var Identity = Similarity{A: 1}

// Apply maps a point of the first picture to the second.
func (s Similarity) Apply(p Point) Point {
	return Point{s.A*p.X - s.B*p.Y + s.X, s.B*p.X + s.A*p.Y + s.Y}
}

// Scale is how many times larger things are on the second picture.
func (s Similarity) Scale() float64 { return math.Hypot(s.A, s.B) }

// Turn is the angle in radians, clockwise as seen, because y grows downwards.
func (s Similarity) Turn() float64 { return math.Atan2(s.B, s.A) }

// Inverse maps points of the second picture to the first. The scale must not be 0.
func (s Similarity) Inverse() Similarity {
	d := s.A*s.A + s.B*s.B
	a, b := s.A/d, -s.B/d
	return Similarity{a, b, -(a*s.X - b*s.Y), -(b*s.X + a*s.Y)}
}

// ErrSamePoint is returned by FromPoints when two points that must be apart are
// not.
var ErrSamePoint = fault.New("align_same_point", "Choose two points that are farther apart.")

// least is the shortest distance of two points that say something about a turn.
const least = 0.01

// FromPoints gives the similarity that takes a1 to b1 and a2 to b2 exactly: two
// places of a leaf that a person has pointed out on both pictures.
func FromPoints(a1, a2, b1, b2 Point) (Similarity, error) {
	ax, ay, bx, by := a2.X-a1.X, a2.Y-a1.Y, b2.X-b1.X, b2.Y-b1.Y
	if !(math.Hypot(ax, ay) >= least && math.Hypot(bx, by) >= least) {
		return Similarity{}, ErrSamePoint
	}
	return through(a1, a2, b1, b2), nil
}

// through divides the two directions as complex numbers.
func through(a1, a2, b1, b2 Point) Similarity {
	ax, ay, bx, by := a2.X-a1.X, a2.Y-a1.Y, b2.X-b1.X, b2.Y-b1.Y
	d := ax*ax + ay*ay
	s := Similarity{A: (ax*bx + ay*by) / d, B: (ax*by - ay*bx) / d}
	at := s.Apply(a1)
	s.X, s.Y = b1.X-at.X, b1.Y-at.Y
	return s
}

// Reason says why two pictures cannot be aligned.
type Reason string

// The reasons.
const (
	Aligned  Reason = ""
	TooSmall Reason = "too_small"     // fewer than 100 pixels on a side
	TooPlain Reason = "too_plain"     // too little to hold on to: blurred, dark or empty
	NoMatch  Reason = "no_match"      // too few places agree: perhaps another leaf
	Unsure   Reason = "unsure"        // places agree, but not well enough to be sure
	Differs  Reason = "differs_there" // the surroundings agree and what lies between does not
)

// Result is what was found. The similarity is meant only when CannotAlign is
// empty.
type Result struct {
	Method      string
	CannotAlign Reason
	Similarity  Similarity // from the first picture to the second
	Agreeing    int        // places that support it
	// Error is how far off it may be anywhere on the first picture, in units of the
	// longer side: three standard deviations, for a flat leaf that did not grow.
	Error float64
	// Confidence is the share of the picture that looks alike after aligning.
	Confidence float64
}

// Find aligns two upright pictures of the same leaf.
func Find(a, b image.Image) Result {
	r := Result{Method: Method}
	p, q := viewOf(a), viewOf(b)
	if min(p.w, p.h, q.w, q.h) < leastSide {
		r.CannotAlign = TooSmall
		return r
	}
	from, to := p.features(), q.features()
	if len(from) < leastFeatures || len(to) < leastFeatures {
		r.CannotAlign = TooPlain
		return r
	}
	f := agree(match(from, to))
	r.Agreeing = len(f.pairs)
	if r.Agreeing < leastAgreeing {
		r.CannotAlign = NoMatch
		return r
	}
	r.Similarity = f.similarity.normal(p, q)
	r.Error = f.uncertainty(p) / p.long()
	all, middle := likeness(p, q, f.similarity)
	r.Confidence = all
	switch {
	case r.Error > mostError || all < leastAlike:
		r.CannotAlign = Unsure
	case middle < leastAlike || f.around(from, p, q):
		r.CannotAlign = Differs
	}
	return r
}

// normal turns a similarity of pixels into one of longer sides. Pixel centres
// have whole coordinates.
func (s Similarity) normal(p, q view) Similarity {
	lp, lq := p.long(), q.long()
	return Similarity{
		A: s.A * lp / lq, B: s.B * lp / lq,
		X: (s.X + 0.5 - 0.5*(s.A-s.B)) / lq, Y: (s.Y + 0.5 - 0.5*(s.B+s.A)) / lq,
	}
}
