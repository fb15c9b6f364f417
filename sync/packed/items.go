package packed

import (
	"encoding/binary"
	"math"
	"unicode/utf8"
)

// Items reads the elements of an array whose form is known, many times faster than a
// general decoder, which finds out by reflection. It knows only what a writer of this
// version makes. Whatever else it meets, it is bad, and a general decoder is to be asked:
// only that decides what is refused.
type Items struct {
	Bad  bool
	data []byte
	at   int
}

// ReadItems begins to read at the front of some bytes.
func ReadItems(data []byte) Items { return Items{data: data} }

// Rest is what follows what was read.
func (r *Items) Rest() []byte { return r.data[r.at:] }

// End reports whether all was read.
func (r *Items) End() bool { return r.at == len(r.data) }

// head reads an element's type and argument (RFC 8949, section 3).
func (r *Items) head(major byte) uint64 {
	if r.at >= len(r.data) || r.data[r.at]>>5 != major {
		r.Bad = true
		return 0
	}
	info := r.data[r.at] & 31
	r.at++
	if info < 24 {
		return uint64(info)
	}
	size := 1 << (info - 24)
	if info > 27 || len(r.data)-r.at < size {
		r.Bad = true
		return 0
	}
	r.at += size
	var wide [8]byte
	copy(wide[8-size:], r.data[r.at-size:r.at])
	return binary.BigEndian.Uint64(wide[:])
}

// Array reads the head of an array of so many elements.
func (r *Items) Array(n uint64) { r.Bad = r.head(4) != n || r.Bad }

// Uint is a number of at most so much.
func (r *Items) Uint(most uint64) uint64 {
	v := r.head(0)
	r.Bad = r.Bad || v > most
	return v
}

// Int is a number that may be below zero.
func (r *Items) Int() int64 {
	if r.at < len(r.data) && r.data[r.at]>>5 == 1 {
		v := r.head(1)
		r.Bad = r.Bad || v > math.MaxInt64
		return ^int64(v)
	}
	return int64(r.Uint(math.MaxInt64))
}

// Bytes shows the bytes of a byte string, which must not be changed.
func (r *Items) Bytes() []byte { return r.string(2) }

// Text is a text.
func (r *Items) Text() string {
	b := r.string(3)
	r.Bad = r.Bad || !utf8.Valid(b)
	return string(b)
}

func (r *Items) string(major byte) []byte {
	n := r.head(major)
	if r.Bad || n > uint64(len(r.data)-r.at) {
		r.Bad = true
		return nil
	}
	r.at += int(n)
	return r.data[r.at-int(n) : r.at : r.at]
}

// Bool is a truth value, in the one byte that it has: its argument may be written longer,
// and is none then.
func (r *Items) Bool() bool {
	if r.at >= len(r.data) || r.data[r.at]&^1 != 0xf4 {
		r.Bad = true
		return false
	}
	r.at++
	return r.data[r.at-1] == 0xf5
}

// List says how many elements follow, at most so many.
func (r *Items) List(most uint64) int {
	n := r.head(4)
	if r.Bad || n > most || n > uint64(len(r.data)-r.at) { // each is a byte at least
		r.Bad = true
		return 0
	}
	return int(n)
}

// Scalar shows the bytes of a number, a text, a byte string or a truth value.
func (r *Items) Scalar() []byte {
	from := r.at
	if r.at >= len(r.data) {
		r.Bad = true
		return nil
	}
	switch r.data[r.at] >> 5 {
	case 0:
		r.Uint(math.MaxUint64)
	case 1:
		r.Int()
	case 2:
		r.Bytes()
	case 3:
		r.Text()
	default:
		r.Bool()
	}
	return r.data[from:r.at:r.at]
}
