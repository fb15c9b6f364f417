package oplog

import (
	"encoding/binary"
	"fmt"
	"math"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/packed"
)

// SavedFacts is the facts of one log as a snapshot keeps them, under the names of
// that log. Inspections, which are nearly all, lie packed one after the other, their
// photos and notes apart; other facts are operations with a whole stamp.
type SavedFacts struct {
	_      struct{} `cbor:",toarray"`
	Looks  view     // see saveLook
	Photos view     // 32 bytes each
	Notes  string
	Others SavedOps
}

// SavedOps is some operations of one log as a snapshot keeps them, under the names
// of that log.
type SavedOps struct {
	_    struct{} `cbor:",toarray"`
	Seqs []uint64 // their numbers
	Ops  view     // with whole stamps, a CBOR sequence (RFC 8742)
}

// SaveOps gives the lasting form of some of a log's operations, which must be in
// order.
func (t *Tail) SaveOps(ops []*Op) (SavedOps, error) {
	e, known := t.saver()
	defer e.free()
	var s SavedOps
	for _, op := range ops {
		if err := e.saveOp(&s, op.ID.Seq, op.Stamp, op.Body); err != nil {
			return s, err
		}
	}
	return s, known()
}

// saver is an encoder for what the log holds already. known says whether the log
// names all the ids that were saved.
func (t *Tail) saver() (e *encoder, known func() error) {
	t.indexNames()
	names := len(t.ids)
	e = newEncoder(t.Clone(), 0, 0)
	return e, func() error {
		if len(e.t.ids) != names {
			return fmt.Errorf("save operations: the log does not name all their ids")
		}
		return nil
	}
}

func (e *encoder) saveOp(s *SavedOps, seq uint64, stamp hlc.Stamp, body any) error {
	e.millis, e.counter = uint64(stamp.Millis()), stamp.Counter()
	op, err := e.encode(stamp, body)
	if err != nil {
		return fmt.Errorf("save operation %d: %w", seq, err)
	}
	s.Seqs, s.Ops = append(s.Seqs, seq), append(s.Ops, op...)
	return nil
}

// RestoreOps gives the operations that SaveOps saved, in order.
func (t *Tail) RestoreOps(s SavedOps) ([]*Op, error) {
	at := *t
	d := newDecoder(&at)
	defer d.free()
	return d.restoreOps(s)
}

func (d *decoder) restoreOps(s SavedOps) ([]*Op, error) {
	out := make([]*Op, 0, min(len(s.Seqs), len(s.Ops)))
	data := s.Ops
	for _, seq := range s.Seqs {
		d.t.head.Seq, d.t.stamp = seq-1, 0
		op, rest, err := d.decode(data)
		if err != nil {
			return nil, fmt.Errorf("restore operation %d: %w", seq, err)
		}
		out, data = append(out, op), rest
	}
	if len(data) > 0 {
		return nil, ErrDamaged
	}
	return out, nil
}

// SaveFacts gives the lasting form of a log's facts, which must be in order.
func (t *Tail) SaveFacts(facts []*model.Fact) (SavedFacts, error) {
	e, known := t.saver()
	defer e.free()
	var s SavedFacts
	var notes []byte
	var last model.Fact
	for _, f := range facts {
		look, ok := f.Body.(*model.Inspection)
		if !ok {
			if err := e.saveOp(&s.Others, f.ID.Seq, hlc.Stamp(f.Stamp), f); err != nil {
				return s, err
			}
			continue
		}
		s.Looks = e.saveLook(s.Looks, &last, f, look)
		for i := range look.Photos {
			s.Photos = append(s.Photos, look.Photos[i][:]...)
		}
		notes, last = append(notes, look.Note...), *f
	}
	s.Notes = string(notes)
	return s, known()
}

