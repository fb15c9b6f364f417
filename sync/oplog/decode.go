package oplog

import (
	"fmt"
	"math"
	"sync"

	"github.com/fxamacker/cbor/v2"
	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/packed"
)

// decoder reads operations at a tail, which knows the log's names and last stamp.
type decoder struct {
	t    *Tail
	err  error    // the first thing that was wrong inside an operation
	look inspectW // used again for every inspection

	items items // used again for every operation

	// What operations are made of is cut from larger pieces: a household has a
	// hundred thousand, and each piece costs the collector.
	ops      []Op
	facts    []model.Fact
	looks    []model.Inspection
	findings []model.Finding
}

// pieces is how many are made at a time: few enough that a fact never keeps much
// beside itself in memory.
const pieces = 30

// cut gives the next n of a piece, and makes a new piece when it is used up.
func cut[T any](piece *[]T, n int) []T {
	if len(*piece) < n {
		*piece = make([]T, max(n, pieces))
	}
	out := (*piece)[:n:n]
	*piece = (*piece)[n:]
	return out
}

// decoders keeps pieces that are not used up for whoever decodes next.
var decoders = sync.Pool{New: func() any { return &decoder{} }}

func newDecoder(t *Tail) *decoder {
	d := decoders.Get().(*decoder)
	d.t, d.err = t, nil
	return d
}

func (d *decoder) free() {
	d.t, d.look, d.items = nil, inspectW{}, items{}
	decoders.Put(d)
}

// opLength is the number of bytes of the operation at the front of data.
func opLength(data []byte) (int, error) {
	var raw cbor.RawMessage
	rest, err := decMode.UnmarshalFirst(data, &raw)
	if err != nil {
		return 0, ErrDamaged.Because(err)
	}
	return len(data) - len(rest), nil
}

// kindOf looks at the kind, the first element of every operation's array.
func kindOf(data []byte) (uint8, error) {
	// Kinds are below 24, so the kind is the single byte after the array's head; the
	// head is a single byte too.
	if len(data) < 2 || data[0] < 0x80 || data[0] > 0x97 {
		return 0, ErrDamaged
	}
	if data[1] >= kinds {
		return 0, ErrVersion.Because(fmt.Errorf("operation kind %#x", data[1]))
	}
	return data[1], nil
}

func (d *decoder) decode(data []byte) (*Op, []byte, error) {
	kind, err := kindOf(data)
	if err != nil {
		return nil, nil, err
	}
	read := readers[kind]
	if read == nil {
		return nil, nil, ErrVersion.Because(fmt.Errorf("operation kind %d", kind))
	}
	op := &cut(&d.ops, 1)[0]
	op.ID = model.FactID{Device: d.t.device, Seq: d.t.head.Seq + 1}
	d.err = nil
	rest, err := read(d, data, op)
	if err == nil {
		err = d.err
	}
	if err == nil {
		err = validate(op.Body)
	}
	if err != nil {
		return nil, nil, err
	}
	return op, rest, nil
}

// Introduction reads the first operation of a device's first batch, which says
// whose key the log is signed with: a *Found, a *Join or a *Succeed. Nothing is
// verified yet.
func Introduction(h model.HouseholdID, b *Batch) (any, error) {
	if b.First != 1 {
		return nil, ErrStranger
	}
	d := newDecoder(NewTail(h, b.Device))
	defer d.free()
	op, _, err := d.decode(b.Ops)
	if err != nil {
		return nil, err
	}
	switch op.Body.(type) {
	case *Found, *Join, *Succeed:
		return op.Body, nil
	}
	return nil, ErrStranger
}

