package scale

import "math"

// resize makes a plane of w by h samples, of which the picture fills width by
// height. It mirrors as the turn says; transposing is left to the turn.
func (p plane) resize(w, h int, width, height float64, t turn) plane {
	for p.width >= 2*width && p.height >= 2*height {
		p = p.halve()
	}
	across := tapsOf(w, p.w, width, p.width, t.mirrorX)
	down := tapsOf(h, p.h, height, p.height, t.mirrorY)
	return p.across(across).down(down, h, width, height)
}

// halve makes means of two by two samples. An odd last column or row is paired
// with itself.
func (p plane) halve() plane {
	w, h := (p.w+1)/2, (p.h+1)/2
	q := plane{pix: make([]byte, w*h), stride: w, w: w, h: h, width: p.width / 2, height: p.height / 2}
	for y := range q.h {
		a := p.pix[2*y*p.stride:][:p.w]
		b := p.pix[min(2*y+1, p.h-1)*p.stride:][:p.w]
		out := q.pix[y*q.w:][:q.w]
		n := p.w / 2
		for x := range n {
			out[x] = byte((uint(a[2*x]) + uint(a[2*x+1]) + uint(b[2*x]) + uint(b[2*x+1]) + 2) / 4)
		}
		if n < q.w {
			out[n] = byte((uint(a[2*n]) + uint(b[2*n]) + 1) / 2)
		}
	}
	return q
}

// Fixed-point places: of the weights, and of the values between the two passes.
const (
	weightBits  = 14
	betweenBits = 6
)

// taps say how one sample is made: weights for the source samples from first on.
// The weights add up to 1<<weightBits.
type taps struct {
	first   int
	weights []int32
}

// tapsOf works out the taps of n samples that share an axis of the picture: it is
// to samples long in the copy and from samples long in a source of size samples.
// Mirrored ones count from the far end.
func tapsOf(n, size int, to, from float64, mirror bool) []taps {
	all := make([]taps, n)
	each := from / to
	for i := range all {
		centre := (float64(i) + 0.5) * each
		if mirror {
			centre = from - centre
		}
		all[i] = tapsAt(centre-0.5, max(each, 1), size)
	}
	return all
}

// tapsAt weighs the samples around a point with the stretched kernel.
func tapsAt(centre, stretch float64, size int) taps {
	first := min(max(int(math.Ceil(centre-2*stretch)), 0), size-1)
	last := max(min(int(math.Floor(centre+2*stretch)), size-1), first)
	weights := make([]float64, last-first+1)
	var sum float64
	for i := range weights {
		weights[i] = catmullRom((float64(first+i) - centre) / stretch)
		sum += weights[i]
	}
	t := taps{first: first, weights: make([]int32, len(weights))}
	if sum == 0 { // the point lies outside: repeat the rim
		t.weights[0] = 1 << weightBits
		return t
	}
	rest, largest := int32(1<<weightBits), 0
	for i, w := range weights {
		t.weights[i] = int32(math.Round(w / sum * (1 << weightBits)))
		rest -= t.weights[i]
		if t.weights[i] > t.weights[largest] {
			largest = i
		}
	}
	t.weights[largest] += rest
	return t
}

// catmullRom is the cubic kernel through its points: B = 0, C = 1/2 in the family
// of Mitchell and Netravali (1988).
func catmullRom(x float64) float64 {
	switch x = math.Abs(x); {
	case x < 1:
		return (1.5*x-2.5)*x*x + 1
	case x < 2:
		return ((-0.5*x+2.5)*x-4)*x + 2
	}
	return 0
}

// between holds the values after the pass across, with betweenBits places.
type between struct {
	v    []int16
	w, h int
}

func (p plane) across(all []taps) between {
	out := between{v: make([]int16, len(all)*p.h), w: len(all), h: p.h}
	const shift = weightBits - betweenBits
	for y := range p.h {
		row := p.pix[y*p.stride:][:p.w]
		to := out.v[y*out.w:][:out.w]
		for x := range all {
			t := &all[x]
			src := row[t.first:][:len(t.weights)]
			sum := int32(1 << (shift - 1))
			for i, w := range t.weights {
				sum += w * int32(src[i])
			}
			to[x] = int16(sum >> shift)
		}
	}
	return out
}

func (b between) down(all []taps, h int, width, height float64) plane {
	out := plane{pix: make([]byte, b.w*h), stride: b.w, w: b.w, h: h, width: width, height: height}
	sums := make([]int32, b.w)
	const shift = weightBits + betweenBits
	for y := range h {
		for x := range sums {
			sums[x] = 1 << (shift - 1)
		}
		for i, w := range all[y].weights {
			row := b.v[(all[y].first+i)*b.w:][:b.w]
			for x, v := range row {
				sums[x] += w * int32(v)
			}
		}
		to := out.pix[y*b.w:][:b.w]
		for x, sum := range sums {
			to[x] = byte(min(max(sum>>shift, 0), 255))
		}
	}
	return out
}
