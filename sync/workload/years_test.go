package workload_test

import (
	"crypto/sha256"
	"encoding/hex"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/workload"
)

// lived gives the batches of a household, and the sum of them all.
func lived(t *testing.T, facts int) (*workload.Years, []*oplog.Batch, string) {
	y, err := workload.NewYears(workload.DefaultSeed, facts)
	require.NoError(t, err)
	var all []*oplog.Batch
	sum := sha256.New()
	require.NoError(t, y.Write(func(b *oplog.Batch) error {
		all = append(all, b)
		_, err := sum.Write(b.Ops)
		return err
	}))
	return y, all, hex.EncodeToString(sum.Sum(nil))
}

func TestTenYearsAreTheSameEachTime(t *testing.T) {
	const facts = 2200
	y, all, sum := lived(t, facts)
	_, _, again := lived(t, facts)
	require.Equal(t, sum, again)

	s := merge.New(y.Crowd().Household)
	require.Empty(t, s.Apply(all...))
	book := s.Book()
	require.Equal(t, facts, book.Len())
	require.Len(t, book.Plants, 200)
	photos, kinds := map[model.PhotoSum]bool{}, map[string]int{}
	book.EachPhoto(func(p model.PhotoSum, _ *model.Fact) { photos[p] = true })
	require.Len(t, photos, y.Photos)
	require.Equal(t, 400, y.Photos)
	for _, f := range book.Facts() {
		switch f.Body.(type) {
		case *model.Inspection:
			kinds["look"]++
		case *model.Application, *model.Handling:
			kinds["treatment"]++
		case *model.TaskCompleted, *model.TaskClaimed:
			kinds["task"]++
		case *model.Temperature, *model.CardReading:
			kinds["reading"]++
		}
	}
	require.Equal(t, 1848, kinds["look"])
	for _, kind := range []string{"treatment", "task", "reading"} {
		require.Positive(t, kinds[kind])
	}
	first, last := book.Facts()[0].At, book.Facts()[facts-1].At
	require.InDelta(t, 3652, float64(last-first)/86_400_000, 2, "days")
	require.Greater(t, len(all), facts/3, "phones that are online sign a few entries at a time")
}
