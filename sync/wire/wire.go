// Package wire defines the message that two replicas pass to and fro, and its
// bytes. What to say and when is package exchange's business.
//
// A message is a CBOR map with small integers as keys. A reader ignores keys it
// does not know, so a newer writer may add some; it refuses a message whose version
// is above its own, because then the meaning of known keys may have changed.
package wire

import (
	"errors"
	"fmt"

	"github.com/fxamacker/cbor/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
)

// Version is the version of the message format written here.
//
// 1 (2026-11): first.
const Version = 1

// Limits of one message.
const (
	MaxMessageBytes = 1900 << 10 // below what a server takes as a body
	MaxBatches      = 4096
	maxDevices      = 1024

	// maxUnpacked is how many bytes of operations the batches of one message may
	// hold when they are unpacked. Real ones pack to a quarter; a kilobyte of a
	// hostile one can unpack to a megabyte, and a message has room for thousands.
	maxUnpacked = 16 << 20
)

// Returned when bytes cannot be read as a message.
var (
	ErrDamaged = fault.New("message_damaged", "The message arrived damaged. Nothing was lost; it will be sent again.")
	ErrVersion = fault.New("message_version_unknown", "The other side speaks a newer form of Leafturn. Update this one; everything here stays safe.")
)

// Message is all that replicas ever say to each other: how far I know each log,
// some batches you may lack, and what I could not take of yours.
type Message struct {
	Household model.HouseholdID
	Have      oplog.Vector
	// Stubs are of the hashes after what the sender has of each log. They are left
	// out by who does not know them.
	Stubs   map[model.DeviceID]Stub
	Batches []*oplog.Batch
	Refused []Refused
	// Now is the sender's time when it answered, Unix milliseconds, 0 from a
	// phone: servers tell it so that phones can correct their clocks.
	Now int64
	// More says that the sender holds further batches that did not fit.
	More bool
	// Epoch is that of the sender's store in what a server says, zero from one that
	// has none. A phone says the epoch under which the server had acknowledged more
	// than it has now.
	Epoch Epoch
}

// Refused names a batch that was not taken in, and why.
type Refused struct {
	Device model.DeviceID
	First  uint64
	Code   fault.Code
	Words  string
}

type message struct {
	Version   uint64       `cbor:"1,keyasint"`
	Household []byte       `cbor:"2,keyasint"`
	Have      []have       `cbor:"3,keyasint"`
	Batches   [][]byte     `cbor:"4,keyasint,omitempty"`
	Refused   []refusedOne `cbor:"5,keyasint,omitempty"`
	Now       int64        `cbor:"6,keyasint,omitempty"`
	More      bool         `cbor:"7,keyasint,omitempty"`
	Stubs     []byte       `cbor:"9,keyasint,omitempty"` // 8 was never used: see the golden files
	Epoch     *Epoch       `cbor:"10,keyasint,omitempty"`
}

type have struct {
	_      struct{} `cbor:",toarray"`
	Device []byte
	Seq    uint64
}

type refusedOne struct {
	_      struct{} `cbor:",toarray"`
	Device []byte
	First  uint64
	Code   string
	Words  string
}

var encMode = func() cbor.EncMode {
	m, err := cbor.CoreDetEncOptions().EncMode()
	if err != nil {
		panic(err) // the options are constant
	}
	return m
}()

var decMode = func() cbor.DecMode {
	m, err := cbor.DecOptions{
		DupMapKey: cbor.DupMapKeyEnforcedAPF, IndefLength: cbor.IndefLengthForbidden, TagsMd: cbor.TagsForbidden,
		MaxNestedLevels: 6, MaxArrayElements: MaxBatches, MaxMapPairs: 64, UTF8: cbor.UTF8RejectInvalid,
	}.DecMode()
	if err != nil {
		panic(err)
	}
	return m
}()

