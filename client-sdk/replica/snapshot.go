package replica

import (
	"bytes"
	"context"
	"encoding/binary"
	"hash/crc64"

	"leafturn/model"
	"leafturn/sync/merge"
)

// snapshotEvery is how many operations are folded in between two snapshots. Fewer
// make opening faster and syncing slower.
const snapshotEvery = 500

// putAway leaves the vault as the next Open wants it, after something was taken in.
func (r *Replica) putAway(ctx context.Context) error {
	if err := r.saveSnapshot(ctx); err != nil {
		return err
	}
	return r.tidy(ctx)
}

// saveSnapshot keeps the state if that has grown enough since the last time.
func (r *Replica) saveSnapshot(ctx context.Context) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.keepSnapshot(ctx)
}

// keepSnapshot keeps the state, so that the next Open reads it instead of the log. Only
// signed operations may be in it, so it is made right after a Sync. It is for those who
// hold mu.
func (r *Replica) keepSnapshot(ctx context.Context) error {
	if r.fresh < snapshotEvery || len(r.pending) > 0 {
		return nil
	}
	data, err := r.state.Snapshot()
	if err != nil {
		return err
	}
	if err := r.vault.SaveSnapshot(ctx, append(snapshotSum(data), data...)); err != nil {
		return err
	}
	r.fresh = 0
	return nil
}

// sumBytes is the length of the sum that a snapshot lies behind.
const sumBytes = crc64.Size

var sumTable = crc64.MakeTable(crc64.ECMA)

// snapshotSum tells whether a snapshot is whole. It need not withstand anybody who could
// write to this disk, and in a browser a hash that does takes a fifth of the time of opening.
func snapshotSum(data []byte) []byte {
	return binary.BigEndian.AppendUint64(nil, crc64.Checksum(data, sumTable))
}

// openSnapshot gives the state of a snapshot that is whole and of this household.
func openSnapshot(data []byte, h model.HouseholdID) (*merge.State, bool) {
	if len(data) < sumBytes || !bytes.Equal(data[:sumBytes], snapshotSum(data[sumBytes:])) {
		return nil, false
	}
	s, err := merge.Restore(data[sumBytes:])
	if err != nil || s.Household() != h {
		return nil, false
	}
	return s, true
}
