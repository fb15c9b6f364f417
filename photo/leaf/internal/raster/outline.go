package raster

import (
	"math"
	"slices"
)

// Point is a place on a picture, in pixels from its upper left corner. Pixel
// (0, 0) covers the square from (0, 0) to (1, 1).
type Point struct{ X, Y float64 }

// heading is a direction of a walk along the sides of pixels: east, south, west
// and north, turning right.
var heading = [4]struct{ dx, dy, leftX, leftY, rightX, rightY int }{
	{1, 0, 0, -1, 0, 0},
	{0, 1, 0, 0, -1, 0},
	{-1, 0, -1, 0, -1, -1},
	{0, -1, -1, -1, 0, -1},
}

// Outline walks once around the first piece of the mask, with the piece on the
// right, and gives the corners. A polygon of them covers the piece and its holes.
func (m Mask) Outline() []Point {
	first := slices.Index(m.In, true)
	if first < 0 {
		return nil
	}
	x0, y0 := first%m.W, first/m.W
	points := []Point{{float64(x0), float64(y0)}}
	for x, y, d := x0+1, y0, 0; ; {
		h := heading[d]
		turned := d
		switch {
		case !m.at(x+h.rightX, y+h.rightY):
			turned = (d + 1) % 4
		case m.at(x+h.leftX, y+h.leftY):
			turned = (d + 3) % 4
		}
		if x == x0 && y == y0 && turned == 0 {
			return points
		}
		if turned != d {
			points = append(points, Point{float64(x), float64(y)})
			d = turned
		}
		x, y = x+heading[d].dx, y+heading[d].dy
	}
}

func (m Mask) at(x, y int) bool {
	return x >= 0 && y >= 0 && x < m.W && y < m.H && m.In[y*m.W+x]
}

// Simplify leaves out points of a closed line that are within tolerance of the
// straight line between those kept (Douglas and Peucker 1973).
func Simplify(closed []Point, tolerance float64) []Point {
	if len(closed) < 4 {
		return closed
	}
	opposite := farthest(closed, closed[0], closed[0])
	out := simplify([]Point{closed[0]}, closed[:opposite+1], tolerance)
	rest := append(slices.Clone(closed[opposite:]), closed[0])
	out = simplify(out, rest, tolerance)
	return out[:len(out)-1]
}

// simplify appends what is kept of a line to kept, which holds its start.
func simplify(kept, line []Point, tolerance float64) []Point {
	last := len(line) - 1
	i := farthest(line, line[0], line[last])
	if i == 0 || i == last || off(line[i], line[0], line[last]) <= tolerance {
		return append(kept, line[last])
	}
	return simplify(simplify(kept, line[:i+1], tolerance), line[i:], tolerance)
}

func farthest(line []Point, a, b Point) int {
	best, at := -1.0, 0
	for i, p := range line {
		if d := off(p, a, b); d > best {
			best, at = d, i
		}
	}
	return at
}

// off is the distance of p from the stretch between a and b.
func off(p, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if length := dx*dx + dy*dy; length > 0 {
		t = min(max(((p.X-a.X)*dx+(p.Y-a.Y)*dy)/length, 0), 1)
	}
	return math.Hypot(p.X-a.X-t*dx, p.Y-a.Y-t*dy)
}

// Polygon is the set of pixels whose centres lie inside a closed line. Where it
// crosses itself, every second region is outside.
func Polygon(w, h int, closed []Point) Mask {
	m := NewMask(w, h)
	var crossings []float64
	for y := range h {
		crossings = crossingsAt(crossings[:0], closed, float64(y)+0.5)
		for i := 0; i+1 < len(crossings); i += 2 {
			from, to := crossings[i], crossings[i+1]
			for x := max(0, int(math.Ceil(from-0.5))); x < w && float64(x)+0.5 < to; x++ {
				m.In[y*w+x] = true
			}
		}
	}
	return m
}

// crossingsAt appends where the line crosses a height, from left to right.
func crossingsAt(to []float64, closed []Point, y float64) []float64 {
	for i, a := range closed {
		b := closed[(i+1)%len(closed)]
		if (a.Y <= y) != (b.Y <= y) {
			to = append(to, a.X+(y-a.Y)/(b.Y-a.Y)*(b.X-a.X))
		}
	}
	slices.Sort(to)
	return to
}