// readers are indexed by kind, which kindOf keeps below their number.
var readers = [kinds]func(*decoder, []byte, *Op) ([]byte, error){
	kindDefine:    (*decoder).define,
	kindSet:       (*decoder).set,
	kindFound:     (*decoder).found,
	kindInvite:    (*decoder).invite,
	kindJoin:      (*decoder).join,
	kindAppoint:   (*decoder).appoint,
	kindRevoke:    (*decoder).revoke,
	kindRemove:    (*decoder).remove,
	kindInspect:   (*decoder).inspection,
	kindApply:     (*decoder).application,
	kindHandle:    (*decoder).handling,
	kindPlan:      (*decoder).plan,
	kindClaim:     (*decoder).onTask,
	kindPutOff:    (*decoder).onTask,
	kindCompleted: (*decoder).onTask,
	kindSettled:   (*decoder).onTask,
	kindWithdraw:  (*decoder).withdrawal,
	kindCard:      (*decoder).card,
	kindTemp:      (*decoder).temperature,
	kindMeasure:   (*decoder).measurement,
	kindSucceed:   (*decoder).join,
}

// read reads one operation's array into its form, and gives what follows it.
func read[W any](d *decoder, data []byte, w *W) ([]byte, error) {
	if s, ok := any(w).(shaped); ok {
		d.items = items{packed.ReadItems(data)}
		if s.shape(&d.items); !d.items.Bad {
			return d.items.Rest(), nil
		}
		*w = *new(W) // a null would leave standing what was read
	}
	rest, err := decMode.UnmarshalFirst(data, w)
	if err != nil {
		return nil, ErrDamaged.Because(err)
	}
	return rest, nil
}

func (d *decoder) fail(err error) {
	if d.err == nil {
		d.err = err
	}
}

// stamp is the time of the operation: so many milliseconds after the one before.
func (d *decoder) stamp(millis uint64, counter uint16) hlc.Stamp {
	last := d.t.stamp
	s := hlc.Of(last.Millis()+int64(millis&(1<<48-1)), counter)
	if millis >= 1<<48 || s < last {
		d.fail(ErrDamaged)
	}
	return s
}

// id is the id that an index stands for; 0 is none.
func (d *decoder) id(index uint64) uuid.UUID {
	if index == 0 {
		return uuid.UUID{}
	}
	if index > uint64(len(d.t.ids)) {
		d.fail(ErrDamaged)
		return uuid.UUID{}
	}
	return d.t.ids[index-1]
}

func (d *decoder) plants(indexes []uint64) []model.PlantID {
	out := make([]model.PlantID, len(indexes))
	for i, n := range indexes {
		out[i] = model.PlantID(d.id(n))
	}
	return out
}

func (d *decoder) task(w taskW) model.TaskKey {
	return model.TaskKey{Rule: model.Rule(w.Rule), Subject: d.id(w.Subject), Ordinal: w.Ordinal}
}

func (d *decoder) factID(w factIDW) model.FactID {
	return model.FactID{Device: model.DeviceID(d.id(w.Device)), Seq: w.Seq}
}

// fact fills in what all facts share.
func (d *decoder) fact(op *Op, millis uint64, counter uint16, at int64, by uint64, body model.Body) *model.Fact {
	op.Stamp = d.stamp(millis, counter)
	if at > 1<<48 || at < -1<<48 {
		d.fail(ErrDamaged)
	}
	f := &cut(&d.facts, 1)[0]
	*f = model.Fact{ID: op.ID, Stamp: uint64(op.Stamp), At: model.Instant(op.Stamp.Millis() + at), By: model.MemberID(d.id(by)), Body: body}
	op.Body = f
	return f
}

func (d *decoder) define(data []byte, op *Op) ([]byte, error) {
	var w defineW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	op.Stamp = d.stamp(w.Millis, w.Counter)
	if len(w.IDs)%16 != 0 {
		return nil, ErrDamaged
	}
	ids := make([]uuid.UUID, len(w.IDs)/16)
	for i := range ids {
		ids[i] = uuid.UUID(w.IDs[16*i:])
		if ids[i] == (uuid.UUID{}) {
			return nil, ErrDamaged
		}
		d.t.ids = append(d.t.ids, ids[i])
		if d.t.index != nil {
			d.t.index[ids[i]] = uint64(len(d.t.ids))
		}
	}
	op.Body = &Define{IDs: ids}
	return rest, nil
}

