package raster

import "math"

// Piece is a part of a mask that hangs together by the sides of its pixels.
type Piece struct {
	Pixels []int32 // indices, in no order
	Rim    int     // how many of them lie at the rim of the picture
}

// Pieces takes a mask apart.
func (m Mask) Pieces() []Piece {
	var all []Piece
	seen := make([]bool, len(m.In))
	pixels := make([]int32, 0, m.Area()) // every piece is a run of this
	for i, in := range m.In {
		if !in || seen[i] {
			continue
		}
		start := len(pixels)
		pixels = m.flood(append(pixels, int32(i)), start, seen)
		p := Piece{Pixels: pixels[start:len(pixels):len(pixels)]}
		for _, j := range p.Pixels {
			if m.atRim(int(j)) {
				p.Rim++
			}
		}
		all = append(all, p)
	}
	return all
}

// flood appends everything that hangs together with the pixel at start.
func (m Mask) flood(pixels []int32, start int, seen []bool) []int32 {
	seen[pixels[start]] = true
	for next := start; next < len(pixels); next++ {
		i := int(pixels[next])
		x := i % m.W
		for _, n := range [...]struct {
			at int
			ok bool
		}{{i - 1, x > 0}, {i + 1, x < m.W-1}, {i - m.W, i >= m.W}, {i + m.W, i+m.W < len(m.In)}} {
			if n.ok && m.In[n.at] && !seen[n.at] {
				seen[n.at] = true
				pixels = append(pixels, int32(n.at))
			}
		}
	}
	return pixels
}

func (m Mask) atRim(i int) bool {
	x, y := i%m.W, i/m.W
	return x == 0 || y == 0 || x == m.W-1 || y == m.H-1
}

// Keep is the mask of the pieces that pass.
func (m Mask) Keep(pass func(Piece) bool) Mask {
	out := NewMask(m.W, m.H)
	for _, p := range m.Pieces() {
		if pass(p) {
			for _, i := range p.Pixels {
				out.In[i] = true
			}
		}
	}
	return out
}

// Box is the width and height of the smallest upright box around the piece, in a
// picture of the given width.
func (p Piece) Box(width int) (w, h int) {
	left, right, top, bottom := width, -1, math.MaxInt, -1
	for _, i := range p.Pixels {
		x, y := int(i)%width, int(i)/width
		left, right, top, bottom = min(left, x), max(right, x), min(top, y), max(bottom, y)
	}
	return right - left + 1, bottom - top + 1
}
