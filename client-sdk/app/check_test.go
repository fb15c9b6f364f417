package app

import (
	"bytes"
	"context"
	"encoding/binary"
	"hash/crc64"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// A phone that opened from a wrong snapshot shows what its log says as soon as that was
// found out, and says why the screen changed.
func TestAWrongSnapshotIsToldAndPutRight(t *testing.T) {
	ctx := context.Background()
	ada, _ := newWorld(t).household(model.Helper)
	fern, err := model.ParseID[model.Plant](ada.plant("Fern"))
	require.NoError(t, err)
	looks := make([]any, 500) // enough for a snapshot
	for i := range looks {
		looks[i] = replica.Seen(&model.Inspection{Plant: fern})
	}
	_, err = ada.house.Do(ctx, looks...)
	require.NoError(t, err)
	ada.sync()
	good, err := ada.vault.Snapshot(ctx)
	require.NoError(t, err)
	require.Contains(t, string(good), "Fern")
	state := bytes.Replace(good[crc64.Size:], []byte("Fern"), []byte("Palm"), 1)
	sum := crc64.Checksum(state, crc64.MakeTable(crc64.ECMA))
	require.NoError(t, ada.vault.SaveSnapshot(ctx, append(binary.BigEndian.AppendUint64(nil, sum), state...)))

	ada.restart(screens.RoutePlants)
	require.Contains(t, ada.main(), "Palm")
	err = ada.house.CheckSnapshot(ctx)
	ada.show(ada.Checked(ctx, nil, err))
	require.Contains(t, ada.main(), "Palm", "it was another household's")
	require.Equal(t, replica.ErrSnapshot.Words, ada.show(ada.Checked(ctx, ada.house, err)).Say)
	require.Contains(t, ada.main(), "Fern")
	require.NotContains(t, ada.main(), "Palm")

	require.Empty(t, ada.Checked(ctx, ada.house, ada.house.CheckSnapshot(ctx)).Say, "now it is sound")
	require.Equal(t, replica.ErrOldLog.Words, ada.Checked(ctx, ada.house, replica.ErrOldLog).Say)
	require.Empty(t, ada.Checked(ctx, ada.house, context.Canceled).Say)
}
