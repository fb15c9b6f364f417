package oplog

import (
	"encoding/binary"
	"math"

	"leafturn/model"
	"leafturn/sync/packed"
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
	more := byte(0)
	if look.Looked != 0 || look.Absent != 0 || look.Aid != 0 || look.Growing {
		more |= moreSeen
	}
	if !look.Round.IsZero() || !look.Completes.IsZero() {
		more |= moreTasks
	}
	out = append(out, more)
	if more&moreSeen != 0 {
		out = binary.AppendUvarint(out, uint64(look.Looked))
		out = binary.AppendUvarint(out, uint64(look.Absent))
		out = append(out, byte(look.Aid), 0)
		if look.Growing {
			out[len(out)-1] = 1
		}
	}
	if more&moreTasks != 0 {
		out = e.packTask(e.packTask(out, look.Round), look.Completes)
	}
	return out
}

// What follows the findings of a look, one bit each: most looks have neither.
const (
	moreSeen  = 1 // what was looked at and for
	moreTasks = 2 // the tasks it belongs to
)

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

// header is the numbers that every fact has.
type header struct {
	millis  uint64
	counter uint16
	at      int64
	by      uint64
}

// unpack reads what pack wrote.
func (d *decoder) unpack(n *packed.Numbers, look *model.Inspection) header {
	var v [7]uint64
	n.Fill(v[:])
	h := header{millis: v[0], counter: uint16(v[1]), at: packed.Signed(v[2]), by: v[3]}
	look.Plant, look.Damage = model.PlantID(d.id(v[4])), uint8(v[5])
	n.Bad = n.Bad || v[1] > math.MaxUint16 || v[5] > math.MaxUint8 || v[6] > math.MaxInt8
	if n.Bad {
		d.fail(ErrDamaged)
		return h
	}
	if count := int(v[6]); count > 0 {
		look.Findings = cut(&d.findings, count)
		for i := range look.Findings {
			unpackFinding(n, &look.Findings[i])
		}
	}
	more := n.Next(moreSeen | moreTasks)
	if more&moreSeen != 0 {
		look.Looked, look.Absent = model.PartSet(n.Next(math.MaxUint16)), model.Signs(n.Next(math.MaxUint32))
		look.Aid, look.Growing = model.Aid(n.Next(math.MaxUint8)), n.Next(1) == 1
		n.Bad = n.Bad || look.Looked == 0 && look.Absent == 0 && look.Aid == 0 && !look.Growing // would have been left out
	}
	if more&moreTasks != 0 {
		look.Round, look.Completes = d.unpackTask(n), d.unpackTask(n)
	}
	if n.Bad {
		d.fail(ErrDamaged)
	}
	return h
}

func unpackFinding(n *packed.Numbers, f *model.Finding) {
	var v [2 + len(f.Counts)]uint64
	n.Fill(v[:])
	n.Bad = n.Bad || v[0] > math.MaxUint8 || v[1] > math.MaxUint32
	f.Part, f.Signs = model.Part(v[0]), model.Signs(v[1])
	for i, count := range v[2:] {
		n.Bad = n.Bad || count > math.MaxUint16
		f.Counts[i] = uint16(count)
	}
}

func (d *decoder) unpackTask(n *packed.Numbers) model.TaskKey {
	return model.TaskKey{Rule: model.Rule(n.Next(math.MaxUint8)), Subject: d.id(n.Next(math.MaxUint32)), Ordinal: uint32(n.Next(math.MaxUint32))}
}

func (d *decoder) inspection(data []byte, op *Op) ([]byte, error) {
	d.look = inspectW{} // a null in hostile bytes would leave an old value standing
	w := &d.look
	rest, err := read(d, data, w)
	if err != nil {
		return nil, err
	}
	n := packed.Read(w.Numbers)
	look := &cut(&d.looks, 1)[0]
	h := d.unpack(&n, look)
	if !n.End() {
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
