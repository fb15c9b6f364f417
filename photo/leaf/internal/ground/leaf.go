package ground

import (
	"math"

	"leafturn/photo/leaf/internal/raster"
)

// What counts as leaf on a flattened picture.
const (
	chromaShare = 0.75 // of Otsu's threshold, to begin with
	chromaFloor = 8.0  // colour of less than this is ground
	ownShare    = 0.5  // of the leaf's own chroma; a shadow tinted by the leaf has less
	darkBelow   = 38.0 // lightness of dead brown tissue, which has little colour
)

// Leaf finds what is not ground. The first look parts colour from grey; the second
// knows how colourful this leaf is, and leaves out the shadow beside it.
func Leaf(lab raster.Lab) raster.Mask {
	chroma := make([]float32, len(lab.A))
	for i := range chroma {
		chroma[i] = float32(math.Hypot(float64(lab.A[i]), float64(lab.B[i])))
	}
	first := past(lab, chroma, max(chromaShare*otsu(chroma), chromaFloor))
	own := float64(raster.Median(chroma, first))
	return past(lab, chroma, max(ownShare*own, chromaFloor))
}

// past is what is more colourful than limit, or very dark.
func past(lab raster.Lab, chroma []float32, limit float64) raster.Mask {
	m := raster.NewMask(lab.W, lab.H)
	for i := range m.In {
		m.In[i] = float64(chroma[i]) > limit || lab.L[i] < darkBelow
	}
	return m.Open(1).Close(4)
}

// Largest keeps the largest piece and fills its holes. It also tells how large the
// runner-up is, as a share of the largest.
func Largest(m raster.Mask) (largest raster.Mask, second float64) {
	first, next := 0, 0
	for _, p := range m.Pieces() {
		if n := len(p.Pixels); n > first {
			first, next = n, first
		} else {
			next = max(next, n)
		}
	}
	if first == 0 {
		return m, 0
	}
	found := false
	largest = m.Keep(func(p raster.Piece) bool {
		take := !found && len(p.Pixels) == first
		found = found || take
		return take
	})
	return largest.Fill(), float64(next) / float64(first)
}

// otsu is the threshold that parts values best into two groups: it makes the
// spread between their means largest (Otsu 1979).
func otsu(v []float32) float64 {
	const bins, top = 256, 128.0
	var count [bins]float64
	var all, sum float64
	for _, x := range v {
		count[min(int(float64(x)*bins/top), bins-1)]++
	}
	for i, n := range count {
		all += n
		sum += n * float64(i)
	}
	var below, sumBelow, best float64
	at := 0
	for i, n := range count {
		below += n
		sumBelow += n * float64(i)
		above := all - below
		if below == 0 || above == 0 {
			continue
		}
		d := sumBelow/below - (sum-sumBelow)/above
		if spread := below * above * d * d; spread > best {
			best, at = spread, i
		}
	}
	return (float64(at) + 1) * top / bins
}
