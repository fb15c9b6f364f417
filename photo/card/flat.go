package card

import "math"

// plane is one channel of the flat card, row by row.
type plane struct {
	w, h int
	pix  []float32
}

func newPlane(w, h int) plane { return plane{w, h, make([]float32, w*h)} }

// flat is the card as if seen from straight above: luma and two of chroma.
type flat struct {
	w, h     int
	channels [3]plane
	toPhoto  homography
}

// mostFlat is the longer side of the flat card. It is less where the photo shows
// fewer pixels: what was not seen is not made up.
const mostFlat = 1600

func (p picture) flatten(q quad) flat {
	s := q.sides()
	w, h := (s[0]+s[2])/2, (s[1]+s[3])/2
	by := min(1, mostFlat/max(w, h))
	f := flat{w: max(int(w*by), 1), h: max(int(h*by), 1)}
	f.toPhoto = q.onto(float64(f.w), float64(f.h))
	for i := range f.channels {
		f.channels[i] = newPlane(f.w, f.h)
	}
	for y := range f.h {
		for x := range f.w {
			v := f.toPhoto.at(float64(x)+0.5, float64(y)+0.5)
			i := y*f.w + x
			f.channels[0].pix[i] = float32(p.luma(v.x, v.y))
			cb, cr := p.chroma(v.x, v.y)
			f.channels[1].pix[i], f.channels[2].pix[i] = float32(cb), float32(cr)
		}
	}
	return f
}

// smooth is a Gaussian blur of sigma 0.9, across and then down. It takes away
// grain that is finer than any speck.
func (p plane) smooth() plane {
	weights := [5]float32{0.0345, 0.2380, 0.4550, 0.2380, 0.0345}
	pass := func(in []float32, n, step, start int, out []float32) {
		for i := range n {
			var sum float32
			for k, f := range weights {
				sum += f * in[start+min(max(i+k-2, 0), n-1)*step]
			}
			out[start+i*step] = sum
		}
	}
	a, b := newPlane(p.w, p.h), newPlane(p.w, p.h)
	for y := range p.h {
		pass(p.pix, p.w, 1, y*p.w, a.pix)
	}
	for x := range p.w {
		pass(a.pix, p.h, p.w, x, b.pix)
	}
	return b
}

// halved is made of the means of two by two values.
func (p plane) halved() plane {
	out := newPlane((p.w+1)/2, (p.h+1)/2)
	for y := range out.h {
		for x := range out.w {
			x1, y0, y1 := min(2*x+1, p.w-1), 2*y*p.w, min(2*y+1, p.h-1)*p.w
			out.pix[y*out.w+x] = (p.pix[y0+2*x] + p.pix[y0+x1] + p.pix[y1+2*x] + p.pix[y1+x1]) / 4
		}
	}
	return out
}

// doubledAt is the value at a place of a plane twice as large.
func (p plane) doubledAt(x, y int) float32 {
	u, v := max(float32(x)/2-0.25, 0), max(float32(y)/2-0.25, 0)
	i, j := int(u), int(v)
	fx, fy := u-float32(i), v-float32(j)
	k, l := min(i+1, p.w-1), min(j+1, p.h-1)
	upper := p.pix[j*p.w+i]*(1-fx) + p.pix[j*p.w+k]*fx
	lower := p.pix[l*p.w+i]*(1-fx) + p.pix[l*p.w+k]*fx
	return upper*(1-fy) + lower*fy
}

// histogram finds medians of a sliding window (Huang, Yang and Tang 1979).
type histogram struct {
	count    [512]int32
	n, below int32 // values in all, and under middle
	middle   int32
}

func (h *histogram) add(v uint16) {
	h.count[v]++
	h.n++
	if int32(v) < h.middle {
		h.below++
	}
}

func (h *histogram) drop(v uint16) {
	h.count[v]--
	h.n--
	if int32(v) < h.middle {
		h.below--
	}
}

func (h *histogram) median() uint16 {
	for h.below > h.n/2 {
		h.middle--
		h.below -= h.count[h.middle]
	}
	for h.below+h.count[h.middle] <= h.n/2 {
		h.below += h.count[h.middle]
		h.middle++
	}
	return uint16(h.middle)
}

// levels gives values as steps of a histogram: from at low, by each step.
func (p plane) levels(low, by float32) []uint16 {
	out := make([]uint16, len(p.pix))
	for i, v := range p.pix {
		out[i] = uint16(min(max((v-low)/by, 0), 511))
	}
	return out
}

// ground is the card without what is on it: the median of a window around each
// place, of a side of 2*reach+1.
func (p plane) ground(reach int, low float32) plane {
	small := p.halved()
	const by = 0.5
	values := small.levels(low, by)
	reach = max(reach/2, 1)
	out := newPlane(small.w, small.h)
	column := func(h *histogram, x, y int, change func(*histogram, uint16)) {
		if x < 0 || x >= small.w {
			return
		}
		for v := max(y-reach, 0); v <= min(y+reach, small.h-1); v++ {
			change(h, values[v*small.w+x])
		}
	}
	for y := range small.h {
		var h histogram
		for x := -reach; x < reach; x++ {
			column(&h, x, y, (*histogram).add)
		}
		for x := range small.w {
			column(&h, x+reach, y, (*histogram).add)
			out.pix[y*small.w+x] = low + by*(float32(h.median())+0.5)
			column(&h, x-reach, y, (*histogram).drop)
		}
	}
	return out
}

// withoutLines takes away what each value shares with most of its row or of its
// column nearby: a printed line along a side is its own ground there. Where two
// lines cross, anything between the ink of one and of both is line.
func (p plane) withoutLines(reach int) {
	rows, columns := newPlane(p.w, p.h), newPlane(p.w, p.h)
	for y := range p.h {
		p.shared(rows, y*p.w, 1, p.w, reach)
	}
	for x := range p.w {
		p.shared(columns, x, p.w, p.h, reach)
	}
	for i, v := range p.pix {
		r, c := rows.pix[i], columns.pix[i]
		one, both := r, r+c
		if c*c > r*r {
			one = c
		}
		p.pix[i] = v - min(max(v, min(one, both)), max(one, both))
	}
}

// shared gives the median of the neighbours along one line, or 0 where it is as
// small as rounding makes it.
func (p plane) shared(out plane, start, step, n, reach int) {
	const by = 1.0 / 128 // of the ground's brightness
	values := make([]uint16, n)
	for i := range values {
		values[i] = uint16(min(max(p.pix[start+i*step]/by+256.5, 0), 511))
	}
	var h histogram
	for i := range min(reach, n) {
		h.add(values[i])
	}
	for i := range n {
		if i+reach < n {
			h.add(values[i+reach])
		}
		if m := float32(int(h.median())-256) * by; m > by || m < -by {
			out.pix[start+i*step] = m
		}
		if i-reach >= 0 {
			h.drop(values[i-reach])
		}
	}
}

// deviation is the standard deviation of values without their outliers: 1.4826
// times the median distance from 0.
func deviation(values []float64) float64 {
	for i, v := range values {
		values[i] = math.Abs(v)
	}
	return 1.4826 * median(values)
}
