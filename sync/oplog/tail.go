package oplog

import (
	"bytes"
	"crypto/ed25519"
	"fmt"
	"slices"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
)

// Tail is where one device's log stands: enough to write its next operation or to
// read the next batch. A Tail can be saved and restored, see SavedTail.
type Tail struct {
	household model.HouseholdID
	device    model.DeviceID
	head      Head
	stamp     hlc.Stamp // of the last operation
	ids       []uuid.UUID
	// index finds names. It is made when the log is first written to, and copies of
	// a tail share it: it holds all of ids, and perhaps names that a copy added and
	// gave up, so what it says is checked against ids.
	index map[uuid.UUID]uint64
}

// NewTail is the tail of an empty log.
func NewTail(h model.HouseholdID, d model.DeviceID) *Tail {
	return &Tail{household: h, device: d, head: Head{Hash: origin(h, d)}}
}

// SavedTail is a tail as it is kept in a snapshot.
type SavedTail struct {
	_      struct{} `cbor:",toarray"`
	Device model.DeviceID
	Seq    uint64
	Hash   Hash
	Stamp  uint64
	IDs    []uuid.UUID
}

// Save gives the tail's lasting form.
func (t *Tail) Save() SavedTail {
	return SavedTail{Device: t.device, Seq: t.head.Seq, Hash: t.head.Hash, Stamp: uint64(t.stamp), IDs: t.ids}
}

// RestoreTail makes the tail that was saved.
func RestoreTail(h model.HouseholdID, s SavedTail) *Tail {
	return &Tail{household: h, device: s.Device, head: Head{Seq: s.Seq, Hash: s.Hash}, stamp: hlc.Stamp(s.Stamp), ids: s.IDs}
}

// GoesOnFrom reports whether a tail can be what another became: it stands no earlier,
// has the names that the other has and, if it stands at the same place, all else.
func (t *Tail) GoesOnFrom(past *Tail) bool {
	if t.head.Seq < past.head.Seq || len(t.ids) < len(past.ids) || !slices.Equal(t.ids[:len(past.ids)], past.ids) {
		return false
	}
	return t.head.Seq > past.head.Seq || t.head == past.head && t.stamp == past.stamp && len(t.ids) == len(past.ids)
}

// Device is the device whose log it is.
func (t *Tail) Device() model.DeviceID { return t.device }

// Head says how far the log goes.
func (t *Tail) Head() Head { return t.head }

// Stamp is the stamp of the last operation.
func (t *Tail) Stamp() hlc.Stamp { return t.stamp }

// Clone is a copy that can go on by itself. Names are only ever added, so both may
// share those they have; capping the slice makes the first addition copy it. A
// tail and its copies must not be used concurrently.
func (t *Tail) Clone() *Tail {
	c := *t
	c.ids = t.ids[:len(t.ids):len(t.ids)]
	return &c
}

func (t *Tail) indexNames() {
	if t.index != nil {
		return
	}
	t.index = make(map[uuid.UUID]uint64, len(t.ids)+1)
	for i, known := range t.ids {
		t.index[known] = uint64(i + 1)
	}
}

// Write encodes an operation at the end of the log and moves the tail past it. It
// returns the bytes of what it wrote, a define operation first if the operation
// names ids that are new to the log.
func (t *Tail) Write(stamp hlc.Stamp, body any) ([][]byte, error) {
	data, _, err := t.WriteOps(stamp, body)
	return data, err
}

// WriteOps is Write, and gives the operations read back from their bytes: whoever
// folds these folds what every other replica will read. If it fails, the tail
// stays where it was.
func (t *Tail) WriteOps(stamp hlc.Stamp, body any) ([][]byte, []*Op, error) {
	before := *t
	data, err := t.encode(stamp, body)
	// The define operation adds the names again when it is read back.
	t.ids = t.ids[:len(before.ids)]
	var ops []*Op
	for i := 0; err == nil && i < len(data); i++ {
		var op *Op
		op, err = t.Replay(data[i])
		ops = append(ops, op)
	}
	if err != nil {
		*t = before
		return nil, nil, err
	}
	return data, ops, nil
}

