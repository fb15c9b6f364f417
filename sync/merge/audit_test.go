package merge_test

import (
	"bytes"
	"maps"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// audited compares a state with all batches of a household.
func audited(s *merge.State, batches []*oplog.Batch) error {
	a := s.Audit()
	for _, b := range batches {
		if a.At(b.Device) >= b.Last() {
			continue
		}
		if err := a.Take(b); err != nil {
			return err
		}
	}
	return a.End()
}

func TestAFoldPassesItsAudit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := quarrel(t)
		s := whole(t, h)
		require.NoError(t, audited(s, h.Batches()))
		require.NoError(t, audited(s, segmented(t, h)))
		restored, err := merge.Restore(snapshot(t, s))
		require.NoError(t, err)
		require.NoError(t, audited(restored, h.Batches()))
	})
}

// TestAnAlteredSnapshotFailsItsAudit: whatever byte is altered, a snapshot that can
// still be read gives the state of the logs, or is found out. Where its heads are not
// those of the logs, or it is of another household, nothing is audited: the logs do not go
// on from it.
func TestAnAlteredSnapshotFailsItsAudit(t *testing.T) {
	h := lived(t)
	want := whole(t, h)
	good := snapshot(t, want)
	found := 0
	for i := range good {
		for _, flip := range []byte{1, 0x80} {
			bad := bytes.Clone(good)
			bad[i] ^= flip
			s, err := merge.Restore(bad)
			if err != nil || s.Household() != h.ID || !maps.Equal(s.Heads(), want.Heads()) {
				continue
			}
			found++
			now, err := s.Snapshot()
			if err == nil && bytes.Equal(now, good) {
				require.NoError(t, audited(s, h.Batches()))
				continue
			}
			require.ErrorIs(t, audited(s, h.Batches()), merge.ErrDiffers, "byte %d with %#x: the log is sound", i, flip)
		}
	}
	require.Greater(t, found, len(good)/2, "most of them can be read")
}

// TestAuditOfAnotherHistory: numbers and names agree, only what was written does not.
func TestAuditOfAnotherHistory(t *testing.T) {
	write := func(note string) *mergetest.House {
		h := mergetest.Found(t, "twice")
		h.Pens[0].Fact(t, &model.Inspection{Plant: mergetest.ID[model.Plant]("fern"), Note: note})
		h.Pens[0].Seal(t)
		return h
	}
	one, other := write("one"), write("two")
	require.NoError(t, audited(whole(t, one), one.Batches()))
	require.ErrorIs(t, audited(whole(t, one), other.Batches()), merge.ErrDiffers)
}

// TestAuditWhileTheStateGoesOn: what is written meanwhile is no difference.
func TestAuditWhileTheStateGoesOn(t *testing.T) {
	h := lived(t)
	s := whole(t, h)
	known := h.Batches()
	a := s.Audit()
	for _, b := range known {
		require.NoError(t, a.Take(b))
	}
	h.Pens[0].Fact(t, &model.Inspection{Plant: mergetest.ID[model.Plant]("fern")})
	h.Pens[0].Set(t, mergetest.Plant("fern"), model.FieldKey{Field: model.PlantName}, model.Text("renamed meanwhile"))
	later := h.Pens[0].Seal(t)
	require.Empty(t, s.Apply(later))
	require.NoError(t, a.End())

	damaged := *known[len(known)-1]
	damaged.Ops = bytes.Clone(damaged.Ops)
	damaged.Ops[len(damaged.Ops)-1] ^= 1
	a = s.Audit()
	for _, b := range known[:len(known)-1] {
		require.NoError(t, a.Take(b))
	}
	require.ErrorIs(t, a.Take(&damaged), oplog.ErrSignature, "it is the log that is wrong")
}
