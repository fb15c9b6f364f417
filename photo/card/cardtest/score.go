package cardtest

import (
	"math"

	"leafturn/photo/card"
)

// Score says how counts compare with what was drawn.
type Score struct {
	Cards   int
	Refused int // cards of which nothing could be told; they are in no other figure

	specked int     // cards with ten specks or more
	share   float64 // summed share of error of those
	few     int     // cards with fewer
	off     float64 // summed error of those
	bias    float64 // summed signed error of all, as a share of at least ten
	within  int     // cards whose bounds hold the truth
}

// Measure draws the scenes, counts, and compares.
func Measure(scenes []Scene) Score {
	var s Score
	for _, scene := range scenes {
		s.Add(card.Read(Draw(scene).Image), scene.Specks)
	}
	return s
}

// Add takes one reading into account.
func (s *Score) Add(r card.Reading, truth int) {
	s.Cards++
	if r.CannotTell != card.Readable {
		s.Refused++
		return
	}
	off := math.Abs(float64(r.Count - truth))
	if truth < 10 {
		s.few, s.off = s.few+1, s.off+off
	} else {
		s.specked, s.share = s.specked+1, s.share+off/float64(truth)
	}
	s.bias += float64(r.Count-truth) / float64(max(truth, 10))
	if r.Low <= truth && truth <= r.High {
		s.within++
	}
}

// ErrorPercent is the mean error of cards with ten specks or more.
func (s Score) ErrorPercent() float64 { return 100 * s.share / float64(max(s.specked, 1)) }

// FewOff is the mean error, in specks, of cards with fewer than ten.
func (s Score) FewOff() float64 { return s.off / float64(max(s.few, 1)) }

// BiasPercent is the mean error with its sign: above 0 when too many are counted.
// Cards with fewer than ten specks count as if they had ten.
func (s Score) BiasPercent() float64 { return 100 * s.bias / float64(max(s.Cards-s.Refused, 1)) }

// WithinPercent is the share of cards whose bounds hold the truth.
func (s Score) WithinPercent() float64 {
	return 100 * float64(s.within) / float64(max(s.Cards-s.Refused, 1))
}

// Counts are numbers of specks from none to 300 to draw cards with.
var Counts = []int{0, 1, 2, 3, 4, 6, 8, 12, 20, 35, 60, 100, 150, 220, 300}

// TestSeed is the first seed of the cards that figures are measured on. Limits
// were set on cards with smaller seeds, and on no others.
const TestSeed = 10_000

// Series are n scenes with test seeds from first on, through all Counts.
func Series(draw func(seed uint64, specks int) Scene, first, n int) []Scene {
	var all []Scene
	for i := first; i < first+n; i++ {
		all = append(all, draw(TestSeed+uint64(i), Counts[i%len(Counts)]))
	}
	return all
}
