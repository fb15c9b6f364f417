package raster_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/photo/leaf/internal/raster"
)

// anyMask is a few discs.
func anyMask(t *rapid.T) raster.Mask {
	m := raster.NewMask(rapid.IntRange(1, 40).Draw(t, "width"), rapid.IntRange(1, 40).Draw(t, "height"))
	for range rapid.IntRange(0, 5).Draw(t, "discs") {
		x, y, r := rapid.IntRange(0, 40).Draw(t, "x"), rapid.IntRange(0, 40).Draw(t, "y"), rapid.IntRange(0, 12).Draw(t, "r")
		for i := range m.In {
			dx, dy := i%m.W-x, i/m.W-y
			m.In[i] = m.In[i] || dx*dx+dy*dy <= r*r
		}
	}
	return m
}

// within is whether one mask lies inside another.
func within(a, b raster.Mask) bool { return a.And(b).Area() == a.Area() }

func TestLawsOfMorphology(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, r := anyMask(t), float64(rapid.IntRange(0, 4).Draw(t, "radius"))
		require.True(t, within(m, m.Grow(r)))
		require.True(t, within(m.Shrink(r), m))
		require.True(t, within(m.Open(r), m))
		require.True(t, within(m, m.Close(r)))
		require.True(t, within(m, m.Fill()))
		require.Equal(t, m.Open(r), m.Open(r).Open(r))
		require.Equal(t, m.Not().Grow(r).Not(), m.Shrink(r))
		require.Equal(t, m.Fill(), m.Fill().Fill())
	})
}

// The chamfer distance is known to be off by less than 6 % of the true one, and a
// third of a pixel by rounding.
func TestGrowReachesAsFarAsItShould(t *testing.T) {
	for _, radius := range []float64{0, 1, 2, 5} {
		m := raster.NewMask(21, 21)
		m.In[10*21+10] = true
		for i, in := range m.Grow(radius).In {
			far := math.Hypot(float64(i%21-10), float64(i/21-10))
			if far < 0.93*radius {
				require.True(t, in, "%v within %v", far, radius)
			}
			if far > 1.07*radius+0.34 {
				require.False(t, in, "%v beyond %v", far, radius)
			}
		}
	}
}

func TestFillKeepsWhatIsOpenToTheRim(t *testing.T) {
	ring := raster.NewMask(11, 11)
	for i := range ring.In {
		d := math.Hypot(float64(i%11-5), float64(i/11-5))
		ring.In[i] = d > 2.5 && d < 4.5
	}
	full := ring.Fill()
	require.True(t, full.In[5*11+5])
	require.False(t, full.In[0])
	require.Len(t, ring.Not().Pieces(), 2)
}

func TestPiecesAreAllPixelsOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMask(t)
		seen := raster.NewMask(m.W, m.H)
		for _, p := range m.Pieces() {
			w, h := p.Box(m.W)
			require.LessOrEqual(t, len(p.Pixels), w*h)
			for _, i := range p.Pixels {
				require.False(t, seen.In[i])
				seen.In[i] = true
			}
		}
		require.Equal(t, m, seen)
	})
}

// The polygon of a piece's outline is the piece.
func TestOutlineAndPolygonUndoEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		small := anyMask(t).Fill()
		for _, p := range small.Pieces() {
			m := raster.NewMask(46, 46) // with room around, as Shrink spares the rim of the picture
			for _, i := range p.Pixels {
				m.In[(int(i)/small.W+3)*m.W+int(i)%small.W+3] = true
			}
			line := m.Outline()
			require.Equal(t, m, raster.Polygon(m.W, m.H, line))
			loose := raster.Simplify(line, 1)
			require.LessOrEqual(t, len(loose), len(line))
			about := raster.Polygon(m.W, m.H, loose)
			require.True(t, within(about, m.Grow(2)))
			require.True(t, within(m.Shrink(2), about))
		}
	})
}

func TestNoOutlineOfNothing(t *testing.T) {
	require.Empty(t, raster.NewMask(5, 5).Outline())
	require.Empty(t, raster.NewMask(0, 0).Pieces())
	require.Zero(t, raster.NewMask(0, 0).Fraction())
	require.Zero(t, raster.Polygon(4, 4, nil).Area())
}
