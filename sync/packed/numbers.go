// Package packed reads, fast, what was written in a form that the reader knows: numbers
// one after the other, and arrays of CBOR. It is for what households have by the hundred
// thousand.
package packed

import (
	"encoding/binary"
	"math"
)

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

// Signed is the next number, which may be below zero.
func (n *Numbers) Signed() int64 {
	v := n.Next(math.MaxUint64)
	if v&1 != 0 {
		return ^int64(v >> 1)
	}
	return int64(v >> 1)
}

func (n *Numbers) spoil() { n.Bad, n.at = true, len(n.data) }

// End reports whether all was read.
func (n *Numbers) End() bool { return n.at == len(n.data) }
