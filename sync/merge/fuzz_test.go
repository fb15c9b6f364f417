package merge_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
)

// lived is a household with something of everything in it.
func lived(t mergetest.TB) *mergetest.House {
	h := mergetest.Found(t, "lived")
	p, q := h.Pens[0], h.Join(t, model.Helper)
	q.Wall += 1000
	for _, pen := range h.Pens {
		pen.Set(t, mergetest.Plant("fern"), model.FieldKey{Field: model.PlantName}, model.Text("fern of "+pen.Device().String()))
		for _, name := range mergetest.FactNames() {
			pen.Fact(t, mergetest.Facts(model.FactID{Device: p.Device(), Seq: 4}, mergetest.ID[model.Plant]("fern"), mergetest.ID[model.Plant]("ivy"))[name])
		}
		pen.Seal(t)
	}
	return h
}

// FuzzRestore feeds hostile bytes to the reader of snapshots: no panic, and what it
// makes of them can be saved and restored again.
func FuzzRestore(f *testing.F) {
	h := lived(f)
	f.Add(snapshot(f, whole(f, h)))
	f.Add(snapshot(f, merge.New(h.ID)))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			t.Skip() // memory is bounded by a multiple of the input
		}
		s, err := merge.Restore(data)
		if err != nil {
			return
		}
		once, err := s.Snapshot()
		if err != nil {
			return // its facts name what its logs do not
		}
		again, err := merge.Restore(once)
		require.NoError(t, err)
		require.Equal(t, once, snapshot(t, again))
		again.Apply(h.Batches()...)
	})
}

func TestNewerSnapshotIsRefused(t *testing.T) {
	data := snapshot(t, whole(t, lived(t)))
	require.Equal(t, byte(1), data[1], "the version is the array's first element")
	data[1] = 2
	_, err := merge.Restore(data)
	require.Error(t, err)
}

// A flipped bit or a missing byte must never crash the reader.
func TestDamagedSnapshotsDoNotPanic(t *testing.T) {
	data := snapshot(t, whole(t, lived(t)))
	for i := range data {
		_, err := merge.Restore(data[:i])
		require.Error(t, err)
		for bit := range 8 {
			data[i] ^= 1 << bit
			if s, err := merge.Restore(data); err == nil {
				_, _ = s.Snapshot()
			}
			data[i] ^= 1 << bit
		}
	}
}

func TestGoldenSnapshot(t *testing.T) {
	now := snapshot(t, whole(t, lived(t)))
	golden := mergetest.Golden(t, "snapshot.v1.cbor", now)
	require.Equal(t, golden, now, "the form of a released version must not change")
	s, err := merge.Restore(golden)
	require.NoError(t, err)
	same(t, whole(t, lived(t)), s)
}
