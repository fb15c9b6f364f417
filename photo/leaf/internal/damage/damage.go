// Package damage finds the damaged part of a leaf whose outline is known.
//
// Living leaf tissue has one hue, give or take; what dies turns yellow, then brown
// or reddish. Hue is the direction of a colour in the plane of a* and b*: red 0°,
// yellow 90°, green 100° to 165°. The leaf's own colour is the median of its a* and
// of its b*. A pixel's discolouration is how many degrees its hue lies on the red
// side of the leaf's own, plus a part of how much yellower (b*) it is than the leaf.
//
// Where discolouration passes a limit lies the core of a lesion; what hangs
// together with a core and passes a lower limit is its halo. Comparing the leaf
// with itself does away with much of the difference between lamps, cameras and
// kinds of plant. A leaf that is discoloured for its larger part cannot be judged
// in this way: then its own colour is that of the damage.
package damage

import (
	"math"

	"leafturn/photo/leaf/internal/raster"
)

// Rule says what counts. Lengths are in pixels of the working picture.
type Rule struct {
	Blur   float64 // deviation of the smoothing that comes first
	Yellow float64 // degrees that one step of b* counts for
	Limit  float64 // degrees of discolouration of a core
	Halo   float64 // share of Limit that a halo passes; 1 is no halo
	Trim   float64 // this much along the outline, where ground shines in, is judged by what lies inside
	Open   float64 // a core thinner than twice this is a vein, a hair or noise
	Least  int     // pixels; smaller cores are nothing
}

// leastCore is the share of a lesion that is core. What hangs on a smaller core is
// not a halo but another part of the leaf.
const leastCore = 0.1

// Discolouration works it out for every pixel of the leaf, in degrees. It smooths
// the colours of the picture in place.
func (r Rule) Discolouration(lab raster.Lab, leaf raster.Mask) []float32 {
	raster.Blur(lab.A, lab.W, r.Blur)
	raster.Blur(lab.B, lab.W, r.Blur)
	b := raster.Median(lab.B, leaf)
	own := hue(raster.Median(lab.A, leaf), b)
	out := make([]float32, len(leaf.In))
	for i, in := range leaf.In {
		if in {
			shift := math.Remainder(own-hue(lab.A[i], lab.B[i]), 360)
			out[i] = float32(shift + r.Yellow*float64(lab.B[i]-b))
		}
	}
	return out
}

// hue is the direction of a colour in degrees.
func hue(a, b float32) float64 { return math.Atan2(float64(b), float64(a)) * 180 / math.Pi }

// Find gives the lesions. A severity other than 1 moves both limits, which shows
// how much hangs on them.
func (r Rule) Find(discoloured []float32, leaf raster.Mask, severity float64) raster.Mask {
	inside := leaf.Shrink(r.Trim)
	core := past(discoloured, inside, r.Limit*severity).Open(r.Open)
	lesions := core
	if r.Halo < 1 {
		lesions = past(discoloured, inside, r.Limit*severity*r.Halo).Open(1)
	}
	lesions = lesions.Keep(func(p raster.Piece) bool {
		n := 0
		for _, i := range p.Pixels {
			if core.In[i] {
				n++
			}
		}
		return n >= r.Least && float64(n) >= leastCore*float64(len(p.Pixels))
	})
	return lesions.Grow(r.Trim).And(leaf)
}

// past is the part of a mask where a value is past a limit.
func past(v []float32, m raster.Mask, limit float64) raster.Mask {
	out := raster.NewMask(m.W, m.H)
	for i, in := range m.In {
		out.In[i] = in && float64(v[i]) > limit
	}
	return out
}