// saveLook appends one inspection: its number since the last one, its packed
// numbers with the time since the last one's stamp, the number of its photos, and
// the bytes of its note.
func (e *encoder) saveLook(out []byte, last, f *model.Fact, look *model.Inspection) []byte {
	stamp := hlc.Stamp(f.Stamp)
	e.millis, e.counter = uint64(stamp.Millis()-hlc.Stamp(last.Stamp).Millis()), stamp.Counter()
	out = binary.AppendUvarint(out, f.ID.Seq-last.ID.Seq)
	out = e.pack(out, look, int64(f.At)-stamp.Millis(), e.name(f.By))
	out = binary.AppendUvarint(out, uint64(len(look.Photos)))
	return binary.AppendUvarint(out, uint64(len(look.Note)))
}

// RestoreFacts gives the facts that SaveFacts saved, in order.
func (t *Tail) RestoreFacts(s SavedFacts) ([]*model.Fact, error) {
	at := *t
	at.head.Seq, at.stamp = 0, 0
	d := newDecoder(&at)
	defer d.free()
	looks, err := d.restoreLooks(s)
	if err != nil {
		return nil, fmt.Errorf("restore facts: %w", err)
	}
	ops, err := d.restoreOps(s.Others)
	if err != nil {
		return nil, err
	}
	others := make([]*model.Fact, len(ops))
	for i, op := range ops {
		f, ok := op.Body.(*model.Fact)
		if !ok {
			return nil, ErrDamaged
		}
		others[i] = f
	}
	return Interleave(looks, others, func(a, b *model.Fact) bool { return a.ID.Seq < b.ID.Seq }), nil
}

func (d *decoder) restoreLooks(s SavedFacts) ([]*model.Fact, error) {
	r := looksReader{d: d, numbers: packed.Read(s.Looks), photos: d.photos(s.Photos), notes: s.Notes}
	room := len(s.Looks) / usualLook
	out := make([]*model.Fact, 0, room)
	if room > pieces { // one piece for all of them, as they stay together
		d.facts, d.looks, d.findings = make([]model.Fact, room), make([]model.Inspection, room), make([]model.Finding, room)
	}
	for !r.numbers.End() && d.err == nil {
		out = append(out, r.next())
	}
	if len(r.photos)+len(r.notes) > 0 {
		d.fail(ErrDamaged)
	}
	return out, d.err
}

// looksReader reads saved inspections one after the other.
type looksReader struct {
	d       *decoder
	numbers packed.Numbers
	photos  []model.PhotoSum
	notes   string
}

// next reads one inspection. What is wrong with it, the decoder remembers.
func (r *looksReader) next() *model.Fact {
	d, n := r.d, &r.numbers
	seq := d.t.head.Seq + n.Next(math.MaxUint32)
	look := &cut(&d.looks, 1)[0]
	h := d.unpack(n, look)
	var v [2]uint64
	n.Fill(v[:])
	photos, note := v[0], v[1]
	if n.Bad || photos > uint64(len(r.photos)) || note > uint64(len(r.notes)) {
		d.fail(ErrDamaged)
		return nil
	}
	if photos > 0 {
		look.Photos, r.photos = r.photos[:photos:photos], r.photos[photos:]
	}
	look.Note, r.notes = r.notes[:note], r.notes[note:]
	op := Op{ID: model.FactID{Device: d.t.device, Seq: seq}}
	f := d.fact(&op, h.millis, h.counter, h.at, h.by, look)
	d.t.head.Seq, d.t.stamp = seq, op.Stamp
	return f
}

// usualLook is about how many bytes saveLook appends; it makes room in advance.
const usualLook = 20

// Interleave merges two ordered lists into one.
func Interleave[T any](a, b []T, less func(x, y T) bool) []T {
	switch {
	case len(a) == 0:
		return b
	case len(b) == 0:
		return a
	}
	out := make([]T, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		if less(b[0], a[0]) {
			out, b = append(out, b[0]), b[1:]
		} else {
			out, a = append(out, a[0]), a[1:]
		}
	}
	return append(append(out, a...), b...)
}
