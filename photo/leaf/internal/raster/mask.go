package raster

import "math"

// Mask is a set of pixels.
type Mask struct {
	W, H int
	In   []bool
}

// NewMask is an empty set.
func NewMask(w, h int) Mask { return Mask{W: w, H: h, In: make([]bool, w*h)} }

// Area counts the pixels.
func (m Mask) Area() int {
	n := 0
	for _, in := range m.In {
		if in {
			n++
		}
	}
	return n
}

// Fraction is the share of the picture.
func (m Mask) Fraction() float64 {
	if len(m.In) == 0 {
		return 0
	}
	return float64(m.Area()) / float64(len(m.In))
}

// Not is the rest of the picture.
func (m Mask) Not() Mask {
	out := NewMask(m.W, m.H)
	for i, in := range m.In {
		out.In[i] = !in
	}
	return out
}

// And is what two sets share.
func (m Mask) And(o Mask) Mask {
	out := NewMask(m.W, m.H)
	for i := range out.In {
		out.In[i] = m.In[i] && o.In[i]
	}
	return out
}

// Steps of the chamfer distance: 3 to a neighbour beside, 4 across the corner
// (Borgefors 1986). Three of them are about one pixel.
const (
	beside = 3
	corner = 4
	far    = math.MaxUint16 - corner
)

// spread lets the pixels of the set (or, if set is false, those outside it) take over
// what is at most reach away, in thirds of a pixel. What lies beyond the rim of the
// picture takes over nothing.
func (m Mask) spread(set bool, reach uint16) Mask {
	out := NewMask(m.W, m.H)
	wide := m.W + 2 // a frame of far spares the rim its own rules
	d := make([]uint16, wide*(m.H+2))
	for i := range d {
		d[i] = far
	}
	for y := range m.H {
		above, row := d[y*wide:][:wide], d[(y+1)*wide:][:wide]
		for x, in := range m.In[y*m.W:][:m.W] {
			if in == set {
				row[x+1] = 0
				continue
			}
			row[x+1] = min(row[x]+beside, above[x+1]+beside, above[x]+corner, above[x+2]+corner, far)
		}
	}
	for y := m.H - 1; y >= 0; y-- {
		row, below := d[(y+1)*wide:][:wide], d[(y+2)*wide:][:wide]
		to := out.In[y*m.W:][:m.W]
		for x := m.W - 1; x >= 0; x-- {
			v := min(row[x+1], row[x+2]+beside, below[x+1]+beside, below[x]+corner, below[x+2]+corner)
			row[x+1] = v
			to[x] = (v <= reach) == set
		}
	}
	return out
}

// Grow adds everything within radius pixels.
func (m Mask) Grow(radius float64) Mask {
	return m.spread(true, uint16(math.Round(radius*beside)))
}

// Shrink removes everything within radius pixels of what is outside. The rim of
// the picture removes nothing.
func (m Mask) Shrink(radius float64) Mask {
	return m.spread(false, uint16(math.Round(radius*beside)))
}

// Open removes what is thinner than twice the radius.
func (m Mask) Open(radius float64) Mask { return m.Shrink(radius).Grow(radius) }

// Close fills gaps thinner than twice the radius.
func (m Mask) Close(radius float64) Mask { return m.Grow(radius).Shrink(radius) }

// Fill adds the holes: what cannot be reached from the rim of the picture.
func (m Mask) Fill() Mask {
	out := m.Not()
	for _, p := range out.Pieces() {
		if p.Rim > 0 {
			out.drop(p)
		}
	}
	for i, in := range m.In {
		out.In[i] = out.In[i] || in
	}
	return out
}

func (m Mask) drop(p Piece) {
	for _, i := range p.Pixels {
		m.In[i] = false
	}
}