// encode gives the bytes of an operation, and of the define operation before it
// if it needs one.
func (t *Tail) encode(stamp hlc.Stamp, body any) ([][]byte, error) {
	if stamp < t.stamp {
		return nil, fmt.Errorf("write op: stamp %d is before %d", stamp, t.stamp)
	}
	e := newEncoder(t, uint64(stamp.Millis()-t.stamp.Millis()), stamp.Counter())
	defer e.free()
	op, err := e.encode(stamp, body)
	if err != nil || len(e.fresh) == 0 {
		return [][]byte{op}, err
	}
	define := mustEncode(defineW{Kind: kindDefine, Millis: e.millis, Counter: e.counter, IDs: e.fresh})
	e.millis = 0 // the define operation took the time step
	op, err = e.encode(stamp, body)
	return [][]byte{define, op}, err
}

func (t *Tail) advance(op []byte, stamp hlc.Stamp) {
	t.head.Seq++
	t.head.Hash = link(t.head.Hash, op)
	t.stamp = stamp
}

// Replay moves the tail past operations that were written before, one at a time
// and in order, and returns the operation. It is how a phone takes up again what
// it had written but not yet signed.
func (t *Tail) Replay(op []byte) (*Op, error) {
	d := newDecoder(t)
	defer d.free()
	o, rest, err := d.decode(op)
	if err != nil {
		return nil, err
	}
	if len(rest) != 0 {
		return nil, ErrDamaged
	}
	t.advance(op, o.Stamp)
	return o, nil
}

// Seal signs the operations that begin after prev and end at the tail.
func (t *Tail) Seal(key ed25519.PrivateKey, prev Head, ops [][]byte) (*Batch, error) {
	b := &Batch{Device: t.device, First: prev.Seq + 1, Count: len(ops), Prev: prev.Hash, Ops: bytes.Join(ops, nil)}
	if len(ops) == 0 || len(ops) > MaxBatchOps || len(b.Ops) > MaxBatchBytes || b.Last() > t.head.Seq {
		return nil, ErrTooBig
	}
	head := prev
	for _, op := range ops {
		head = Head{Seq: head.Seq + 1, Hash: link(head.Hash, op)}
	}
	b.Sig = sign(key, t.household, t.device, head)
	b.wire = b.Encode()
	return b, nil
}

// Read checks that a batch continues the log, that the chain holds and that the
// key signed it, and gives its operations and the tail after them. The tail itself
// does not move: the caller puts the new one in its place once the batch is kept.
//
// A batch may begin before the tail: what is already known is checked against the
// chain and skipped. The errors are ErrGap if operations before it are missing,
// ErrFork if its past differs from ours, ErrSignature, ErrDamaged, ErrVersion. A
// batch that brings nothing new gives no operations and no error, if its past is
// ours as far as the tail can tell.
func (t *Tail) Read(key ed25519.PublicKey, b *Batch) ([]*Op, *Tail, error) {
	if b.First > t.head.Seq+1 {
		return nil, nil, ErrGap
	}
	if b.First == t.head.Seq+1 && b.Prev != t.head.Hash {
		return nil, nil, ErrFork
	}
	if b.First <= t.head.Seq {
		return t.readOverlap(key, b)
	}
	next := t.Clone()
	ops, err := next.readOps(b.Ops, b.Count)
	if err != nil {
		// What somebody else wrote is called unsigned before it is called wrong.
		if end, _, bad := b.chain(0); bad == nil {
			if unsigned := verify(key, t.household, t.device, end.head, b.Sig); unsigned != nil {
				return nil, nil, unsigned
			}
		}
		return nil, nil, err
	}
	if err := verify(key, t.household, t.device, next.head, b.Sig); err != nil {
		return nil, nil, err
	}
	return ops, next, nil
}

