package oplog

import (
	"bytes"
	"compress/flate"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io"
	"sync"

	"leafturn/model"
)

// Limits of one batch. A reader refuses more, whatever the header says.
const (
	MaxBatchOps   = 4096
	MaxBatchBytes = 1 << 20 // of operations, unpacked
)

// Hash is a link of the chain.
type Hash = [sha256.Size]byte

// Head says how far a log goes: the number of its last operation and the hash
// after it. The zero Seq is the head of an empty log.
type Head struct {
	Seq  uint64
	Hash Hash
}

// Batch is a signed run of one device's operations.
type Batch struct {
	Device model.DeviceID
	First  uint64 // number of its first operation, from 1
	Count  int
	Prev   Hash   // hash before the first operation
	Ops    []byte // the operations, a CBOR sequence (RFC 8742), unpacked
	Sig    []byte // Ed25519, over the head after the last operation

	wire []byte // as it was sealed or arrived, so that nobody packs it twice
}

// Last is the number of the batch's last operation.
func (b *Batch) Last() uint64 { return b.First + uint64(b.Count) - 1 }

// origin is the hash before a log's first operation. It binds the log to its
// household and device, so no batch can be replayed into another log.
func origin(h model.HouseholdID, d model.DeviceID) Hash {
	var buf [64]byte
	b := append(buf[:0], "leafturn log v1\n"...)
	b = append(b, h[:]...)
	b = append(b, d[:]...)
	return sha256.Sum256(b)
}

// link is the hash after an operation.
func link(prev Hash, op []byte) Hash {
	var buf [512]byte
	b := append(buf[:0], prev[:]...)
	return sha256.Sum256(append(b, op...))
}

func signedBytes(h model.HouseholdID, d model.DeviceID, head Head) []byte {
	b := append(make([]byte, 0, 96), "leafturn batch v1\n"...)
	b = append(b, h[:]...)
	b = append(b, d[:]...)
	b = binary.BigEndian.AppendUint64(b, head.Seq)
	return append(b, head.Hash[:]...)
}

func sign(key ed25519.PrivateKey, h model.HouseholdID, d model.DeviceID, head Head) []byte {
	return ed25519.Sign(key, signedBytes(h, d, head))
}

func verify(key ed25519.PublicKey, h model.HouseholdID, d model.DeviceID, head Head, sig []byte) error {
	if len(key) != ed25519.PublicKeySize || !ed25519.Verify(key, signedBytes(h, d, head), sig) {
		return ErrSignature
	}
	return nil
}

// batchVersion is the version of the batch format. A reader refuses others.
const batchVersion = 1

// How a batch's operations are packed. Do not reorder.
const (
	packedNot     = 0
	packedDeflate = 1 // RFC 1951
)

type batchWire struct {
	_       struct{} `cbor:",toarray"`
	Version uint64
	Device  view
	First   uint64
	Count   uint64
	Prev    view
	Packing uint8
	Size    uint64 // of the unpacked operations
	Ops     view
	Sig     view
}

// Encode gives the bytes that travel and rest. Equal batches have equal bytes
// within one build of Go, but identity rests on the chain and never on these. A
// batch that was sealed or decoded keeps its bytes, so it must not be changed, and
// neither must they.
func (b *Batch) Encode() []byte {
	if b.wire != nil {
		return b.wire
	}
	packing, ops := pack(b.Ops)
	return mustEncode(batchWire{
		Version: batchVersion, Device: b.Device[:], First: b.First, Count: uint64(b.Count), Prev: b.Prev[:],
		Packing: packing, Size: uint64(len(b.Ops)), Ops: ops, Sig: b.Sig,
	})
}

// DecodeBatch reads the bytes of a batch. It checks their form and limits; only
// Tail.Read checks chain and signature.
func DecodeBatch(data []byte) (*Batch, error) {
	if len(data) > MaxBatchBytes+1024 {
		return nil, ErrTooBig
	}
	if err := checkVersion(data); err != nil {
		return nil, err
	}
	data = bytes.Clone(data) // the batch keeps its bytes and parts of them
	var w batchWire
	if err := decMode.Unmarshal(data, &w); err != nil {
		return nil, ErrDamaged.Because(err)
	}
	b := &Batch{First: w.First, Count: int(w.Count), Sig: w.Sig, wire: data}
	switch {
	case w.Size > MaxBatchBytes || w.Count > MaxBatchOps:
		return nil, ErrTooBig
	case len(w.Device) != 16 || len(w.Prev) != sha256.Size || len(w.Sig) != ed25519.SignatureSize:
		return nil, ErrDamaged
	case w.First == 0 || w.Count == 0 || w.First > 1<<52:
		return nil, ErrDamaged
	}
	b.Device, b.Prev = model.DeviceID(w.Device), Hash(w.Prev)
	var err error
	if b.Ops, err = unpack(w.Packing, w.Ops, int(w.Size)); err != nil {
		return nil, err
	}
	return b, nil
}

// checkVersion looks at the version before anything else, because the rest of a
// newer format cannot be read. A CBOR array of up to 23 elements is followed by
// its first element.
func checkVersion(data []byte) error {
	if len(data) < 2 || data[0]>>5 != 4 {
		return ErrDamaged
	}
	var v uint64
	if _, err := decMode.UnmarshalFirst(data[1:], &v); err != nil {
		return ErrDamaged.Because(err)
	}
	if v != batchVersion {
		return ErrVersion.Because(fmt.Errorf("batch version %d", v))
	}
	return nil
}

// packLevel was chosen by measuring: on the workload of package sync/workload the
// default level saves 3 % more bytes and takes two and a half times as long.
const packLevel = 4

var deflaters = sync.Pool{New: func() any {
	w, _ := flate.NewWriter(nil, packLevel) // the level is valid
	return w
}}

// pack compresses operations where that saves bytes.
func pack(ops []byte) (uint8, []byte) {
	if len(ops) < 64 {
		return packedNot, ops
	}
	var out bytes.Buffer
	out.Grow(len(ops) / 2)
	w := deflaters.Get().(*flate.Writer)
	defer deflaters.Put(w)
	w.Reset(&out)
	// A bytes.Buffer never fails.
	_, _ = w.Write(ops)
	_ = w.Close()
	if out.Len() >= len(ops) {
		return packedNot, ops
	}
	return packedDeflate, out.Bytes()
}

var inflaters = sync.Pool{New: func() any { return flate.NewReader(bytes.NewReader(nil)) }}

// unpack never makes more than size bytes, whatever the packed bytes claim.
func unpack(packing uint8, packed []byte, size int) ([]byte, error) {
	switch packing {
	case packedNot:
		if len(packed) != size {
			return nil, ErrDamaged
		}
		return packed, nil
	case packedDeflate:
		r := inflaters.Get().(io.ReadCloser)
		defer inflaters.Put(r)
		if err := r.(flate.Resetter).Reset(bytes.NewReader(packed), nil); err != nil {
			return nil, ErrDamaged.Because(err)
		}
		ops := make([]byte, size)
		if _, err := io.ReadFull(r, ops); err != nil {
			return nil, ErrDamaged.Because(err)
		}
		if n, _ := io.ReadFull(r, make([]byte, 1)); n != 0 {
			return nil, ErrDamaged
		}
		return ops, nil
	}
	return nil, ErrVersion
}
