package wire

import (
	"leafturn/model"
	"leafturn/sync/oplog"
)

// Stub is the beginning of a hash: enough to tell two histories of a log apart when
// their owners meet by accident. Who writes on from a hash names all of it, so
// nothing rests on a stub but that a fork is noticed before anything is sent.
type Stub [8]byte

// StubOf is the stub of a hash.
func StubOf(h oplog.Hash) Stub { return Stub(h[:len(Stub{})]) }

// stubs gives those of the logs in Have, in the same order, one that is not known as
// zeros; nil if none is known.
func (m *Message) stubs() []byte {
	if len(m.Stubs) == 0 {
		return nil
	}
	var out []byte
	for _, d := range m.Have.Devices() {
		stub := m.Stubs[d]
		out = append(out, stub[:]...)
	}
	return out
}

// readStubs takes in stubs, and reports whether they fit the logs.
func (m *Message) readStubs(w *message) bool {
	if len(w.Stubs) == 0 {
		return true
	}
	if len(w.Stubs) != len(w.Have)*len(Stub{}) {
		return false
	}
	m.Stubs = make(map[model.DeviceID]Stub, len(w.Have))
	for i, h := range w.Have {
		if stub := Stub(w.Stubs[i*len(Stub{}):]); stub != (Stub{}) {
			m.Stubs[model.DeviceID(h.Device)] = stub
		}
	}
	return true
}

// Epoch names what a store remembers. A store is given one when it is made, at
// random. When it turns out that a store was put back to an earlier state, it gets
// another Age: what it had said before is not known to it any more.
type Epoch struct {
	_     struct{} `cbor:",toarray"`
	Store uint32   // the same for ever, also in a copy of the store
	Age   uint32
}

// IsZero reports whether it is that of no store.
func (e Epoch) IsZero() bool { return e == Epoch{} }