// ReadKept is Read for a batch that continues the log and that this device checked before
// it kept it: the signature is not verified again. So nothing tells a damaged batch until
// the caller compares where the log ends with the head that was kept beside it.
func (t *Tail) ReadKept(b *Batch) ([]*Op, *Tail, error) {
	if b.First != t.head.Seq+1 {
		return nil, nil, ErrGap
	}
	if b.Prev != t.head.Hash {
		return nil, nil, ErrFork
	}
	next := t.Clone()
	ops, err := next.readOps(b.Ops, b.Count)
	if err != nil {
		return nil, nil, err
	}
	return ops, next, nil
}

// readOverlap reads a batch that begins with operations the tail has already seen.
func (t *Tail) readOverlap(key ed25519.PublicKey, b *Batch) ([]*Op, *Tail, error) {
	skip := int(min(uint64(b.Count), t.head.Seq+1-b.First))
	end, rest, err := b.chain(skip)
	if err != nil {
		return nil, nil, err
	}
	// The signature comes first: whoever did not sign must not be called a fork.
	if err := verify(key, t.household, t.device, end.head, b.Sig); err != nil {
		return nil, nil, err
	}
	if end.at.Seq == t.head.Seq && end.at.Hash != t.head.Hash {
		return nil, nil, ErrFork
	}
	next := t.Clone()
	ops, err := next.readOps(rest, b.Count-skip)
	if err != nil {
		return nil, nil, err
	}
	return ops, next, nil
}

// chainEnd is what walking a batch's chain finds.
type chainEnd struct {
	head Head  // after the last operation
	at   *Head // after the operations that were skipped, nil if none were
}

// chain walks the batch's hash chain, and gives the bytes after skip operations.
func (b *Batch) chain(skip int) (chainEnd, []byte, error) {
	h := Head{Seq: b.First - 1, Hash: b.Prev}
	var end chainEnd
	data, rest := b.Ops, b.Ops
	for i := range b.Count {
		n, err := opLength(data)
		if err != nil {
			return end, nil, err
		}
		h = Head{Seq: h.Seq + 1, Hash: link(h.Hash, data[:n])}
		data = data[n:]
		if i+1 == skip {
			at := h
			end.at, rest = &at, data
		}
	}
	if len(data) != 0 {
		return end, nil, ErrDamaged
	}
	end.head = h
	return end, rest, nil
}

// Split gives the batch's operations, each as it was written.
func (b *Batch) Split() ([][]byte, error) {
	out := make([][]byte, 0, b.Count)
	for data := b.Ops; len(data) > 0; {
		n, err := opLength(data)
		if err != nil {
			return nil, err
		}
		out, data = append(out, data[:n:n]), data[n:]
	}
	return out, nil
}

// HashAt is the chain's hash after operation seq, which must be in the batch or
// just before it. It tells a repeated batch from a forked one.
func (b *Batch) HashAt(seq uint64) (Hash, error) {
	if seq+1 < b.First || seq > b.Last() {
		return Hash{}, ErrGap
	}
	if seq+1 == b.First {
		return b.Prev, nil
	}
	end, _, err := b.chain(int(seq + 1 - b.First))
	if err != nil {
		return Hash{}, err
	}
	return end.at.Hash, nil
}

func (t *Tail) readOps(data []byte, count int) ([]*Op, error) {
	ops := make([]*Op, 0, min(count, len(data)))
	d := newDecoder(t)
	defer d.free()
	for range count {
		op, rest, err := d.decode(data)
		if err != nil {
			return nil, err
		}
		t.advance(data[:len(data)-len(rest)], op.Stamp)
		data = rest
		ops = append(ops, op)
	}
	if len(data) != 0 {
		return nil, ErrDamaged
	}
	return ops, nil
}
