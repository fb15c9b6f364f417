package population

import (
	"math"
	"math/bits"
)

// Rand is a stream of numbers that look random: SplitMix64, published in "Fast
// splittable pseudorandom number generators", OOPSLA 2014, doi
// 10.1145/2660193.2660195. It is one word long, so that every member has its own,
// and the same on every machine. It is no good for secrets.
type Rand struct{ state uint64 }

const golden = 0x9e3779b97f4a7c15

// NewRand starts the stream of a seed.
func NewRand(seed uint64) Rand { return Rand{seed} }

// Stream starts the nth of many streams of one seed. They start at scattered
// points of the generator's cycle of 2^64, so they do not overlap in practice.
func Stream(seed uint64, n int) Rand {
	r := Rand{seed ^ mix(uint64(n)+golden)}
	return Rand{r.Uint64()}
}

// Uint64 is the next 64 bits.
func (r *Rand) Uint64() uint64 {
	r.state += golden
	return mix(r.state)
}

func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Float64 is the next number in [0, 1).
func (r *Rand) Float64() float64 { return float64(r.Uint64()>>11) * 0x1p-53 }

// IntN is the next whole number in [0, n).
func (r *Rand) IntN(n int) int {
	hi, _ := bits.Mul64(r.Uint64(), uint64(n))
	return int(hi)
}

// Normal is the next number of the standard normal distribution (Box and Muller).
func (r *Rand) Normal() float64 {
	u := 1 - r.Float64()
	return math.Sqrt(-2*math.Log(u)) * math.Cos(2*math.Pi*r.Float64())
}

// rough is nearly normal and very quick: the number of ones among 64 fair bits has
// mean 32 and standard deviation 4. It is for the noise of large counts only.
func (r *Rand) rough() float64 { return float64(bits.OnesCount64(r.Uint64())-32) * 0.25 }

// few is the most draws that are made one by one.
const few = 20

// Poisson draws a count with a mean. Small means are drawn exactly, by going
// through the distribution; large ones from the normal distribution.
func (r *Rand) Poisson(mean float64) int32 {
	if !(mean > 0) {
		return 0
	}
	if mean > few {
		return r.round(mean + math.Sqrt(mean)*r.rough())
	}
	p := math.Exp(-mean)
	u := r.Float64()
	k := int32(0)
	for ; u > p && k < 1000; k++ {
		u -= p
		p *= mean / float64(k+1)
	}
	return k
}

// Binomial draws how many of n die when each dies with probability p.
func (r *Rand) Binomial(n int32, p float64) int32 {
	switch {
	case n <= 0 || !(p > 0):
		return 0
	case p >= 1:
		return n
	case n > few:
		mean := float64(n) * p
		return min(n, r.round(mean+math.Sqrt(mean*(1-p))*r.rough()))
	}
	below := uint64(p * (1 << 32))
	k := int32(0)
	for i := int32(0); i < n; i += 2 {
		u := r.Uint64()
		if u>>32 < below {
			k++
		}
		if i+1 < n && u&0xffffffff < below {
			k++
		}
	}
	return k
}

// round makes a count of a number at random, so that the mean stays.
func (r *Rand) round(x float64) int32 {
	if x <= 0 {
		return 0
	}
	return int32(x + r.Float64())
}
