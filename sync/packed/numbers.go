// Package packed reads, fast, what was written in a form that the reader knows: numbers
// one after the other, and arrays of CBOR. It is for what households have by the hundred
// thousand.
package packed

import "encoding/binary"

// Numbers is a run of numbers that is being read, packed as varints by
// binary.AppendUvarint and AppendVarint. After something was wrong, Bad is
// true, the run is at its end and every number is 0.
type Numbers struct {
	Bad  bool
	data []byte
	at   int
}

// Read begins to read a run.
func Read(data []byte) Numbers { return Numbers{data: data} }

// Next is the next number, at most so much.
func (n *Numbers) Next(most uint64) uint64 {
	if n.at < len(n.data) && n.data[n.at] < 0x80 && uint64(n.data[n.at]) <= most { // nearly all are small
		n.at++
		return uint64(n.data[n.at-1])
	}
	v, size := binary.Uvarint(n.data[n.at:])
	if size <= 0 || v > most {
		n.spoil()
		return 0
	}
	n.at += size
	return v
}

// Fill reads as many numbers as there is room for: one call for several is what makes
// it quick.
func (n *Numbers) Fill(out []uint64) {
	data, at := n.data, n.at
	for i := range out {
		if at < len(data) && data[at] < 0x80 {
			out[i] = uint64(data[at])
			at++
			continue
		}
		v, size := binary.Uvarint(data[at:])
		if size <= 0 {
			n.spoil()
			clear(out)
			return
		}
		out[i] = v
		at += size
	}
	n.at = at
}

// Signed is what a number means that was written as one that may be below zero.
func Signed(v uint64) int64 {
	if v&1 != 0 {
		return ^int64(v >> 1)
	}
	return int64(v >> 1)
}

func (n *Numbers) spoil() { n.Bad, n.at = true, len(n.data) }

// End reports whether all was read.
func (n *Numbers) End() bool { return n.at == len(n.data) }