// Encode gives the message's bytes.
func (m *Message) Encode() ([]byte, error) {
	w := message{Version: Version, Household: m.Household[:], Now: m.Now, More: m.More, Have: []have{}}
	for _, d := range m.Have.Devices() {
		w.Have = append(w.Have, have{Device: d[:], Seq: m.Have[d]})
	}
	for _, b := range m.Batches {
		w.Batches = append(w.Batches, b.Encode())
	}
	if w.Stubs = m.stubs(); !m.Epoch.IsZero() {
		w.Epoch = &m.Epoch
	}
	for _, r := range m.Refused {
		w.Refused = append(w.Refused, refusedOne{Device: r.Device[:], First: r.First, Code: string(r.Code), Words: r.Words})
	}
	return encMode.Marshal(w)
}

// BadBatch is a batch of a message that could not be read. Device and First say
// which one it is, and are zero where even they could not be read.
type BadBatch struct {
	Device model.DeviceID
	First  uint64
	Err    error // carries a fault
}

// Error says what could not be read.
func (b *BadBatch) Error() string {
	return fmt.Sprintf("batch %d of %s: %v", b.First, b.Device, b.Err)
}

// Unwrap gives why.
func (b *BadBatch) Unwrap() error { return b.Err }

// badBatch names a batch by its second and third element, which are its device and
// the number of its first operation, as far as anybody can tell.
func badBatch(data []byte, why error) *BadBatch {
	bad := &BadBatch{Err: why}
	var parts []cbor.RawMessage
	if err := decMode.Unmarshal(data, &parts); err != nil || len(parts) < 3 {
		return bad
	}
	var id []byte
	if err := decMode.Unmarshal(parts[1], &id); err != nil || len(id) != len(bad.Device) {
		return bad
	}
	bad.Device = model.DeviceID(id)
	if err := decMode.Unmarshal(parts[2], &bad.First); err != nil {
		bad.First = 0
	}
	return bad
}

// Decode reads a message. A batch that cannot be read is left out and named in
// bad, a *BadBatch each, so that one damaged batch does not hold up the others.
func Decode(data []byte) (m *Message, bad []error, err error) {
	if len(data) > MaxMessageBytes {
		return nil, nil, oplog.ErrTooBig
	}
	var v struct {
		Version uint64 `cbor:"1,keyasint"`
	}
	if err := decMode.Unmarshal(data, &v); err != nil {
		return nil, nil, ErrDamaged.Because(err)
	}
	if v.Version != Version {
		return nil, nil, ErrVersion.Because(fmt.Errorf("message version %d", v.Version))
	}
	var w message
	if err := decMode.Unmarshal(data, &w); err != nil {
		return nil, nil, ErrDamaged.Because(err)
	}
	m = &Message{Now: w.Now, More: w.More, Have: oplog.Vector{}}
	if w.Epoch != nil {
		m.Epoch = *w.Epoch
	}
	if len(w.Household) != 16 || len(w.Have) > maxDevices {
		return nil, nil, ErrDamaged
	}
	m.Household = model.HouseholdID(w.Household)
	for _, h := range w.Have {
		if len(h.Device) != 16 {
			return nil, nil, ErrDamaged
		}
		m.Have[model.DeviceID(h.Device)] = h.Seq
	}
	if len(m.Have) < len(w.Have) || !m.readStubs(&w) { // a device twice
		return nil, nil, ErrDamaged
	}
	for _, r := range w.Refused {
		if len(r.Device) != 16 {
			return nil, nil, ErrDamaged
		}
		m.Refused = append(m.Refused, Refused{Device: model.DeviceID(r.Device), First: r.First, Code: fault.Code(r.Code), Words: r.Words})
	}
	m.Batches, bad = decodeBatches(w.Batches)
	return m, bad, nil
}

func decodeBatches(all [][]byte) (batches []*oplog.Batch, bad []error) {
	room := maxUnpacked
	for _, data := range all {
		if room <= 0 {
			bad = append(bad, badBatch(data, oplog.ErrTooBig))
			continue
		}
		b, err := oplog.DecodeBatch(data)
		if errors.Is(err, oplog.ErrDamaged) {
			room -= oplog.MaxBatchBytes // it may have been unpacked in vain
		}
		if err != nil {
			bad = append(bad, badBatch(data, err))
			continue
		}
		room -= len(b.Ops)
		batches = append(batches, b)
	}
	return batches, bad
}
