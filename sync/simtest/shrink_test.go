package simtest_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// mostRuns bounds how long a failing run is shrunk.
const mostRuns = 400

// shrink drops what does not matter: of the indexes of a failing run's moves it keeps
// those without any of which the run would not fail. It is delta debugging (Zeller
// and Hildebrandt, "Simplifying and Isolating Failure-Inducing Input", 2002): leave
// out halves, then quarters, and so on down to single moves.
func shrink(n int, fails func(keep []int) bool) []int {
	keep := make([]int, n)
	for i := range keep {
		keep[i] = i
	}
	runs := 0
	for size := (n + 1) / 2; size > 0; {
		dropped := false
		for at := 0; at < len(keep); {
			less := slices.Delete(slices.Clone(keep), at, min(at+size, len(keep)))
			if runs++; runs > mostRuns {
				return keep
			}
			if fails(less) {
				keep, dropped = less, true
			} else {
				at += size
			}
		}
		if size == 1 && !dropped {
			break
		}
		size = max(1, size/2)
		if len(keep) == 0 {
			break
		}
	}
	return keep
}

func TestShrinkKeepsWhatMatters(t *testing.T) {
	tests := map[string]struct {
		n    int
		need []int
	}{
		"one of many":           {70, []int{33}},
		"three apart":           {70, []int{0, 31, 69}},
		"neighbours":            {8, []int{3, 4}},
		"all":                   {4, []int{0, 1, 2, 3}},
		"it fails from nothing": {70, nil},
		"there is nothing":      {0, nil},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			got := shrink(test.n, func(keep []int) bool {
				return !slices.ContainsFunc(test.need, func(i int) bool { return !slices.Contains(keep, i) })
			})
			require.ElementsMatch(t, test.need, got)
		})
	}
}
