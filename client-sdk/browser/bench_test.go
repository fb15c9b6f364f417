//go:build js && wasm

package browser_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/sync/oplog"
)

// BenchmarkAddPending is what a tap waits for: one operation, kept strictly.
func BenchmarkAddPending(b *testing.B) {
	ctx := context.Background()
	v, _ := begun(b, b.Name()+uniqueName())
	defer v.Close()
	op := make([]byte, 60)
	n := uint64(0)
	for b.Loop() {
		n++
		require.NoError(b, v.AddPending(ctx, []replica.Pending{{Seq: n, Op: op}}))
	}
}

// BenchmarkReadLog reads 100 batches of 1,000 operations as a start does, without
// verifying or folding them in.
func BenchmarkReadLog(b *testing.B) {
	ctx := context.Background()
	v, p := begun(b, b.Name()+uniqueName())
	defer v.Close()
	var all []*oplog.Batch
	for range 100 {
		all = append(all, p.Batch(b, 1000))
	}
	require.NoError(b, v.Append(ctx, all))
	for b.Loop() {
		read, after := 0, uint64(0)
		for {
			page, err := v.Read(ctx, p.Device(), after, 4<<20)
			require.NoError(b, err)
			if len(page) == 0 {
				break
			}
			read, after = read+len(page), page[len(page)-1].Last()
		}
		require.Equal(b, len(all), read)
	}
}

var names int

// uniqueName keeps repeated runs of a benchmark in databases of their own.
func uniqueName() string {
	names++
	return string(rune('a' + names))
}
