package vaulttest

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// segments puts batches of a log together, beside the log of somebody else.
func segments(t *testing.T, s Store) {
	ctx := context.Background()
	v, own := opened(t, s)
	other := logtest.NewPen(household, 160)
	beside := []*oplog.Batch{other.Batch(t, 2), other.Batch(t, 1)}
	require.NoError(t, v.Append(ctx, beside))
	var log []*oplog.Batch
	for _, n := range []int{1, 2, 3, 1, 4} {
		log = append(log, own.Batch(t, n))
	}
	next := own.Batch(t, 1)
	require.NoError(t, v.Append(ctx, log))
	require.NoError(t, v.AddPending(ctx, ops(log[4].Last()+1, log[4].Last()+1)))

	noSegments(t, v, log, next)
	requireLog(t, v, log)

	segment := segmentOf(t, log[1:4]...)
	require.NoError(t, v.PutSegment(ctx, segment))
	require.NoError(t, v.PutSegment(ctx, segment), "putting it again changes nothing")
	lasts(t, s, v, func(v replica.Vault) {
		requireLog(t, v, []*oplog.Batch{log[0], segment, log[4]})
		requireLog(t, v, beside)
		require.Equal(t, log[4].Last(), headOf(t, v, own.Device()))
		requirePending(t, v, log[4].Last()+1, log[4].Last()+1)
		got, err := v.Read(ctx, own.Device(), log[2].Last(), 1)
		require.NoError(t, err)
		require.Len(t, got, 1)
		require.Equal(t, segment.First, got[0].First, "it is read from the middle")
	})
	v = s.Open(t, "main")
	require.NoError(t, v.Append(ctx, []*oplog.Batch{log[2], next}), "the log goes on, and what the segment holds is still known")
	requireLog(t, v, []*oplog.Batch{log[0], segment, log[4], next})
}

// noSegments offers what may not take the place of anything.
func noSegments(t *testing.T, v replica.Vault, log []*oplog.Batch, next *oplog.Batch) {
	t.Helper()
	twin := newPen()
	twin.Batch(t, 1)
	stranger := logtest.NewPen(household, 161)
	stranger.Batch(t, 1)
	for _, c := range []struct {
		name string
		s    *oplog.Batch
		want error
	}{
		{"of another history", segmentOf(t, twin.Batch(t, 3), twin.Batch(t, 2)), oplog.ErrFork},
		{"beyond the log", segmentOf(t, log[4], next), oplog.ErrGap},
		{"of an unknown log", segmentOf(t, stranger.Batch(t, 1)), oplog.ErrGap},
		{"that begins inside a batch", middle(t, log), oplog.ErrGap},
	} {
		require.ErrorIs(t, v.PutSegment(context.Background(), c.s), c.want, c.name)
	}
}

// middle ends where a kept batch ends, but begins inside it.
func middle(t *testing.T, log []*oplog.Batch) *oplog.Batch {
	t.Helper()
	p := newPen()
	p.Batch(t, 2)
	b := p.Batch(t, 2)
	require.Equal(t, log[1].Last(), b.Last())
	require.Greater(t, b.First, log[1].First)
	return b
}

func segmentOf(t *testing.T, run ...*oplog.Batch) *oplog.Batch {
	t.Helper()
	s, err := oplog.Segment(run)
	require.NoError(t, err)
	return s
}

func requireLog(t *testing.T, v replica.Vault, want []*oplog.Batch) {
	t.Helper()
	got, err := v.Read(context.Background(), want[0].Device, 0, oplog.MaxBatchBytes)
	require.NoError(t, err)
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i].Encode(), got[i].Encode())
	}
}
