package aligntest

import (
	"image"

	"leafturn/photo/align"
)

// Near is how far off an alignment may be, in pixels of 640.
const Near = 5.0

// Score counts what became of pairs.
type Score struct {
	Right   int // aligned, and near
	Wrong   int // aligned, and not near; of wrong pairs: aligned at all
	Refused int
	Worst   float64 // of what was aligned, in pixels of 640
}

// Same aligns each picture with a changed copy of itself.
func Same(pictures []image.Image, firstSeed uint64) Score {
	var s Score
	for i, p := range pictures {
		size := p.Bounds().Size()
		c := Draw(firstSeed+uint64(i), size)
		r := align.Find(p, c.Of(p))
		if r.CannotAlign != align.Aligned {
			s.Refused++
			continue
		}
		off := Off(r.Similarity, c.Similarity, size)
		s.Worst = max(s.Worst, off)
		if off <= Near {
			s.Right++
		} else {
			s.Wrong++
		}
	}
	return s
}

// Different aligns pictures of different leaves, which must be refused: each with
// the next few.
func Different(pictures []image.Image, next int) Score {
	var s Score
	for i, p := range pictures {
		for k := 1; k <= next; k++ {
			if align.Find(p, pictures[(i+k)%len(pictures)]).CannotAlign == align.Aligned {
				s.Wrong++
			} else {
				s.Refused++
			}
		}
	}
	return s
}
