package memlog_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/logtest"
	"leafturn/sync/memlog"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// A phone and its copy wrote other operations under the same numbers. What the copy
// sends is no repetition, although it brings nothing that the numbers do not cover.
func TestReplicaTellsASecondHistoryFromARepetition(t *testing.T) {
	h := mergetest.Found(t, "second history")
	p := h.Pens[0]
	ctx := context.Background()
	var copied *oplog.Batch
	{
		clone := *p
		clone.State = merge.New(h.ID)
		require.Empty(t, clone.State.Apply(h.Batches()...))
		clone.Fact(t, &model.Inspection{Plant: model.PlantID{2}})
		copied = clone.Seal(t)
	}
	for range 3 {
		p.Fact(t, &model.Inspection{Plant: model.PlantID{1}})
	}
	p.Seal(t)
	r := memlog.NewReplica(h.ID)
	refused, err := r.Take(ctx, h.Batches())
	require.NoError(t, err)
	require.Empty(t, refused)
	refused, err = r.Take(ctx, h.Batches())
	require.NoError(t, err)
	require.Empty(t, refused, "a repetition is harmless")
	refused, err = r.Take(ctx, []*oplog.Batch{copied})
	require.NoError(t, err)
	require.Len(t, refused, 1)
	require.ErrorIs(t, refused[0].Err, oplog.ErrFork)
}

func TestConformance(t *testing.T) {
	logtest.Run(t, func(*testing.T) logtest.Store {
		logs := map[model.HouseholdID]oplog.Log{}
		return logtest.Store{Open: func(_ *testing.T, h model.HouseholdID) oplog.Log {
			if logs[h] == nil {
				logs[h] = memlog.New(h)
			}
			return logs[h]
		}}
	})
}
