package oplog

import (
	"github.com/fxamacker/cbor/v2"
)

// encMode is core deterministic CBOR (RFC 8949, section 4.2.1): equal values have
// equal bytes, which hashes and signatures rest on.
var encMode = func() cbor.EncMode {
	opts := cbor.CoreDetEncOptions()
	opts.NilContainers = cbor.NilContainerAsEmpty // no list and an empty one are equal
	m, err := opts.EncMode()
	if err != nil {
		panic(err) // the options are constant
	}
	return m
}()

// decMode bounds what hostile bytes can cost.
var decMode = func() cbor.DecMode {
	m, err := cbor.DecOptions{
		DupMapKey:        cbor.DupMapKeyEnforcedAPF,
		IndefLength:      cbor.IndefLengthForbidden,
		TagsMd:           cbor.TagsForbidden,
		MaxNestedLevels:  8,
		MaxArrayElements: MaxBatchOps,
		MaxMapPairs:      16,
		UTF8:             cbor.UTF8RejectInvalid,
	}.DecMode()
	if err != nil {
		panic(err)
	}
	return m
}()

func mustEncode(v any) []byte {
	b, err := encMode.Marshal(v)
	if err != nil {
		panic(err) // the wire types hold nothing that cannot be encoded
	}
	return b
}

// The wire forms of operations. Every long id is an index into the log's names,
// counted from 1; 0 is none. Every form begins with kind, milliseconds since the
// stamp before, and counter of the stamp.

type taskW struct {
	_       struct{} `cbor:",toarray"`
	Rule    uint8
	Subject uint64
	Ordinal uint32
}

type factIDW struct {
	_      struct{} `cbor:",toarray"`
	Device uint64
	Seq    uint64
}

type defineW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	IDs     []byte // sixteen bytes each
}

type fieldW struct {
	_     struct{} `cbor:",toarray"`
	Field uint8
	Sub   uint64
	Value cbor.RawMessage
	Over  factIDW
}

type setW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	Record  uint8
	ID      uint64
	Fields  []fieldW
}

// Facts go on with: milliseconds from the stamp's time to when it was seen or
// done, and the member who saw or did it.

// An inspection is what households write most, by far. So all its numbers are packed
// into one byte string, and its photos into another.
type inspectW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Numbers view // see encoder.pack
	Photos  view // 32 bytes each
	Note    string
}

// view is a byte string that is not copied when it is read: it shows the bytes that
// are being decoded, and is good for as long as these are.
type view []byte

// UnmarshalBinary looks at the bytes.
func (v *view) UnmarshalBinary(data []byte) error {
	*v = data
	return nil
}

type applyW struct {
	_         struct{} `cbor:",toarray"`
	Kind      uint8
	Millis    uint64
	Counter   uint16
	At        int64
	By        uint64
	Plants    []uint64
	Product   uint64
	Outbreak  uint64
	AmountMl  uint32
	Parts     []uint16
	Note      string
	Completes taskW
}

type handleW struct {
	_         struct{} `cbor:",toarray"`
	Kind      uint8
	Millis    uint64
	Counter   uint16
	At        int64
	By        uint64
	What      uint8
	Plants    []uint64
	Place     uint64
	Note      string
	Completes taskW
}

// taskFactW carries the facts about a task: claimed until a moment, put off until
// a day for a reason, completed, settled. Value and Reason are zero where unused.
type taskFactW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	At      int64
	By      uint64
	Task    taskW
	Value   int64
	Reason  uint8
}

type withdrawW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	At      int64
	By      uint64
	Fact    factIDW
	Note    string
}
