package oplog_test

import (
	"bytes"
	"crypto/ed25519"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// segmentLog is a few batches of a log, after the one that it begins with.
func segmentLog(t *testing.T) (p *logtest.Pen, begin *oplog.Batch, log []*oplog.Batch) {
	p = logtest.NewPen(model.HouseholdID{1}, 7)
	begin = p.Batch(t, 1)
	for _, n := range []int{1, 3, 1, 40} {
		log = append(log, p.Batch(t, n))
	}
	return p, begin, log
}

// opsOf gives the operations that a reader who trusts only the key finds in batches.
func opsOf(t *testing.T, p *logtest.Pen, batches ...*oplog.Batch) []*oplog.Op {
	var all []*oplog.Op
	tail := oplog.NewTail(p.Household, p.Device())
	for _, b := range batches {
		ops, next, err := tail.Read(p.Key.Public().(ed25519.PublicKey), b)
		require.NoError(t, err)
		all, tail = append(all, ops...), next
	}
	return all
}

func TestSegmentProvesWhatItsBatchesDid(t *testing.T) {
	p, begin, log := segmentLog(t)
	s, err := oplog.Segment(log)
	require.NoError(t, err)
	require.Equal(t, opsOf(t, p, append([]*oplog.Batch{begin}, log...)...), opsOf(t, p, begin, s))
	require.Equal(t, opsOf(t, p, append([]*oplog.Batch{begin}, log...)...), opsOf(t, p, begin, log[0], log[1], s), "it may follow some of them")

	read, err := oplog.DecodeBatch(s.Encode())
	require.NoError(t, err)
	require.Equal(t, s.Encode(), read.Encode())
	require.Less(t, len(s.Encode()), len(bytes.Join([][]byte{log[0].Encode(), log[1].Encode(), log[2].Encode(), log[3].Encode()}, nil)))

	altered := *read
	altered.Ops = bytes.Clone(read.Ops)
	altered.Ops[len(log[0].Ops)-3] ^= 1 // one of the first look's numbers
	tail := oplog.NewTail(p.Household, p.Device())
	_, tail, err = tail.Read(p.Key.Public().(ed25519.PublicKey), begin)
	require.NoError(t, err)
	_, _, err = tail.Read(p.Key.Public().(ed25519.PublicKey), &altered)
	require.ErrorIs(t, err, oplog.ErrSignature, "the last signature covers the first operation")
}

func TestSegmentOfOverlappingBatches(t *testing.T) {
	p, begin, log := segmentLog(t)
	head, err := oplog.Segment(log[:2])
	require.NoError(t, err)
	back, err := oplog.Segment(log[1:3])
	require.NoError(t, err)
	s, err := oplog.Segment([]*oplog.Batch{head, back, log[3]})
	require.NoError(t, err)
	want, err := oplog.Segment(log)
	require.NoError(t, err)
	require.Equal(t, want, s)
	require.Equal(t, opsOf(t, p, append([]*oplog.Batch{begin}, log...)...), opsOf(t, p, begin, s))
}

func TestWhatIsNoSegment(t *testing.T) {
	p, begin, log := segmentLog(t)
	other := logtest.NewPen(p.Household, 8)
	twin := logtest.NewPen(p.Household, 7)
	twin.Photos(t, 1)
	twin.Batch(t, 1)
	fork := twin.Batch(t, 3)
	require.Equal(t, log[1].First, fork.First)
	longer := logtest.NewPen(p.Household, 7)
	longer.Batch(t, 1)
	overlapping := longer.Photos(t, 40)
	require.Equal(t, log[0].First, overlapping.First)
	require.Greater(t, overlapping.Last(), log[0].Last())
	other.Batch(t, 1)
	other.Batch(t, 1)
	follows := other.Batch(t, 3)
	require.Equal(t, log[0].Last()+1, follows.First)
	big := []*oplog.Batch{p.Batch(t, 3000), p.Batch(t, 3000)}
	long := []*oplog.Batch{p.Photos(t, 16_000), p.Photos(t, 16_000)}
	require.LessOrEqual(t, long[0].Count+long[1].Count, oplog.MaxBatchOps)
	for _, c := range []struct {
		name string
		run  []*oplog.Batch
		want error
	}{
		{"nothing", nil, oplog.ErrGap},
		{"the beginning of the log", []*oplog.Batch{begin, log[0]}, oplog.ErrGap},
		{"a gap", []*oplog.Batch{log[0], log[2]}, oplog.ErrGap},
		{"the wrong order", []*oplog.Batch{log[1], log[0]}, oplog.ErrGap},
		{"twice the same", []*oplog.Batch{log[0], log[0]}, oplog.ErrGap},
		{"two logs", []*oplog.Batch{log[0], follows}, oplog.ErrGap},
		{"a fork that overlaps", []*oplog.Batch{log[0], overlapping}, oplog.ErrFork},
		{"more bytes than a batch may hold", long, oplog.ErrTooBig},
		{"a fork", []*oplog.Batch{log[0], fork}, oplog.ErrFork},
		{"more than a batch may hold", big, oplog.ErrTooBig},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := oplog.Segment(c.run)
			require.ErrorIs(t, err, c.want)
		})
	}
}

func TestManySmallBatchesArePassedOnTogether(t *testing.T) {
	p, begin, log := segmentLog(t)
	few, err := oplog.Segments(append([]*oplog.Batch{begin}, log...))
	require.NoError(t, err)
	require.Equal(t, append([]*oplog.Batch{begin}, log...), few)

	for range 250 {
		log = append(log, p.Batch(t, 12))
	}
	many, err := oplog.Segments(append([]*oplog.Batch{begin}, log...))
	require.NoError(t, err)
	require.Less(t, len(many), 5)
	require.Equal(t, opsOf(t, p, append([]*oplog.Batch{begin}, log...)...), opsOf(t, p, many...))

	var photos []*oplog.Batch
	for range 40 {
		photos = append(photos, p.Photos(t, 400))
	}
	together, err := oplog.Segments(photos)
	require.NoError(t, err)
	require.Greater(t, len(together), 2)
	for _, s := range together {
		require.LessOrEqual(t, len(s.Ops), oplog.MaxBatchBytes/4, "a page of an exchange holds it")
	}

	log[20] = log[21]
	_, err = oplog.Segments(log)
	require.ErrorIs(t, err, oplog.ErrGap)
}
