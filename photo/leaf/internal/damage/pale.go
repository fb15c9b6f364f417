package damage

import (
	"math"

	"leafturn/photo/leaf/internal/raster"
)

// What pale damage looks like. From descriptions, and checked on marks painted
// onto photographs of healthy leaves only; common practice, no source.
const (
	speckAround  = 5.0  // deviation of the surroundings a speck is compared with, pixels
	speckLighter = 5.0  // L* above the surroundings
	speckDuller  = 0.93 // of the chroma of the surroundings, at most
	speckMost    = 70   // pixels; larger ones are no specks
	speckLong    = 3    // a piece longer than this many times its width is a vein or a hair
	patchLighter = 12.0 // L* above the leaf
	patchDuller  = 0.6  // of the leaf's chroma, at most
	patchOpen    = 2.0  // thinner ones are veins and edges of glare
	patchLeast   = 80   // pixels
)

// Light is what pale damage is judged by: lightness and chroma.
type Light struct{ l, chroma []float32 }

// LightOf takes it from a picture that is not smoothed yet.
func LightOf(lab raster.Lab) Light {
	v := Light{l: append([]float32(nil), lab.L...), chroma: make([]float32, len(lab.L))}
	for i := range v.chroma {
		v.chroma[i] = float32(math.Hypot(float64(lab.A[i]), float64(lab.B[i])))
	}
	return v
}

// Patches gives what is large, light and dull: silvering, and glare, which cannot
// be told from it on one photograph.
func (v Light) Patches(leaf raster.Mask) raster.Mask {
	l, chroma := raster.Median(v.l, leaf), raster.Median(v.chroma, leaf)
	m := leaf.Shrink(2)
	for i := range m.In {
		m.In[i] = m.In[i] && v.l[i] > l+patchLighter && v.chroma[i] < patchDuller*chroma
	}
	return m.Open(patchOpen).Keep(func(p raster.Piece) bool { return len(p.Pixels) >= patchLeast })
}

// Specks gives small round places lighter and duller than what surrounds them.
func (v Light) Specks(leaf raster.Mask) raster.Mask {
	l, chroma := around(v.l, leaf), around(v.chroma, leaf)
	m := leaf.Shrink(4)
	for i := range m.In {
		m.In[i] = m.In[i] && v.l[i] > l[i]+speckLighter && v.chroma[i] < speckDuller*chroma[i]
	}
	return m.Keep(func(p raster.Piece) bool {
		w, h := p.Box(m.W)
		n := len(p.Pixels)
		return n >= 2 && n <= speckMost && max(w, h) <= speckLong*min(w, h) && 3*n >= w*h
	})
}

// around smooths a channel inside the leaf, as if there were nothing outside.
func around(v []float32, leaf raster.Mask) []float32 {
	sum, weight := make([]float32, len(v)), make([]float32, len(v))
	for i, in := range leaf.In {
		if in {
			sum[i], weight[i] = v[i], 1
		}
	}
	raster.Blur(sum, leaf.W, speckAround)
	raster.Blur(weight, leaf.W, speckAround)
	for i := range sum {
		sum[i] /= max(weight[i], 1e-6)
	}
	return sum
}
