package card

import "math"

// vec is a place on a picture or a flat card, in pixels.
type vec struct{ x, y float64 }

func (a vec) minus(b vec) vec        { return vec{a.x - b.x, a.y - b.y} }
func (a vec) plus(b vec) vec         { return vec{a.x + b.x, a.y + b.y} }
func (a vec) times(k float64) vec    { return vec{a.x * k, a.y * k} }
func (a vec) cross(b vec) float64    { return a.x*b.y - a.y*b.x }
func (a vec) dot(b vec) float64      { return a.x*b.x + a.y*b.y }
func (a vec) length() float64        { return math.Hypot(a.x, a.y) }
func (a vec) distance(b vec) float64 { return a.minus(b).length() }

// quad are four corners in pixels, clockwise as seen (y grows downwards).
type quad [4]vec

func quadOf(c Corners, long float64) quad {
	var q quad
	for i, p := range c {
		q[i] = vec{p.X*long - 0.5, p.Y*long - 0.5}
	}
	return q
}

func (q quad) corners(long float64) Corners {
	var c Corners
	for i, v := range q {
		c[i] = Point{(v.x + 0.5) / long, (v.y + 0.5) / long}
	}
	return c
}

func (q quad) area() float64 {
	return q[2].minus(q[0]).cross(q[3].minus(q[1])) / 2
}

// sides are the lengths of the upper, right, lower and left side.
func (q quad) sides() [4]float64 {
	var s [4]float64
	for i := range q {
		s[i] = q[i].distance(q[(i+1)%4])
	}
	return s
}

// sound reports whether a flat card can look like this: four corners clockwise,
// none too flat, and opposite sides of comparable length.
func (q quad) sound() bool {
	s := q.sides()
	for i := range q {
		if !(s[i] >= 8 && s[i] <= 1e6) { // also refuses what is not a number
			return false
		}
		before, after := q[i].minus(q[(i+3)%4]), q[(i+1)%4].minus(q[i])
		if before.cross(after) < 0.7*before.length()*after.length() {
			return false
		}
		if s[i] < 0.5*s[(i+2)%4] {
			return false
		}
	}
	return true
}

// turned puts the corner nearest the upper left first.
func (q quad) turned() quad {
	first := 0
	for i, v := range q {
		if v.x+v.y < q[first].x+q[first].y {
			first = i
		}
	}
	var t quad
	for i := range t {
		t[i] = q[(first+i)%4]
	}
	return t
}

// homography is a projective map of the plane, row by row; the last element is 1.
type homography [9]float64

// onto gives the map that takes the corners of a rectangle w by h to the quad:
// Heckbert's closed form of 1989 for the unit square, scaled.
func (q quad) onto(w, h float64) homography {
	d1, d2 := q[1].minus(q[2]), q[3].minus(q[2])
	s := q[0].minus(q[1]).plus(q[2]).minus(q[3])
	det := d1.cross(d2)
	g, k := s.cross(d2)/det, d1.cross(s)/det
	return homography{
		(q[1].x - q[0].x + g*q[1].x) / w, (q[3].x - q[0].x + k*q[3].x) / h, q[0].x,
		(q[1].y - q[0].y + g*q[1].y) / w, (q[3].y - q[0].y + k*q[3].y) / h, q[0].y,
		g / w, k / h, 1,
	}
}

func (m homography) at(x, y float64) vec {
	d := m[6]*x + m[7]*y + m[8]
	return vec{(m[0]*x + m[1]*y + m[2]) / d, (m[3]*x + m[4]*y + m[5]) / d}
}
