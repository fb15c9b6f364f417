package oplog

import (
	"encoding/binary"
	"math"
	"unicode/utf8"
)

// items reads the elements of an array whose form is known, many times faster than the
// general decoder, which finds out by reflection. It knows only what a writer of this
// version makes. Whatever else it meets, it is bad, and the general decoder is asked:
// only that decides what is refused.
type items struct {
	data []byte
	at   int
	bad  bool
}

// shaped are the forms that items reads: those of the operations of which a household
// has thousands.
type shaped interface{ shape(r *items) }

// head reads an element's type and argument (RFC 8949, section 3).
func (r *items) head(major byte) uint64 {
	if r.at >= len(r.data) || r.data[r.at]>>5 != major {
		r.bad = true
		return 0
	}
	info := r.data[r.at] & 31
	r.at++
	if info < 24 {
		return uint64(info)
	}
	size := 1 << (info - 24)
	if info > 27 || len(r.data)-r.at < size {
		r.bad = true
		return 0
	}
	r.at += size
	var wide [8]byte
	copy(wide[8-size:], r.data[r.at-size:r.at])
	return binary.BigEndian.Uint64(wide[:])
}

// array says that so many elements follow.
func (r *items) array(n uint64) { r.bad = r.head(4) != n || r.bad }

// uint is a number of at most so much.
func (r *items) uint(most uint64) uint64 {
	v := r.head(0)
	r.bad = r.bad || v > most
	return v
}

// int is a number that may be below zero.
func (r *items) int() int64 {
	if r.at < len(r.data) && r.data[r.at]>>5 == 1 {
		v := r.head(1)
		r.bad = r.bad || v > math.MaxInt64
		return ^int64(v)
	}
	return int64(r.uint(math.MaxInt64))
}

// bytes shows a string's bytes.
func (r *items) bytes(major byte) []byte {
	n := r.head(major)
	if r.bad || n > uint64(len(r.data)-r.at) {
		r.bad = true
		return nil
	}
	r.at += int(n)
	return r.data[r.at-int(n) : r.at : r.at]
}

func (r *items) text() string {
	b := r.bytes(3)
	r.bad = r.bad || !utf8.Valid(b)
	return string(b)
}

func (r *items) bool() bool {
	v := r.head(7)
	r.bad = r.bad || v != 20 && v != 21
	return v == 21
}

// uints is a list of numbers of at most so much.
func (r *items) uints(most uint64) []uint64 {
	n := r.head(4)
	if r.bad || n > MaxBatchOps || n > uint64(len(r.data)-r.at) {
		r.bad = true
		return nil
	}
	out := make([]uint64, n)
	for i := range out {
		out[i] = r.uint(most)
	}
	return out
}

// kind is the first element; millis and counter follow it in most operations.
func (r *items) kind() uint8 { return uint8(r.uint(math.MaxUint8)) }

func (r *items) counter() uint16 { return uint16(r.uint(math.MaxUint16)) }

func (r *items) index() uint64 { return r.uint(math.MaxUint64) }

func (r *items) task() taskW {
	r.array(3)
	return taskW{Rule: uint8(r.uint(math.MaxUint8)), Subject: r.index(), Ordinal: uint32(r.uint(math.MaxUint32))}
}

func (w *inspectW) shape(r *items) {
	r.array(4)
	w.Kind, w.Numbers, w.Photos, w.Note = r.kind(), r.bytes(2), r.bytes(2), r.text()
}

func (w *applyW) shape(r *items) {
	r.array(12)
	w.Kind, w.Millis, w.Counter, w.At, w.By = r.kind(), r.index(), r.counter(), r.int(), r.index()
	w.Plants, w.Product, w.Outbreak, w.AmountMl = r.uints(math.MaxUint64), r.index(), r.index(), uint32(r.uint(math.MaxUint32))
	for _, p := range r.uints(math.MaxUint16) {
		w.Parts = append(w.Parts, uint16(p))
	}
	w.Note, w.Completes = r.text(), r.task()
}

func (w *handleW) shape(r *items) {
	r.array(10)
	w.Kind, w.Millis, w.Counter, w.At, w.By = r.kind(), r.index(), r.counter(), r.int(), r.index()
	w.What, w.Plants, w.Place, w.Note, w.Completes = uint8(r.uint(math.MaxUint8)), r.uints(math.MaxUint64), r.index(), r.text(), r.task()
}

func (w *taskFactW) shape(r *items) {
	r.array(8)
	w.Kind, w.Millis, w.Counter, w.At, w.By = r.kind(), r.index(), r.counter(), r.int(), r.index()
	w.Task, w.Value, w.Reason = r.task(), r.int(), uint8(r.uint(math.MaxUint8))
}

func (w *tempW) shape(r *items) {
	r.array(8)
	w.Kind, w.Millis, w.Counter, w.At, w.By, w.Place = r.kind(), r.index(), r.counter(), r.int(), r.index(), r.index()
	w.Coldest, w.Warmest = r.int32(), r.int32()
}

func (w *cardW) shape(r *items) {
	r.array(14)
	w.Kind, w.Millis, w.Counter, w.At, w.By, w.Place = r.kind(), r.index(), r.counter(), r.int(), r.index(), r.index()
	w.Colour, w.Pest, w.Count, w.Counted = uint8(r.uint(math.MaxUint8)), uint8(r.uint(math.MaxUint8)), uint32(r.uint(math.MaxUint32)), r.int32()
	w.Photo, w.Replaced, w.Note, w.Completes = r.bytes(2), r.bool(), r.text(), r.task()
}

func (r *items) int32() int32 {
	v := r.int()
	r.bad = r.bad || int64(int32(v)) != v
	return int32(v)
}
