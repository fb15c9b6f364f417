package simtest_test

import (
	"flag"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/sync/simtest"
)

var (
	seeds = flag.Uint64("seeds", 300, "how many seeds to live through")
	first = flag.Uint64("first", 1, "the first seed")
)

var usual = simtest.Options{Phones: 3, Steps: 160}

// TestSeeds lives through many seeds. A seed that fails prints itself:
//
//	go test ./sync/simtest -run Seeds -args -seeds N -first K
func TestSeeds(t *testing.T) {
	var next atomic.Uint64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for n := next.Add(1) - 1; n < *seeds && !t.Failed(); n = next.Add(1) - 1 {
				seed := *first + n
				if _, err := simtest.Run(seed, usual); err != nil {
					t.Errorf("seed %d: %v\nagain: go test ./sync/simtest -run Seeds -args -seeds 1 -first %d", seed, err, seed)
				}
			}
		})
	}
	wg.Wait()
}

func TestTheSameSeedIsTheSameRun(t *testing.T) {
	for seed := range uint64(5) {
		one, err := simtest.Run(seed, usual)
		require.NoError(t, err)
		two, err := simtest.Run(seed, usual)
		require.NoError(t, err)
		require.Equal(t, one, two)
		other, err := simtest.Run(seed+1000, usual)
		require.NoError(t, err)
		require.NotEqual(t, one, other)
	}
}

// A disk that forgets to sync loses what people were told is saved. If the
// simulation did not notice, its other results would mean nothing.
func TestADiskThatLiesIsFound(t *testing.T) {
	lying := usual
	lying.LyingDisk = true
	for seed := range uint64(50) {
		if _, err := simtest.Run(seed, lying); err != nil {
			return
		}
	}
	t.Fatal("50 seeds with lying disks and no fault found")
}
