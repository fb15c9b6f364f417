package population

import "math"

// fates is how many things can happen to an animal in a day: it dies, or it goes
// 0, 1 … fates-2 boxes on by chance.
const fates = 8

// fate is the chances of what happens to an animal in a day, ready for drawing:
// by the alias method (ACM Transactions on Mathematical Software 3, 1977, doi
// 10.1145/355744.355749; from memory) for single animals, by mean and spread for
// many.
type fate struct {
	p     [fates]float64
	root  [fates]float64 // of p
	keep  [fates]uint16  // of 1<<13
	other [fates]uint8
	last  int // the greatest number with a chance worth a draw
	over  [offsets][overs]uint8
}

// oneByOne is the most animals of one box that are drawn singly.
const oneByOne = 12

// rare is the chance below which going further is reckoned to the step before.
const rare = 2e-4

// newFate makes the chances of a daily survival and a mean number of chance boxes.
func newFate(survive, mean float64) fate {
	var f fate
	f.p[0] = 1 - survive
	q, left := math.Exp(-mean), 1.0
	for j := 1; j < fates-1; j++ {
		f.p[j] = survive * q
		left -= q
		q *= mean / float64(j)
	}
	f.p[fates-1] = survive * max(0, left)
	f.last = fates - 1
	for f.last > 1 && f.p[f.last] < rare {
		f.p[f.last-1] += f.p[f.last]
		f.p[f.last] = 0
		f.last--
	}
	for j, p := range f.p {
		f.root[j] = math.Sqrt(p)
	}
	f.alias()
	return f
}

// alias fills the two tables: cell j keeps j for a share of the draws and gives
// another outcome for the rest.
func (f *fate) alias() {
	var share [fates]float64
	var small, large [fates]int
	smalls, larges := 0, 0
	for j, p := range f.p {
		share[j] = p * fates
		if share[j] < 1 {
			small[smalls] = j
			smalls++
		} else {
			large[larges] = j
			larges++
		}
	}
	for smalls > 0 && larges > 0 {
		smalls--
		s, l := small[smalls], large[larges-1]
		f.keep[s], f.other[s] = cell(share[s]), uint8(l)
		share[l] -= 1 - share[s]
		if share[l] < 1 {
			larges--
			small[smalls] = l
			smalls++
		}
	}
	for _, j := range append(small[:smalls:smalls], large[:larges]...) {
		f.keep[j], f.other[j] = 1<<13, uint8(j)
	}
}

func cell(share float64) uint16 { return uint16(math.Round(max(0, share) * (1 << 13))) }

// single draws what happens to one animal from 16 random bits. The difference is
// negative, and its top bits all ones, if the cell is kept: a branch would be
// guessed wrongly too often.
func (f *fate) single(bits uint64) uint8 {
	cell := bits & (fates - 1)
	kept := uint8((int32(bits>>3&(1<<13-1)) - int32(f.keep[cell])) >> 31)
	return uint8(cell)&kept | f.other[cell]&^kept
}

// draw shares n animals out among the fates.
func (f *fate) draw(r *Rand, n int32, out *[fates]int32) {
	*out = [fates]int32{}
	if n > oneByOne {
		f.many(r, n, out)
		return
	}
	for ; n >= 4; n -= 4 {
		u := r.Uint64()
		out[f.single(u)&(fates-1)]++
		out[f.single(u>>16)&(fates-1)]++
		out[f.single(u>>32)&(fates-1)]++
		out[f.single(u>>48)&(fates-1)]++
	}
	if n > 0 {
		for u := r.Uint64(); n > 0; n-- {
			out[f.single(u)&(fates-1)]++
			u >>= 16
		}
	}
}

// many adds even noise of the right size to the mean of each fate, less the sum of
// the noise shared out by p, which gives the covariances of the multinomial.
// Rounding carries what it leaves over, so that not one animal is lost or made.
// Where fewer than three are expected the noise is no greater than the mean, so
// that no count would be negative: less noise, but no bias.
func (f *fate) many(r *Rand, n int32, out *[fates]int32) {
	var noise [fates]float64
	size := float64(n)
	root, sum := math.Sqrt(3*size), 0.0
	lanes, more := r.Uint64(), r.Uint64()
	last := f.last & (fates - 1)
	for j := range last + 1 {
		if j == 4 {
			lanes = more
		}
		width := size * f.p[j]
		if w := root * f.root[j]; w < width {
			width = w
		}
		z := width * (float64(int32(lanes&0xffff)) - 32767.5) * 0x1p-15
		noise[j] = z
		lanes >>= 16
		sum += z
	}
	size -= sum
	due, given := r.Float64(), int32(0)
	for j := range last {
		due += f.p[j]*size + noise[j]
		k := max(0, min(int32(due), n)-given)
		out[j] = k
		given += k
	}
	out[last] = n - given
}
