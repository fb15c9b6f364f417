package replica_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/mergetest"
)

// The link of a released version is read, here by the table of FORMAT.md too.
func TestGoldenInvitation(t *testing.T) {
	want := replica.Invitation{
		Household: model.HouseholdID(mergetest.ID[any]("house")), Op: model.FactID{Device: model.DeviceID(mergetest.ID[any]("phone")), Seq: 4711},
		Seed: bytes.Repeat([]byte{3}, 32), After: 1_790_000_000_000<<16 | 7,
	}
	golden := string(mergetest.Golden(t, "invitation.v1.txt", []byte(want.String())))
	require.Equal(t, golden, want.String(), "the form of a released version must not change")
	got, err := replica.ParseInvitation(golden)
	require.NoError(t, err)
	require.Equal(t, want, got)

	b, err := base64.RawURLEncoding.DecodeString(golden)
	require.NoError(t, err)
	require.Len(t, b, 1+16+16+8+32+8)
	require.EqualValues(t, 1, b[0])
	require.Equal(t, want.Household[:], b[1:17])
	require.Equal(t, want.Op.Device[:], b[17:33])
	require.Equal(t, want.Op.Seq, binary.BigEndian.Uint64(b[33:41]))
	require.Equal(t, want.Seed, b[41:73])
	require.EqualValues(t, want.After, binary.BigEndian.Uint64(b[73:]))
}
