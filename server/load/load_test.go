package main

import (
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A trial in miniature measures everything, and everybody comes back.
func TestSmallTrial(t *testing.T) {
	small := size{households: 3, writers: []int{1, 2}, writing: 200 * time.Millisecond, seen: 3, spread: 50 * time.Millisecond, data: 5 << 20}
	var figures strings.Builder
	require.NoError(t, run(t.Context(), small, &figures, io.Discard))
	got := map[string]string{}
	for line := range strings.Lines(figures.String()) {
		name, value, found := strings.Cut(strings.TrimSpace(line), " ")
		require.True(t, found, line)
		require.NotContains(t, got, name)
		got[name] = value
	}
	for _, name := range []string{"idle-memory-mb", "households-3-memory-mb", "acks-1", "ack-p99-ms-2", "change-seen-p95-ms", "storm-all-in-sync-s", "storm-p99-ms", "second-start-ms"} {
		require.Contains(t, got, name)
	}
	require.Equal(t, "30 phones", got["storm-phones"])
	require.Equal(t, "0 phones", got["storm-refused-for-good"])
	require.NotEqual(t, "0 1/s", got["acks-2"])
}

func TestPercentile(t *testing.T) {
	var hundred []time.Duration
	for i := range 100 {
		hundred = append(hundred, time.Duration(100-i))
	}
	cases := []struct {
		name   string
		values []time.Duration
		of     int
		want   time.Duration
	}{
		{"half of a hundred", hundred, 50, 50},
		{"99 of a hundred", hundred, 99, 99},
		{"all", hundred, 100, 100},
		{"of few the last", hundred[:3], 99, 100},
		{"of one", hundred[:1], 50, 100},
		{"of none", nil, 99, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, percentile(c.values, c.of)) })
	}
}
