package replica

import (
	"context"
	"encoding/binary"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// A phone that is online signs nearly every entry by itself, and each signature weighs
// five times what it signs. So what is old enough is put together in segments, each
// written once: the vault's log stays small, and who reads it checks one signature for
// a thousand operations.

const (
	segmentOps   = 1000      // in one segment, if its operations are of the usual size
	segmentBytes = 256 << 10 // of packed batches that one segment is made of, at most
	segmentsEach = 4         // that are made after one Sync, so that nobody waits for more
)

// keptSegments is how far each log lies in segments: 16 bytes of device, 8 of number.
// It only spares looking: what it says may be behind the vault.
const keptSegments = "segments"

// tidy puts the logs into segments, a few at a time.
func (r *Replica) tidy(ctx context.Context) error {
	heads, err := r.vault.Heads(ctx)
	if err != nil {
		return err
	}
	done, err := r.segments(ctx)
	if err != nil {
		return err
	}
	left := segmentsEach
	for _, d := range oplog.VectorOf(heads).Devices() {
		if done[d] > heads[d].Seq {
			done[d] = 0 // the log of a phone that moved is now what others had of it
		}
		for ; left > 0 && heads[d].Seq >= done[d]+segmentOps; left-- {
			if done[d], err = r.segment(ctx, d, done[d]); err != nil {
				return err
			}
		}
	}
	if left == segmentsEach {
		return nil
	}
	return r.keepSegments(ctx, done)
}

// segment makes one segment after so many operations of a log, and gives its end.
func (r *Replica) segment(ctx context.Context, d model.DeviceID, after uint64) (uint64, error) {
	batches, err := r.vault.Read(ctx, d, after, segmentBytes)
	if err != nil {
		return 0, err
	}
	if len(batches) == 0 {
		return 0, oplog.ErrGap
	}
	run := loose(batches, after)
	if len(run) < 2 {
		return batches[0].Last(), nil // it stays as it is
	}
	s, err := oplog.Segment(run)
	if err != nil {
		return 0, err
	}
	return s.Last(), r.vault.PutSegment(ctx, s)
}

// loose gives the batches, from the first, that belong together: few that are small.
func loose(batches []*oplog.Batch, after uint64) []*oplog.Batch {
	if first := batches[0]; first.First == 1 || first.First <= after {
		return nil // the log begins with it, or it begins inside another
	}
	ops, bytes := 0, 0
	for i, b := range batches {
		ops, bytes = ops+b.Count, bytes+len(b.Ops)
		if ops > 2*segmentOps || bytes > segmentBytes {
			return batches[:i]
		}
		if ops >= segmentOps {
			return batches[:i+1]
		}
	}
	return batches
}

func (r *Replica) segments(ctx context.Context) (oplog.Vector, error) {
	const size = len(model.DeviceID{}) + 8
	data, err := r.vault.Kept(ctx, keptSegments)
	done := oplog.Vector{}
	for ; len(data) >= size; data = data[size:] {
		done[model.DeviceID(data)] = binary.BigEndian.Uint64(data[size-8:])
	}
	return done, err
}

func (r *Replica) keepSegments(ctx context.Context, done oplog.Vector) error {
	var data []byte
	for _, d := range done.Devices() {
		data = binary.BigEndian.AppendUint64(append(data, d[:]...), done[d])
	}
	return r.vault.Keep(ctx, keptSegments, data)
}