func (d *decoder) set(data []byte, op *Op) ([]byte, error) {
	var w setW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	op.Stamp = d.stamp(w.Millis, w.Counter)
	s := &Set{Record: model.Ref{Kind: model.Kind(w.Record), ID: d.id(w.ID)}}
	for _, f := range w.Fields {
		key := model.FieldKey{Field: model.Field(f.Field), Sub: d.id(f.Sub)}
		spec, ok := model.Spec(s.Record.Kind, key.Field)
		if !ok {
			return nil, model.ErrUnknownField
		}
		v, err := d.value(spec.Type, f.Value)
		if err != nil {
			return nil, err
		}
		s.Fields = append(s.Fields, Setting{Key: key, Value: v, Over: d.factID(f.Over)})
	}
	op.Body = s
	return rest, nil
}

func (d *decoder) value(t model.ValueType, raw cbor.RawMessage) (model.Value, error) {
	v := model.Value{Type: t}
	r := packed.ReadItems(raw)
	switch t {
	case model.TypeText:
		v.Text = r.Text()
	case model.TypeInt:
		v.Int = r.Int()
	case model.TypeBool:
		v = model.Bool(r.Bool())
	case model.TypeID:
		v.ID = d.id(r.Uint(math.MaxUint64))
	}
	if r.Bad || !r.End() {
		return d.anyValue(t, raw)
	}
	return v, nil
}

// anyValue reads a value that is written in an unusual way, or finds out why not.
func (d *decoder) anyValue(t model.ValueType, raw cbor.RawMessage) (model.Value, error) {
	v := model.Value{Type: t}
	var err error
	switch t {
	case model.TypeText:
		err = decMode.Unmarshal(raw, &v.Text)
	case model.TypeInt:
		err = decMode.Unmarshal(raw, &v.Int)
	case model.TypeBool:
		var b bool
		err = decMode.Unmarshal(raw, &b)
		v = model.Bool(b)
	case model.TypeID:
		var n uint64
		err = decMode.Unmarshal(raw, &n)
		v.ID = d.id(n)
	}
	if err != nil {
		return v, ErrDamaged.Because(err)
	}
	return v, nil
}

func (d *decoder) application(data []byte, op *Op) ([]byte, error) {
	var w applyW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	b := &model.Application{Plants: d.plants(w.Plants), Product: model.ProductID(d.id(w.Product)), Outbreak: model.OutbreakID(d.id(w.Outbreak)),
		AmountMl: int(w.AmountMl), Note: w.Note, Completes: d.task(w.Completes)}
	for _, p := range w.Parts {
		if p > 255 {
			return nil, ErrDamaged
		}
		b.Parts = append(b.Parts, model.Part(p))
	}
	d.fact(op, w.Millis, w.Counter, w.At, w.By, b)
	return rest, nil
}

func (d *decoder) handling(data []byte, op *Op) ([]byte, error) {
	var w handleW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	b := &model.Handling{Kind: model.HandlingKind(w.What), Plants: d.plants(w.Plants), Place: model.PlaceID(d.id(w.Place)), Note: w.Note, Completes: d.task(w.Completes)}
	d.fact(op, w.Millis, w.Counter, w.At, w.By, b)
	return rest, nil
}

func (d *decoder) onTask(data []byte, op *Op) ([]byte, error) {
	var w taskFactW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	key := d.task(w.Task)
	var b model.Body
	switch w.Kind {
	case kindClaim:
		b = &model.TaskClaimed{Task: key, Until: model.Instant(w.Value)}
	case kindPutOff:
		if int64(model.Date(w.Value)) != w.Value {
			return nil, ErrDamaged
		}
		b = &model.TaskPutOff{Task: key, Until: model.Date(w.Value), Reason: model.PutOffReason(w.Reason)}
	case kindCompleted:
		b = &model.TaskCompleted{Task: key}
	default:
		b = &model.Settled{Task: key}
	}
	d.fact(op, w.Millis, w.Counter, w.At, w.By, b)
	return rest, nil
}

func (d *decoder) withdrawal(data []byte, op *Op) ([]byte, error) {
	var w withdrawW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	d.fact(op, w.Millis, w.Counter, w.At, w.By, &model.Withdrawn{Fact: d.factID(w.Fact), Note: w.Note})
	return rest, nil
}
