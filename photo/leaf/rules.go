package leaf

import (
	"leafturn/photo/leaf/internal/damage"
)

// rules are the rule of each kind of picture.
var rules = [...]damage.Rule{
	WholeLeaf: {Blur: 1, Yellow: 0.5, Limit: 24, Halo: 0.8, Trim: 2, Open: 1, Least: 20},
	CloseUp:   {Blur: 4, Yellow: 0, Limit: 34, Halo: 0.55, Trim: 0, Open: 3, Least: 100},
}

// How far a stricter and a laxer eye would put the limits.
const (
	stricter = 1.2
	laxer    = 0.85
)

// uncertain is a half width by the damage read and by how much the reading depends
// on the limits. Its weights were set on the fit half.
func uncertain(damaged, swing float64) float64 {
	return 0.002 + 0.1*damaged + 0.5*max(swing, 0)
}

// What is taken for one leaf, whole.
const (
	leastLeaf  = 0.02 // of the picture
	secondLeaf = 0.25 // a second piece may be this large beside the largest
	mostCut    = 0.25 // see scene.cut
	greenA     = -3   // a* of green is below
	greenB     = 3    // b* of green is above
	leastGreen = 0.5  // of the leaf is that
)

// confidence is the least of three, each 0 to 1: how far the picture is sharper
// than it must be, how plain the ground is, and how little hangs on the limit.
func (s *scene) confidence(m *Measurement) float64 {
	sharp := 0.5 + (m.Quality.Sharpness-sharpEnough)/2
	steady := 1 - 10*m.Uncertain
	plain := 1.0
	if s.kind == WholeLeaf && !m.Corrected {
		plain = 1.2 - s.ground.Spread*10
	}
	return min(max(min(sharp, steady, plain), 0.05), 1)
}
