package oplog

import (
	"context"
	"maps"
	"slices"

	"leafturn/model"
)

// Log keeps the signed batches of one household. Package logtest is its
// conformance suite.
type Log interface {
	// Append keeps batches. It returns only when they would survive a loss of power.
	// Each batch must continue its device's log, or repeat what is kept; the caller
	// has verified them. Appending a batch again has no further effect. Either all
	// batches are kept or none. It returns ErrGap if operations before a batch are
	// missing, and ErrFork if a batch does not fit what is kept.
	Append(ctx context.Context, batches []*Batch) error

	// Read gives the batches of a device that hold operations after seq, in order:
	// as many as fit into about maxBytes, but at least one if there is any. The
	// first one may begin at or before seq.
	Read(ctx context.Context, device model.DeviceID, after uint64, maxBytes int) ([]*Batch, error)

	// Heads says how far each device's log goes. The caller may change the map.
	Heads(ctx context.Context) (map[model.DeviceID]Head, error)
}

// Vector says how far a replica knows each device's log.
type Vector map[model.DeviceID]uint64

// VectorOf is the vector of some heads.
func VectorOf(heads map[model.DeviceID]Head) Vector {
	v := make(Vector, len(heads))
	for d, h := range heads {
		v[d] = h.Seq
	}
	return v
}

// Covers reports whether v knows everything that w knows.
func (v Vector) Covers(w Vector) bool {
	for d, seq := range w {
		if v[d] < seq {
			return false
		}
	}
	return true
}

// Join takes the further of both for every device.
func (v Vector) Join(w Vector) Vector {
	out := maps.Clone(v)
	if out == nil {
		out = Vector{}
	}
	for d, seq := range w {
		out[d] = max(out[d], seq)
	}
	return out
}

// Equal reports whether both know the same. An absent device and one at zero are equal.
func (v Vector) Equal(w Vector) bool { return v.Covers(w) && w.Covers(v) }

// HashAt is the hash after an operation that the log holds, ErrGap if it does not.
func HashAt(ctx context.Context, log Log, d model.DeviceID, seq uint64) (Hash, error) {
	kept, err := log.Read(ctx, d, seq-1, 1)
	if err != nil {
		return Hash{}, err
	}
	if len(kept) == 0 || kept[0].Last() < seq {
		return Hash{}, ErrGap
	}
	return kept[0].HashAt(seq)
}

// Repeats checks a batch whose operations the log already holds against what is
// kept: ErrFork if they differ. A repeated push is harmless, a second history under
// the same numbers is not.
func Repeats(ctx context.Context, log Log, b *Batch) error {
	want, err := HashAt(ctx, log, b.Device, b.Last())
	if err != nil {
		return err
	}
	have, err := b.HashAt(b.Last())
	if err != nil {
		return err
	}
	if have != want {
		return ErrFork
	}
	return nil
}

// Continue says what a batch does to a log that stands at head: it gives the head
// after it and true if it adds operations, or the same head and false if it only
// repeats. Every Log checks its appends with it, so that no store accepts what
// another would refuse. The zero head is the head of a log that does not exist yet.
func Continue(h model.HouseholdID, head Head, b *Batch) (Head, bool, error) {
	if head.Seq == 0 {
		head.Hash = origin(h, b.Device)
	}
	if b.First > head.Seq+1 {
		return head, false, ErrGap
	}
	if b.Last() >= head.Seq {
		if at, err := b.HashAt(head.Seq); err != nil || at != head.Hash {
			return head, false, ErrFork.Because(err)
		}
	}
	if b.Last() <= head.Seq {
		return head, false, nil
	}
	last, err := b.HashAt(b.Last())
	if err != nil {
		return head, false, err
	}
	return Head{Seq: b.Last(), Hash: last}, true, nil
}

// Devices gives the vector's devices in a fixed order.
func (v Vector) Devices() []model.DeviceID {
	return slices.SortedFunc(maps.Keys(v), model.CompareIDs)
}
