package leaf

import "leafturn/photo/leaf/internal/raster"

// Part is what a pixel was counted as.
type Part uint8

// The parts. Damage that is brown and pale counts as brown.
const (
	Ground  Part = iota // not leaf
	Healthy             // leaf, undamaged as far as can be seen
	Brown               // discoloured, yellow to brown: Measurement.Damaged
	Silver              // large, light and dull, as thrips leave it, and as glare looks
	Pale                // small specks, lighter and duller than around, as mites leave them
)

// Proven reports whether figures of a part were checked against experts' marks on
// real photographs. No open set of those shows pale specks or silvering.
func (p Part) Proven() bool { return p <= Brown }

// Map is the working picture, each pixel as what it was counted, row by row.
type Map struct {
	W, H  int
	Parts []Part
}

func mapOf(leaf, brown, pale, silver raster.Mask) Map {
	m := Map{W: leaf.W, H: leaf.H, Parts: make([]Part, len(leaf.In))}
	for i, in := range leaf.In {
		switch {
		case !in:
		case brown.In[i]:
			m.Parts[i] = Brown
		case silver.In[i]:
			m.Parts[i] = Silver
		case pale.In[i]:
			m.Parts[i] = Pale
		default:
			m.Parts[i] = Healthy
		}
	}
	return m
}

// share of the leaf that is the part.
func (m Map) share(part Part) float64 {
	n, leaf := 0, 0
	for _, p := range m.Parts {
		if p == part {
			n++
		}
		if p != Ground {
			leaf++
		}
	}
	return float64(n) / float64(max(leaf, 1))
}
