package align_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/photo/align"
)

func point(t *rapid.T, name string) align.Point {
	return align.Point{X: rapid.Float64Range(0, 1).Draw(t, name+" x"), Y: rapid.Float64Range(0, 1).Draw(t, name+" y")}
}

func near(t require.TestingT, want, got align.Point) {
	require.InDelta(t, want.X, got.X, 1e-6)
	require.InDelta(t, want.Y, got.Y, 1e-6)
}

func TestTwoPointsByHandAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a1, a2, b1, b2 := point(t, "a1"), point(t, "a2"), point(t, "b1"), point(t, "b2")
		s, err := align.FromPoints(a1, a2, b1, b2)
		da, db := math.Hypot(a1.X-a2.X, a1.Y-a2.Y), math.Hypot(b1.X-b2.X, b1.Y-b2.Y)
		if da < 0.01 || db < 0.01 {
			require.ErrorIs(t, err, align.ErrSamePoint)
			return
		}
		require.NoError(t, err)
		near(t, b1, s.Apply(a1))
		near(t, b2, s.Apply(a2))
		require.InDelta(t, db/da, s.Scale(), 1e-6)
		p := point(t, "p")
		near(t, p, s.Inverse().Apply(s.Apply(p)))
	})
}

func TestTurnIsClockwiseAsSeen(t *testing.T) {
	s, err := align.FromPoints(align.Point{}, align.Point{X: 1}, align.Point{X: 0.5, Y: 0.5}, align.Point{X: 0.5, Y: 1})
	require.NoError(t, err)
	require.InDelta(t, math.Pi/2, s.Turn(), 1e-12)
	require.InDelta(t, 0.5, s.Scale(), 1e-12)
}

func TestPointsThatAreNoNumbersAreRefused(t *testing.T) {
	_, err := align.FromPoints(align.Point{X: math.NaN()}, align.Point{X: 1}, align.Point{}, align.Point{X: 1})
	require.ErrorIs(t, err, align.ErrSamePoint)
}
