package replica_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/sync/oplog"
)

// segmentVault counts the segments that are put into it.
type segmentVault struct {
	replica.Vault
	put []*oplog.Batch
}

func (v *segmentVault) PutSegment(ctx context.Context, s *oplog.Batch) error {
	v.put = append(v.put, s)
	return v.Vault.PutSegment(ctx, s)
}

// writeMany lets a phone write and send looks, so many in each batch.
func writeMany(t *testing.T, p *phone, batches, looks int) {
	for range batches {
		for range looks {
			p.do(t, look("round"))
		}
		p.sync(t)
	}
}

func counts(t *testing.T, p *phone, of *phone) (out []int) {
	batches, err := p.vault.Read(ctx, of.Device(), 0, 64<<20)
	require.NoError(t, err)
	for _, b := range batches {
		out = append(out, b.Count)
	}
	return out
}

func TestOldEntriesLieInSegments(t *testing.T) {
	s, _, a, b := pair(t)
	segmented := &segmentVault{Vault: a.vault}
	a.vault = segmented
	a.reopen(t)
	writeMany(t, a, 3, 300)
	require.Empty(t, segmented.put, "too few yet")
	writeMany(t, a, 2, 300)
	require.Len(t, segmented.put, 1)
	first := segmented.put[0]
	require.GreaterOrEqual(t, first.Count, 1000)
	require.Equal(t, a.Device(), first.Device)

	writeMany(t, a, 4, 300)
	require.Len(t, segmented.put, 2, "what lies in a segment is not written again")
	require.Equal(t, first.Last()+1, segmented.put[1].First)
	require.Less(t, len(counts(t, a, a)), 8)

	want := a.digest(t)
	require.NoError(t, a.vault.SaveSnapshot(ctx, nil))
	a.reopen(t)
	require.Equal(t, want, a.digest(t), "every segment proves itself")
	b.sync(t)
	requireSame(t, s, a, b)
}

// What comes from others is put together as well, few segments at a time.
func TestSegmentsOfSomebodyElsesLog(t *testing.T) {
	s, _, a, b := pair(t)
	segmented := &segmentVault{Vault: b.vault}
	b.vault = segmented
	b.reopen(t)
	writeMany(t, a, 1, 1900)
	writeMany(t, a, 12, 500)
	b.sync(t)
	require.LessOrEqual(t, len(segmented.put), 4)
	sizes := counts(t, b, a)
	for range 4 {
		b.sync(t)
	}
	require.Greater(t, sizes[1], 1900, "the few before the large batch are put to it")
	require.Equal(t, []int{1, sizes[1], 1000, 1000, 1000, 1000, 1000, 1000}, counts(t, b, a))
	requireSame(t, s, a, b)
	b.sync(t)
	require.Len(t, segmented.put, 7)
}

// Long notes pack well: a segment is bounded by what it unpacks to.
func TestSegmentsOfLongNotes(t *testing.T) {
	s, _, a, b := pair(t)
	segmented := &segmentVault{Vault: a.vault}
	a.vault = segmented
	a.reopen(t)
	note := strings.Repeat("The same words as every week. ", 120)
	for _, looks := range []int{200, 200, 200, 200, 200, 200, 700} { // the last are too many for one batch
		for range looks {
			a.do(t, look(note))
		}
		a.sync(t)
	}
	require.NotEmpty(t, segmented.put)
	for _, x := range segmented.put {
		require.LessOrEqual(t, len(x.Ops), oplog.MaxBatchBytes)
	}
	b.sync(t)
	requireSame(t, s, a, b)
}
