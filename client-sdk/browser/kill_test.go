//go:build js && wasm

package browser_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/browser"
	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/logtest"
)

const killed = "killed"

// mark is what stands for operation n, so that reading it tells a wrong one.
func mark(n uint64) []byte { return fmt.Appendf(nil, "operation %d", n) }

func photoOf(n uint64) replica.Photo {
	return replica.Photo{Sum: model.PhotoSum{byte(n >> 8), byte(n), 1}, Type: "image/jpeg", Bytes: 1, Added: model.Instant(n)}
}

// TestWrite writes until the browser is killed, and tells the harness of each
// operation after the vault has said that it is kept. Every tenth comes with a photo.
func TestWrite(t *testing.T) {
	if os.Getenv("ROLE") != "writer" {
		t.Skip("part of TestKillKeepsWhatWasSaved")
	}
	ctx := context.Background()
	v := open(t, killed)
	id, err := v.Identity(ctx)
	require.NoError(t, err)
	if id == nil {
		p := logtest.NewPen(model.HouseholdID{1}, 1)
		require.NoError(t, v.Begin(ctx, replica.Beginning{Identity: replica.Identity{Household: p.Household, Seed: p.Key.Seed()}}))
	}
	ops, err := v.Pending(ctx)
	require.NoError(t, err)
	for n := uint64(len(ops)) + 1; ; n++ {
		if n%10 == 0 {
			require.NoError(t, v.PutPhoto(ctx, photoOf(n), append(make([]byte, 100_000), mark(n)...)))
		}
		require.NoError(t, v.AddPending(ctx, []replica.Pending{{Seq: n, Op: mark(n)}}))
		_, err := browser.Transport{}.Do(ctx, replica.Request{Method: "POST", Path: "/saved", Body: strconv.AppendUint(nil, n, 10)})
		require.NoError(t, err)
	}
}

// TestRead looks whether everything is there that TestWrite was told is kept.
func TestRead(t *testing.T) {
	if os.Getenv("ROLE") != "reader" {
		t.Skip("part of TestKillKeepsWhatWasSaved")
	}
	ctx := context.Background()
	saved, err := strconv.ParseUint(os.Getenv("SAVED"), 10, 64)
	require.NoError(t, err)
	v := open(t, killed)
	ops, err := v.Pending(ctx)
	require.NoError(t, err)
	require.GreaterOrEqual(t, uint64(len(ops)), saved)
	for i, op := range ops {
		require.Equal(t, replica.Pending{Seq: uint64(i + 1), Op: mark(uint64(i + 1))}, op)
	}
	for n := uint64(10); n <= saved; n += 10 {
		data, _, err := v.PhotoBytes(ctx, photoOf(n).Sum, 0)
		require.NoError(t, err)
		require.Equal(t, mark(n), data[100_000:])
	}
	queue, err := v.Queue(ctx)
	require.NoError(t, err)
	require.GreaterOrEqual(t, uint64(len(queue)), saved/10)
	t.Logf("%d operations and %d photos are there, %d operations were acknowledged", len(ops), len(queue), saved)
}

// TestHoard keeps photos until there is no room, and looks whether what was kept
// before is whole and the vault still works.
func TestHoard(t *testing.T) {
	if os.Getenv("ROLE") != "hoarder" {
		t.Skip("part of TestFullDisk")
	}
	ctx := context.Background()
	v, p := begun(t, t.Name())
	require.NoError(t, v.AddPending(ctx, []replica.Pending{{Seq: 1, Op: mark(1)}}))
	bytes := make([]byte, 100_000) // that no disk can pack
	_, err := rand.NewChaCha8([32]byte{}).Read(bytes)
	require.NoError(t, err)
	n := uint64(0)
	for ; err == nil && n < 100; n++ {
		err = v.PutPhoto(ctx, photoOf(n), bytes)
	}
	require.ErrorIs(t, err, replica.ErrFull)
	t.Logf("the photo number %d did not fit", n)
	queue, err := v.Queue(ctx)
	require.NoError(t, err)
	require.Len(t, queue, int(n-1), "of the one that did not fit nothing is kept")
	_, _, err = v.PhotoBytes(ctx, photoOf(n-1).Sum, 0)
	require.ErrorIs(t, err, replica.ErrNoPhoto)
	heads, err := v.Heads(ctx)
	require.NoError(t, err)
	require.Empty(t, heads[p.Device()])
	ops, err := v.Pending(ctx)
	require.NoError(t, err)
	require.Len(t, ops, 1)
}
