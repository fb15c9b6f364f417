package workload_test

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/sync/workload"
)

// The sums were published with the stream's JavaScript generator.
func TestStreamIsThePublishedOne(t *testing.T) {
	for _, events := range []int{2_000, 10_000} {
		t.Run(strconv.Itoa(events), func(t *testing.T) {
			sum, err := workload.Sum(workload.DefaultSeed, events)
			require.NoError(t, err)
			require.Equal(t, workload.Published[events], sum)
		})
	}
}

func TestAnotherSeedIsAnotherStream(t *testing.T) {
	sum, err := workload.Sum(workload.DefaultSeed+1, 2_000)
	require.NoError(t, err)
	require.NotEqual(t, workload.Published[2_000], sum)
}
