package hlc_test

import (
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model/fault"
	"leafturn/sync/hlc"
)

const (
	day  = 24 * 3600 * 1000
	noon = 1_790_000_000_000
)

func TestStampHoldsTimeAndCounter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ms := rapid.Int64Range(0, 1<<48-1).Draw(t, "ms")
		n := rapid.Uint16().Draw(t, "counter")
		s := hlc.Of(ms, n)
		require.Equal(t, ms, s.Millis())
		require.Equal(t, n, s.Counter())
	})
}

// Whatever the wall clock does, stamps grow, and they follow the wall clock as long
// as it runs ahead of what was seen.
func TestStampsGrowWhateverTheWallClockDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wall := int64(noon)
		c := hlc.NewClock(func() int64 { return wall })
		var last hlc.Stamp
		for range rapid.IntRange(1, 60).Draw(t, "steps") {
			wall += rapid.Int64Range(-2*day, 2*day).Draw(t, "jump")
			if rapid.Bool().Draw(t, "observe") {
				s := hlc.Of(wall+rapid.Int64Range(-2*day, 2*day).Draw(t, "other"), rapid.Uint16().Draw(t, "counter"))
				c.Observe(s)
				last = max(last, s)
			}
			s := c.Now()
			require.Greater(t, s, last)
			if hlc.Of(wall, 0) > last {
				require.Equal(t, hlc.Of(wall, 0), s, "nothing was ahead of the wall clock")
			}
			last = s
		}
	})
}

// Devices that are days apart pass stamps around: what was written after something
// was seen has the greater stamp. The causal order is tracked beside the clocks, by
// version vectors.
func TestStampsFollowCause(t *testing.T) {
	type event struct {
		stamp hlc.Stamp
		seen  []int // how many events of each device its author knew, its own included
	}
	rapid.Check(t, func(t *rapid.T) {
		const devices = 4
		walls, clocks := [devices]int64{}, [devices]*hlc.Clock{}
		seen := [devices][]int{}
		for i := range devices {
			walls[i] = noon + rapid.Int64Range(-2*day, 2*day).Draw(t, "skew")
			clocks[i] = hlc.NewClock(func() int64 { return walls[i] })
			seen[i] = make([]int, devices)
		}
		events := [devices][]event{}
		for range rapid.IntRange(1, 80).Draw(t, "steps") {
			d := rapid.IntRange(0, devices-1).Draw(t, "device")
			walls[d] += rapid.Int64Range(-1000, 5000).Draw(t, "passed")
			if from := rapid.IntRange(0, devices-1).Draw(t, "from"); from != d && len(events[from]) > 0 {
				e := events[from][len(events[from])-1]
				clocks[d].Observe(e.stamp)
				for i, n := range e.seen {
					seen[d][i] = max(seen[d][i], n)
				}
				continue
			}
			seen[d][d]++
			events[d] = append(events[d], event{clocks[d].Now(), slices.Clone(seen[d])})
		}
		for d := range events {
			for _, e := range events[d] {
				for other, n := range e.seen {
					if known := events[other][:n]; other != d && n > 0 {
						require.Greater(t, e.stamp, known[n-1].stamp)
					}
				}
			}
		}
	})
}

func TestFullCounterCarriesIntoTheMilliseconds(t *testing.T) {
	c := hlc.NewClock(func() int64 { return noon })
	c.Observe(hlc.Of(noon, 0xffff))
	require.Equal(t, hlc.Of(noon+1, 0), c.Now())
	require.Equal(t, hlc.Of(noon+1, 1), c.Now())
}

func TestCorrectionMovesTheWallNotThePast(t *testing.T) {
	c := hlc.NewClock(func() int64 { return noon })
	first := c.Now()
	c.Correct(-2 * day)
	require.Equal(t, int64(noon-2*day), c.Wall())
	require.Equal(t, int64(-2*day), c.Offset())
	require.Equal(t, first+1, c.Now(), "stamps never go back")
	c.Correct(2 * day)
	require.Equal(t, hlc.Of(noon+2*day, 0), c.Now())
}

func TestWallClocksOutsideTheStampAreHeldAtItsEnds(t *testing.T) {
	for name, wall := range map[string]int64{"before 1970": -day, "beyond 48 bits": 1 << 50} {
		t.Run(name, func(t *testing.T) {
			c := hlc.NewClock(func() int64 { return wall })
			one, two := c.Now(), c.Now()
			require.Greater(t, two, one)
			require.LessOrEqual(t, one.Millis(), int64(1<<48-1))
		})
	}
}

func TestAbsurdStampsAreRefused(t *testing.T) {
	tests := map[string]struct {
		millis int64
		code   fault.Code
	}{
		"now":                     {noon, ""},
		"long ago":                {1, ""},
		"a year less a day ahead": {noon + 365*day, ""},
		"more than a year ahead":  {noon + 367*day, "clock_absurd"},
		"the end of time":         {1<<48 - 1, "clock_absurd"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, test.code, fault.CodeOf(hlc.Check(hlc.Of(test.millis, 0), noon)))
		})
	}
}

func TestConcurrentUseMakesDistinctStamps(t *testing.T) {
	const workers, each = 8, 500
	c := hlc.NewClock(func() int64 { return noon })
	made := make([][]hlc.Stamp, workers)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := range each {
				made[w] = append(made[w], c.Now())
				c.Observe(hlc.Of(noon, uint16(i)))
				c.Correct(int64(i % 3))
				_, _ = c.Wall(), c.Offset()
			}
		})
	}
	wg.Wait()
	all := map[hlc.Stamp]bool{}
	for _, stamps := range made {
		require.True(t, slices.IsSorted(stamps))
		for _, s := range stamps {
			require.False(t, all[s], "twice")
			all[s] = true
		}
	}
	require.Len(t, all, workers*each)
}
