package main

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestConcordance(t *testing.T) {
	for _, c := range []struct {
		name  string
		pairs []pair
		want  float64
	}{
		{"the same", []pair{{1, 1}, {2, 2}, {4, 4}}, 1},
		{"turned round", []pair{{-1, 1}, {0, 0}, {1, -1}}, -1},
		{"shifted by one", []pair{{1, 0}, {2, 1}, {3, 2}}, 4.0 / 7}, // 2·(2/3) / (2/3 + 2/3 + 1)
		{"a constant", []pair{{2, 1}, {2, 2}, {2, 3}}, 0},
		{"nothing varies", []pair{{2, 2}, {2, 2}}, 0},
	} {
		t.Run(c.name, func(t *testing.T) { require.InDelta(t, c.want, concordance(c.pairs), 1e-9) })
	}
}

func TestErrorsAndTheirInterval(t *testing.T) {
	pairs := []pair{{1, 0}, {2, 4}, {5, 2}, {0, 0}}
	require.InDelta(t, 1.5, meanError(pairs), 1e-9)
	require.InDelta(t, 2, medianError(pairs), 1e-9)
	low, high := interval(pairs, meanError)
	require.Less(t, low, 1.5)
	require.Greater(t, high, 1.5)
	require.GreaterOrEqual(t, low, 0.0)
	require.LessOrEqual(t, high, 3.0)
}
