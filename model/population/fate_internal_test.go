package population

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Drawn singly or many at a time, animals meet each fate as often as it is likely,
// vary as the multinomial does, and none is lost.
func TestFatesAreMetAsOftenAsTheyAreLikely(t *testing.T) {
	const draws = 40_000
	r := NewRand(3)
	for _, c := range []struct{ survive, mean float64 }{{1, 0}, {0.97, 0.3}, {0.9, 1.2}, {0.5, 0.02}} {
		f := newFate(c.survive, c.mean)
		total := 0.0
		for _, p := range f.p {
			total += p
		}
		require.InDelta(t, 1, total, 1e-12)
		for _, n := range []int32{1, 7, oneByOne, oneByOne + 1, 25, 300} {
			var sum, square [fates]float64
			for range draws {
				var out [fates]int32
				f.draw(&r, n, &out)
				all := int32(0)
				for j, k := range out {
					require.GreaterOrEqual(t, k, int32(0))
					all += k
					sum[j] += float64(k)
					square[j] += float64(k) * float64(k)
				}
				require.Equal(t, n, all)
			}
			for j, p := range f.p {
				mean, want := sum[j]/draws, float64(n)*p
				v := want * (1 - p)
				require.InDelta(t, want, mean, 5*math.Sqrt(v/draws)+0.01*v+1e-3, "survive %v mean %v n %d fate %d", c.survive, c.mean, n, j)
				if want > 2 {
					require.InDelta(t, v, square[j]/draws-mean*mean, 0.06*v+0.3, "survive %v mean %v n %d fate %d", c.survive, c.mean, n, j)
				}
			}
		}
	}
}

func TestBandsAreOrderStatistics(t *testing.T) {
	r := NewRand(9)
	for n := 1; n < 300; n++ {
		row, sorted := make([]int32, n), make([]int32, n)
		for i := range row {
			row[i] = int32(r.IntN(1 + n/2))
			sorted[i] = row[i]
		}
		for i := range sorted { // a plain sort, to hold it against
			for j := i; j > 0 && sorted[j] < sorted[j-1]; j-- {
				sorted[j], sorted[j-1] = sorted[j-1], sorted[j]
			}
		}
		b := bandOf(row)
		require.Equal(t, Band{at(sorted, 10), at(sorted, 50), at(sorted, 90)}, b, "n %d", n)
	}
}

// at is the smallest value that at least so many per cent do not exceed.
func at(sorted []int32, percent int) int {
	for i, x := range sorted {
		if (i+1)*100 >= percent*len(sorted) {
			return int(x)
		}
	}
	return -1
}
