package dirstore_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/photo"
	"leafturn/photo/dirstore"
	"leafturn/photo/phototest"
)

// TestOrphans walks a clock past the grace. A photo goes only when nothing referred to
// it the whole time.
func TestOrphans(t *testing.T) {
	dir := t.TempDir()
	s, ctx := open(t, dir), t.Context()
	var sums []photo.Sum
	for seed := range uint64(5) {
		p := phototest.Photo(seed)
		sums = append(sums, p.Info.Sum)
		require.NoError(t, s.Put(ctx, home, p))
	}
	used, forgotten, wanted, resent, unread := sums[0], sums[1], sums[2], sums[3], sums[4]
	refer := func(to ...photo.Sum) func(photo.Sum) bool {
		return func(sum photo.Sum) bool {
			for _, s := range to {
				if s == sum {
					return true
				}
			}
			return false
		}
	}
	orphans, err := s.Orphans(ctx, home, refer(used))
	require.NoError(t, err)
	require.ElementsMatch(t, []photo.Sum{forgotten, wanted, resent, unread}, orphans)

	start := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	tidy := func(after time.Duration, to ...photo.Sum) []photo.Sum {
		t.Helper()
		removed, err := s.Tidy(ctx, home, refer(to...), start.Add(after))
		require.NoError(t, err)
		return removed
	}
	require.Empty(t, tidy(0, used))
	require.Empty(t, tidy(dirstore.Grace/2, used, wanted), "wanted again for a while")
	require.NoError(t, s.Put(ctx, home, phototest.Photo(3)))
	require.NoError(t, os.WriteFile(find(t, dir, unread.String()+".orphan"), []byte("yesterday"), 0o600))
	require.Empty(t, tidy(dirstore.Grace-time.Second, used))
	s = open(t, dir) // the times are on the disk
	require.Equal(t, []photo.Sum{forgotten}, tidy(dirstore.Grace, used))
	require.ElementsMatch(t, []photo.Sum{wanted, resent, unread}, tidy(2*dirstore.Grace, used))
	require.Empty(t, tidy(9*dirstore.Grace, used))
	orphans, err = s.Orphans(ctx, home, refer(used))
	require.NoError(t, err)
	require.Empty(t, orphans)
	_, _, err = s.Read(ctx, home, used)
	require.NoError(t, err)
	_, _, err = s.Read(ctx, home, forgotten)
	require.ErrorIs(t, err, photo.ErrUnknown)
}

// TestClockSetBack: a note from the future does not keep a photo for good, nor does
// it take one away early.
func TestClockSetBack(t *testing.T) {
	s, ctx, p := open(t, t.TempDir()), t.Context(), phototest.Photo(1)
	require.NoError(t, s.Put(ctx, home, p))
	nothing := func(photo.Sum) bool { return false }
	start := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	for _, now := range []time.Time{start.AddDate(10, 0, 0), start, start.Add(dirstore.Grace - 1)} {
		removed, err := s.Tidy(ctx, home, nothing, now)
		require.NoError(t, err)
		require.Empty(t, removed)
	}
	removed, err := s.Tidy(ctx, home, nothing, start.Add(dirstore.Grace))
	require.NoError(t, err)
	require.Equal(t, []photo.Sum{p.Info.Sum}, removed)
}
