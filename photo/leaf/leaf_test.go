package leaf_test

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/leaf"
)

// These photographs belong to the half the rules were fitted on, so this guards
// against changes; how good the rules are is for the report to say.
func TestReadsWhatExpertsMarked(t *testing.T) {
	for _, set := range []struct {
		prefix       string
		worst, total float64 // percentage points: of one, and of the mean
	}{{"coffee", 2.5, 0.7}, {"soybean", 2.5, 0.8}} {
		t.Run(set.prefix, func(t *testing.T) {
			sum := 0.0
			all := load(t, set.prefix)
			for _, e := range all {
				m := leaf.Measure(e.img, leaf.Options{})
				require.Equal(t, leaf.Measured, m.Verdict, "%s: %v", e.name, m.Reason)
				require.Equal(t, e.kind, m.Kind, "nobody said the kind of %s", e.name)
				require.Greater(t, overlap(m.Map, e), 0.97, e.name)
				require.LessOrEqual(t, len(m.Outline), 64)
				require.InDelta(t, e.damaged, 100*m.Damaged, set.worst, e.name)
				sum += math.Abs(e.damaged - 100*m.Damaged)
				if e.damaged == 0 {
					require.LessOrEqual(t, m.Damaged, 0.002, "healthy %s", e.name)
				}
			}
			require.Less(t, sum/float64(len(all)), set.total)
		})
	}
}

// overlap is what the leaf found and the leaf marked share, of what either has.
func overlap(m leaf.Map, e marked) float64 {
	both, either := 0, 0
	for i, part := range m.Parts {
		found, is := part != leaf.Ground, e.isLeaf(i%m.W, i/m.W)
		if found && is {
			both++
		}
		if found || is {
			either++
		}
	}
	return float64(both) / float64(either)
}

func TestTurningChangesLittle(t *testing.T) {
	for _, e := range append(load(t, "coffee-1010"), load(t, "soybean-7")...) {
		upright := canvas(e.img)
		want := leaf.Measure(upright, leaf.Options{Kind: e.kind})
		for _, way := range []int{1, 2, 4} { // mirrored, upside down, transposed: the others are made of these
			got := leaf.Measure(turned(upright, way), leaf.Options{Kind: e.kind})
			require.Equal(t, leaf.Measured, got.Verdict)
			require.InDelta(t, want.Damaged, got.Damaged, 0.002, "%s turned %d", e.name, way)
			require.InDelta(t, want.Leaf, got.Leaf, 0.002)
		}
	}
}

func TestMoreDamageIsNeverLess(t *testing.T) {
	brown := color.RGBA{R: 96, G: 62, B: 30, A: 255}
	for _, e := range load(t, "coffee-703") {
		img := canvas(e.img)
		clean := leaf.Measure(img, leaf.Options{Kind: e.kind})
		last := clean.Damaged
		for i, p := range spots(clean.Map, 6) {
			paint(img, float64(p.X), float64(p.Y), 9, brown, 1)
			m := leaf.Measure(img, leaf.Options{Kind: e.kind})
			require.GreaterOrEqual(t, m.Damaged, last-0.001, "%s, spot %d", e.name, i)
			last = m.Damaged
		}
		// Lesions are drawn generously, as experts draw them: here by two pixels of nine.
		painted := 6 * math.Pi * 81 / (clean.Leaf * float64(clean.Map.W*clean.Map.H))
		require.Greater(t, last, 0.9*painted, e.name)
		require.Less(t, last, 1.6*painted, e.name)
	}
}

// Synthetic marks only: they show that the counting works, not that real pale
// damage is found.
func TestPaintedPaleMarksAreCounted(t *testing.T) {
	for _, mark := range []struct {
		name             string
		radius, strength float64
		counts           []int
		read             func(leaf.Measurement) float64
	}{
		{"specks", 1.6, 0.55, []int{0, 60, 240}, func(m leaf.Measurement) float64 { return m.Pale }},
		{"silver", 11, 0.6, []int{0, 4, 12}, func(m leaf.Measurement) float64 { return m.Silver }},
	} {
		for _, name := range []string{"coffee-952"} {
			t.Run(mark.name+" on "+name, func(t *testing.T) {
				e := load(t, name)[0]
				before := leaf.Measure(e.img, leaf.Options{Kind: e.kind})
				last := mark.read(before) - 1e-9
				for _, n := range mark.counts {
					img := canvas(e.img)
					for _, p := range spots(before.Map, n) {
						paint(img, float64(p.X), float64(p.Y), mark.radius, color.RGBA{R: 222, G: 222, B: 205, A: 255}, mark.strength)
					}
					m := leaf.Measure(img, leaf.Options{Kind: e.kind})
					require.Equal(t, leaf.Measured, m.Verdict)
					require.Greater(t, mark.read(m), last, "%d marks", n)
					require.LessOrEqual(t, m.Damaged, before.Damaged+0.002, "pale is not brown")
					last = mark.read(m)
				}
			})
		}
	}
	require.False(t, leaf.Pale.Proven())
	require.False(t, leaf.Silver.Proven())
	require.True(t, leaf.Brown.Proven())
}

func TestAnOutlineDrawnReplacesTheOneFound(t *testing.T) {
	e := load(t, "coffee-1010")[0]
	found := leaf.Measure(e.img, leaf.Options{})
	require.False(t, found.Corrected)

	same := leaf.Measure(e.img, leaf.Options{Outline: found.Outline})
	require.True(t, same.Corrected)
	require.InDelta(t, found.Leaf, same.Leaf, 0.005)
	require.InDelta(t, found.Damaged, same.Damaged, 0.005)

	half := leaf.Measure(e.img, leaf.Options{Outline: []leaf.Point{{X: 0.2, Y: 0.35}, {X: 0.5, Y: 0.35}, {X: 0.5, Y: 0.65}, {X: 0.2, Y: 0.65}}})
	require.Equal(t, leaf.Measured, half.Verdict)
	require.InDelta(t, 0.09, half.Leaf, 0.002)
}

func TestOutlinesThatHoldNothing(t *testing.T) {
	e := load(t, "coffee-1010")[0]
	for name, outline := range map[string][]leaf.Point{
		"no points":    {},
		"two points":   {{X: 0, Y: 0}, {X: 1, Y: 1}},
		"not a number": {{X: 0, Y: 0}, {X: math.NaN(), Y: 1}, {X: 1, Y: 1}},
		"far away":     {{X: 1e300, Y: 0}, {X: 0, Y: 1}, {X: 1, Y: 1}},
		"a speck":      {{X: 0.5, Y: 0.5}, {X: 0.51, Y: 0.5}, {X: 0.5, Y: 0.51}},
	} {
		t.Run(name, func(t *testing.T) {
			m := leaf.Measure(e.img, leaf.Options{Outline: outline})
			require.Equal(t, leaf.CannotTell, m.Verdict)
			require.Equal(t, leaf.BadOutline, m.Reason)
		})
	}
}

func TestTheSamePictureInAnotherTypeReadsTheSame(t *testing.T) {
	e := load(t, "coffee-318")[0]
	want := leaf.Measure(e.img, leaf.Options{})
	for _, img := range []image.Image{canvas(e.img), canvas(e.img).SubImage(e.img.Bounds()), struct{ image.Image }{e.img}} {
		got := leaf.Measure(img, leaf.Options{})
		require.InDelta(t, want.Damaged, got.Damaged, 0.001, fmt.Sprintf("%T", img))
	}
}
