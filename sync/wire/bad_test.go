package wire_test

import (
	"bytes"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// message encodes a message with batches as they are.
func message(t *testing.T, batches ...[]byte) []byte {
	t.Helper()
	data, err := cbor.Marshal(map[int]any{1: wire.Version, 2: make([]byte, 16), 3: []any{}, 4: batches})
	require.NoError(t, err)
	return data
}

func TestABadBatchIsNamedAndTheOthersAreRead(t *testing.T) {
	p := logtest.NewPen(model.HouseholdID{1}, 1)
	good, newer, cut := p.Batch(t, 1), p.Batch(t, 1), p.Batch(t, 1)
	future := bytes.Clone(newer.Encode())
	future[1] = 9 // the version is the array's first element
	m, bad, err := wire.Decode(message(t, good.Encode(), future, cut.Encode()[:40], []byte("?"), good.Encode()))
	require.NoError(t, err)
	require.Len(t, m.Batches, 2)
	require.Len(t, bad, 3)

	var b *wire.BadBatch
	require.ErrorAs(t, bad[0], &b)
	require.Equal(t, p.Device(), b.Device)
	require.Equal(t, newer.First, b.First)
	require.ErrorIs(t, bad[0], oplog.ErrVersion)
	require.ErrorIs(t, bad[1], oplog.ErrDamaged)
	require.ErrorAs(t, bad[2], &b)
	require.Equal(t, wire.BadBatch{Err: b.Err}, *b)
	require.Equal(t, oplog.ErrDamaged.Code, fault.CodeOf(bad[2]))
}

// A message of two megabytes must not become gigabytes.
func TestUnpackingIsBounded(t *testing.T) {
	p := logtest.NewPen(model.HouseholdID{1}, 1)
	sealed := p.Batch(t, 1)
	bomb := oplog.Batch{Device: sealed.Device, First: 1, Count: 1, Prev: sealed.Prev, Ops: make([]byte, oplog.MaxBatchBytes), Sig: sealed.Sig}
	data := bomb.Encode()
	require.Less(t, len(data), 2000)
	all := make([][]byte, 900)
	for i := range all {
		all[i] = data
	}
	m, bad, err := wire.Decode(message(t, all...))
	require.NoError(t, err)
	require.Len(t, m.Batches, 16)
	require.Len(t, bad, 900-16)
	require.ErrorIs(t, bad[0], oplog.ErrTooBig)
	var b *wire.BadBatch
	require.ErrorAs(t, bad[0], &b)
	require.Equal(t, p.Device(), b.Device)
}
