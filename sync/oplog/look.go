package oplog

import (
	"encoding/binary"
	"math"

	"leafturn/model"
)

// Inspections are what households write most, by far. So all numbers of one are
// packed into a byte string as varints (those of encoding/binary), which takes less
// room and far less time than an array element each.

// pack packs the numbers of an inspection: those that every fact has, then the
// plant, the damage, the findings after their number, and the tasks after theirs.
func (e *encoder) pack(out []byte, look *model.Inspection, at int64, by uint64) []byte {
	out = binary.AppendUvarint(out, e.millis)
	out = binary.AppendUvarint(out, uint64(e.counter))
	out = binary.AppendVarint(out, at)
	out = binary.AppendUvarint(out, by)
	out = binary.AppendUvarint(out, e.name(look.Plant))
	out = append(out, look.Damage, byte(len(look.Findings)))
	for _, f := range look.Findings {
		out = append(out, byte(f.Part))
		out = binary.AppendUvarint(out, uint64(f.Signs))
		for _, n := range f.Counts {
			out = binary.AppendUvarint(out, uint64(n))
		}
	}
	if look.Round.IsZero() && look.Completes.IsZero() {
		return append(out, 0)
	}
	return e.packTask(e.packTask(append(out, 2), look.Round), look.Completes)
}

func (e *encoder) packTask(out []byte, k model.TaskKey) []byte {
	out = append(out, byte(k.Rule))
	out = binary.AppendUvarint(out, e.name(k.Subject))
	return binary.AppendUvarint(out, uint64(k.Ordinal))
}

func (e *encoder) inspection(look *model.Inspection, at int64, by uint64) *inspectW {
	e.numbers = e.pack(e.numbers[:0], look, at, by)
	e.look = inspectW{Kind: kindInspect, Numbers: e.numbers, Note: look.Note}
	for i := range look.Photos {
		e.look.Photos = append(e.look.Photos, look.Photos[i][:]...)
	}
	return &e.look
}

// numbers reads packed varints.
type numbers struct {
	data []byte
	at   int
	bad  bool
}

// next is the next number, at most so much.
func (n *numbers) next(most uint64) uint64 {
	if n.at < len(n.data) && n.data[n.at] < 0x80 && uint64(n.data[n.at]) <= most { // nearly all are small
		n.at++
		return uint64(n.data[n.at-1])
	}
	v, size := binary.Uvarint(n.data[n.at:])
	if size <= 0 || v > most {
		n.bad, n.at = true, len(n.data)
		return 0
	}
	n.at += size
	return v
}

// signed is the next number, which may be below zero.
func (n *numbers) signed() int64 {
	v, size := binary.Varint(n.data[n.at:])
	if size <= 0 {
		n.bad, n.at = true, len(n.data)
		return 0
	}
	n.at += size
	return v
}

func (n *numbers) end() bool { return n.at == len(n.data) }

// header is the numbers that every fact has.
type header struct {
	millis  uint64
	counter uint16
	at      int64
	by      uint64
}

// unpack reads what pack wrote.
func (d *decoder) unpack(n *numbers, look *model.Inspection) header {
	h := header{millis: n.next(math.MaxUint64), counter: uint16(n.next(math.MaxUint16)), at: n.signed(), by: n.next(math.MaxUint32)}
	look.Plant, look.Damage = model.PlantID(d.id(n.next(math.MaxUint32))), uint8(n.next(math.MaxUint8))
	if count := n.next(math.MaxInt8); count > 0 {
		look.Findings = cut(&d.findings, int(count))
		for i := range look.Findings {
			unpackFinding(n, &look.Findings[i])
		}
	}
	switch n.next(2) {
	case 0:
	case 2:
		look.Round, look.Completes = d.unpackTask(n), d.unpackTask(n)
	default:
		n.bad = true
	}
	if n.bad {
		d.fail(ErrDamaged)
	}
	return h
}

func unpackFinding(n *numbers, f *model.Finding) {
	f.Part, f.Signs = model.Part(n.next(math.MaxUint8)), model.Signs(n.next(math.MaxUint32))
	for i := range f.Counts {
		f.Counts[i] = uint16(n.next(math.MaxUint16))
	}
}

func (d *decoder) unpackTask(n *numbers) model.TaskKey {
	return model.TaskKey{Rule: model.Rule(n.next(math.MaxUint8)), Subject: d.id(n.next(math.MaxUint32)), Ordinal: uint32(n.next(math.MaxUint32))}
}

func (d *decoder) inspection(data []byte, op *Op) ([]byte, error) {
	d.look = inspectW{} // a null in hostile bytes would leave an old value standing
	w := &d.look
	rest, err := read(data, w)
	if err != nil {
		return nil, err
	}
	n := numbers{data: w.Numbers}
	look := &cut(&d.looks, 1)[0]
	h := d.unpack(&n, look)
	if !n.end() {
		return nil, ErrDamaged
	}
	look.Note = w.Note
	look.Photos = d.photos(w.Photos)
	d.fact(op, h.millis, h.counter, h.at, h.by, look)
	return rest, nil
}

func (d *decoder) photos(packed []byte) []model.PhotoSum {
	const size = len(model.PhotoSum{})
	if len(packed)%size != 0 {
		d.fail(ErrDamaged)
	}
	if len(packed) < size {
		return nil
	}
	out := make([]model.PhotoSum, len(packed)/size)
	for i := range out {
		out[i] = model.PhotoSum(packed[i*size:])
	}
	return out
}
