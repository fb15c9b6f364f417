package merge_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// segmented puts batches that follow each other in a log together, here and there.
func segmented(t *rapid.T, h *mergetest.House) []*oplog.Batch {
	logs := map[model.DeviceID][]*oplog.Batch{}
	for _, b := range h.Batches() {
		logs[b.Device] = append(logs[b.Device], b)
	}
	var out []*oplog.Batch
	for _, p := range h.Pens {
		log := logs[p.Device()]
		out = append(out, log[0])
		for log = log[1:]; len(log) > 0; {
			n := rapid.IntRange(1, len(log)).Draw(t, "together")
			s, err := oplog.Segment(log[:n])
			require.NoError(t, err)
			out, log = append(out, s), log[n:]
		}
	}
	return out
}

// TestSegmentsAreTheSameHistory: logs whose batches were put together fold to the same
// state, in any order, beside the batches that they hold, and although keepers quarrel.
func TestSegmentsAreTheSameHistory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := quarrel(t)
		want := whole(t, h)
		all := segmented(t, h)
		got := merge.New(h.ID)
		deliver(t, got, 1, shuffled(rapid.Uint64().Draw(t, "order"), all))
		same(t, want, got)

		mixed := append(all, h.Batches()...)
		got = merge.New(h.ID)
		deliver(t, got, 1, shuffled(rapid.Uint64().Draw(t, "mixed"), mixed))
		same(t, want, got)
	})
}
