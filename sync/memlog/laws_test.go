package memlog_test

import (
	"context"
	"crypto/ed25519"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/memlog"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// cut signs one device's operations as batches, cut where it was drawn.
func cut(t *rapid.T, h model.HouseholdID, key ed25519.PrivateKey, ops int) []*oplog.Batch {
	tail := oplog.NewTail(h, model.DeviceIDOf(mergetest.Public(key)))
	sealed, open, out := tail.Head(), [][]byte(nil), []*oplog.Batch(nil)
	for i := range ops {
		data, err := tail.Write(hlc.Of(int64(i+1), 0), &model.Fact{At: 1, By: model.MemberID{1}, Body: &model.Inspection{Plant: model.PlantID{byte(i + 1)}}})
		require.NoError(t, err)
		open = append(open, data...)
		if i == ops-1 || rapid.Bool().Draw(t, "cut") {
			b, err := tail.Seal(key, sealed, open)
			require.NoError(t, err)
			sealed, open, out = tail.Head(), nil, append(out, b)
		}
	}
	return out
}

// One history may be cut into batches in several ways, as archives are. Whatever comes
// first, and however it overlaps, the log reads on from any point to its end.
func TestAnyCutsOfOneHistoryFitTogether(t *testing.T) {
	ctx := context.Background()
	key := mergetest.KeyOf("cuts")
	h := model.HouseholdIDOf(mergetest.Public(key), [16]byte{})
	rapid.Check(t, func(t *rapid.T) {
		ops := rapid.IntRange(1, 12).Draw(t, "operations")
		cuts := [][]*oplog.Batch{cut(t, h, key, ops), cut(t, h, key, ops)}
		log := memlog.New(h)
		last := uint64(0)
		for last < cuts[0][len(cuts[0])-1].Last() {
			b := rapid.SampledFrom(cuts[rapid.IntRange(0, 1).Draw(t, "cut")]).Draw(t, "batch")
			err := log.Append(ctx, []*oplog.Batch{b})
			if b.First > last+1 {
				require.ErrorIs(t, err, oplog.ErrGap)
				continue
			}
			require.NoError(t, err)
			last = max(last, b.Last())
			heads, err := log.Heads(ctx)
			require.NoError(t, err)
			require.Equal(t, last, heads[b.Device].Seq)
			readsOn(t, log, key, last)
		}
	})
}

// readsOn reads the log from every point and checks that what comes goes on there.
func readsOn(t *rapid.T, log *memlog.Log, key ed25519.PrivateKey, last uint64) {
	d := model.DeviceIDOf(mergetest.Public(key))
	tail := oplog.NewTail(log.Household(), d)
	for tail.Head().Seq < last {
		batches, err := log.Read(context.Background(), d, tail.Head().Seq, 1)
		require.NoError(t, err)
		require.Len(t, batches, 1, "at least one")
		ops, next, err := tail.Read(mergetest.Public(key), batches[0])
		require.NoError(t, err)
		require.NotEmpty(t, ops, "every page makes progress")
		tail = next
	}
}
