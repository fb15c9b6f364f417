package oplog

import (
	"encoding/binary"
	"fmt"
	"math"

	"leafturn/model"
	"leafturn/sync/hlc"
)

// SavedFacts is the facts of one log as a snapshot keeps them, under the names of
// that log. Inspections, which are nearly all, lie packed one after the other, their
// photos and notes apart; other facts are operations with a whole stamp.
type SavedFacts struct {
	_      struct{} `cbor:",toarray"`
	Looks  view     // see saveLook
	Photos view     // 32 bytes each
	Notes  string
	Seqs   []uint64 // numbers of the other facts
	Others view     // a CBOR sequence (RFC 8742)
}

// SaveFacts gives the lasting form of a log's facts, which must be in order.
func (t *Tail) SaveFacts(facts []*model.Fact) (SavedFacts, error) {
	t.indexNames()
	known := len(t.ids)
	e := newEncoder(t.Clone(), 0, 0)
	defer e.free()
	var s SavedFacts
	var notes []byte
	var last model.Fact
	for _, f := range facts {
		if look, ok := f.Body.(*model.Inspection); ok {
			s.Looks = e.saveLook(s.Looks, &last, f, look)
			for i := range look.Photos {
				s.Photos = append(s.Photos, look.Photos[i][:]...)
			}
			notes, last = append(notes, look.Note...), *f
			continue
		}
		e.millis, e.counter = uint64(hlc.Stamp(f.Stamp).Millis()), hlc.Stamp(f.Stamp).Counter()
		op, err := e.encode(hlc.Stamp(f.Stamp), f)
		if err != nil {
			return s, fmt.Errorf("save fact %d: %w", f.ID.Seq, err)
		}
		s.Seqs, s.Others = append(s.Seqs, f.ID.Seq), append(s.Others, op...)
	}
	if len(e.t.ids) != known {
		return s, fmt.Errorf("save facts: the log does not name all their ids")
	}
	s.Notes = string(notes)
	return s, nil
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
	others := make([]*model.Fact, 0, min(len(s.Seqs), len(s.Others)))
	data := s.Others
	for _, seq := range s.Seqs {
		at.head.Seq, at.stamp = seq-1, 0
		op, rest, err := d.decode(data)
		if err != nil {
			return nil, fmt.Errorf("restore fact %d: %w", seq, err)
		}
		f, ok := op.Body.(*model.Fact)
		if !ok {
			return nil, ErrDamaged
		}
		others, data = append(others, f), rest
	}
	if len(data) > 0 {
		return nil, ErrDamaged
	}
	return Interleave(looks, others, func(a, b *model.Fact) bool { return a.ID.Seq < b.ID.Seq }), nil
}

func (d *decoder) restoreLooks(s SavedFacts) ([]*model.Fact, error) {
	r := looksReader{d: d, numbers: numbers{data: s.Looks}, photos: d.photos(s.Photos), notes: s.Notes}
	room := len(s.Looks) / usualLook
	out := make([]*model.Fact, 0, room)
	if room > pieces { // one piece for all of them, as they stay together
		d.facts, d.looks, d.findings = make([]model.Fact, room), make([]model.Inspection, room), make([]model.Finding, room)
	}
	for !r.numbers.end() && d.err == nil {
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
	numbers numbers
	photos  []model.PhotoSum
	notes   string
}

// next reads one inspection. What is wrong with it, the decoder remembers.
func (r *looksReader) next() *model.Fact {
	d, n := r.d, &r.numbers
	seq := d.t.head.Seq + n.next(math.MaxUint32)
	look := &cut(&d.looks, 1)[0]
	h := d.unpack(n, look)
	photos, note := n.next(uint64(len(r.photos))), n.next(uint64(len(r.notes)))
	if n.bad {
		d.fail(ErrDamaged)
		return nil
	}
	if photos > 0 {
		look.Photos, r.photos = r.photos[:photos:photos], r.photos[photos:]
	}
	look.Note, r.notes = r.notes[:note], r.notes[note:]
	if err := look.Validate(); err != nil {
		d.fail(err)
	}
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
