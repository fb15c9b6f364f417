package oplog

import (
	"fmt"
	"sync"

	"github.com/fxamacker/cbor/v2"
	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
)

// encoder turns one operation into bytes, naming long ids by their index.
type encoder struct {
	t       *Tail
	millis  uint64
	counter uint16
	fresh   []byte // ids that the log did not know, sixteen bytes each

	look    inspectW // used again for every inspection
	numbers []byte
}

// encoders keeps the room that inspections are packed into.
var encoders = sync.Pool{New: func() any { return &encoder{} }}

func newEncoder(t *Tail, step uint64, counter uint16) *encoder {
	e := encoders.Get().(*encoder)
	e.t, e.millis, e.counter, e.fresh = t, step, counter, nil
	return e
}

func (e *encoder) free() {
	e.t, e.look = nil, inspectW{}
	encoders.Put(e)
}

// name gives the index of an id, adding it to the log's names if it is new.
func (e *encoder) name(id [16]byte) uint64 {
	if id == (uuid.UUID{}) {
		return 0
	}
	t := e.t
	t.indexNames()
	if n, ok := t.index[id]; ok && n <= uint64(len(t.ids)) && t.ids[n-1] == id {
		return n
	}
	t.ids = append(t.ids, id)
	t.index[id] = uint64(len(t.ids))
	e.fresh = append(e.fresh, id[:]...)
	return uint64(len(t.ids))
}

func (e *encoder) names(ids []model.PlantID) []uint64 {
	out := make([]uint64, len(ids))
	for i, id := range ids {
		out[i] = e.name(id)
	}
	return out
}

func (e *encoder) task(k model.TaskKey) taskW {
	return taskW{Rule: uint8(k.Rule), Subject: e.name(k.Subject), Ordinal: k.Ordinal}
}

func (e *encoder) fact(f model.FactID) factIDW {
	return factIDW{Device: e.name(f.Device), Seq: f.Seq}
}

func (e *encoder) encode(stamp hlc.Stamp, body any) ([]byte, error) {
	if err := validate(body); err != nil {
		return nil, err
	}
	var w any
	switch b := body.(type) {
	case *model.Fact:
		w = e.factBody(b, int64(b.At)-stamp.Millis())
	case *Set:
		w = e.set(b)
	default:
		if w = e.membership(b); w == nil {
			return nil, fmt.Errorf("write op: no such operation as %T", body)
		}
	}
	if w == nil {
		return nil, fmt.Errorf("write op: no such fact")
	}
	return encMode.Marshal(w)
}

func (e *encoder) set(s *Set) setW {
	w := setW{Kind: kindSet, Millis: e.millis, Counter: e.counter, Record: uint8(s.Record.Kind), ID: e.name(s.Record.ID)}
	for _, f := range s.Fields {
		w.Fields = append(w.Fields, fieldW{
			Field: uint8(f.Key.Field), Sub: e.name(f.Key.Sub), Value: e.value(f.Value), Over: e.fact(f.Over),
		})
	}
	return w
}

func (e *encoder) value(v model.Value) cbor.RawMessage {
	switch v.Type {
	case model.TypeText:
		return mustEncode(v.Text)
	case model.TypeBool:
		return mustEncode(v.True())
	case model.TypeID:
		return mustEncode(e.name(v.ID))
	}
	return mustEncode(v.Int)
}

func (e *encoder) factBody(f *model.Fact, at int64) any {
	by := e.name(f.By)
	ms, n := e.millis, e.counter
	onTask := func(kind uint8, k model.TaskKey, value int64, reason uint8) any {
		return taskFactW{Kind: kind, Millis: ms, Counter: n, At: at, By: by, Task: e.task(k), Value: value, Reason: reason}
	}
	switch b := f.Body.(type) {
	case *model.Inspection:
		return e.inspection(b, at, by)
	case *model.Application:
		w := applyW{Kind: kindApply, Millis: ms, Counter: n, At: at, By: by, Plants: e.names(b.Plants), Product: e.name(b.Product),
			Outbreak: e.name(b.Outbreak), AmountMl: uint32(b.AmountMl), Note: b.Note, Completes: e.task(b.Completes)}
		for _, p := range b.Parts {
			w.Parts = append(w.Parts, uint16(p))
		}
		return w
	case *model.Handling:
		return handleW{Kind: kindHandle, Millis: ms, Counter: n, At: at, By: by, What: uint8(b.Kind), Plants: e.names(b.Plants),
			Place: e.name(b.Place), Note: b.Note, Completes: e.task(b.Completes)}
	case *model.PlanAccepted:
		return e.plan(b, at, by)
	case *model.TaskClaimed:
		return onTask(kindClaim, b.Task, int64(b.Until), 0)
	case *model.TaskPutOff:
		return onTask(kindPutOff, b.Task, int64(b.Until), uint8(b.Reason))
	case *model.TaskCompleted:
		return onTask(kindCompleted, b.Task, 0, 0)
	case *model.Settled:
		return onTask(kindSettled, b.Task, 0, 0)
	case *model.CardReading:
		return e.card(b, at, by)
	case *model.Temperature:
		return tempW{Kind: kindTemp, Millis: ms, Counter: n, At: at, By: by, Place: e.name(b.Place), Coldest: int32(b.Coldest), Warmest: int32(b.Warmest)}
	case *model.Measurement:
		return e.measurement(b, at, by)
	case *model.Withdrawn:
		return withdrawW{Kind: kindWithdraw, Millis: ms, Counter: n, At: at, By: by, Fact: e.fact(b.Fact), Note: b.Note}
	}
	return nil
}

// validate refuses an operation that cannot be true, before it is written and
// after it is read, so that neither side trusts the other.
func validate(body any) error {
	switch b := body.(type) {
	case *model.Fact:
		if b.By.IsZero() || b.At < 0 || b.Body == nil {
			return model.ErrInvalid
		}
		return b.Body.Validate()
	case *Set:
		return b.validate()
	}
	return validateMembership(body)
}

const maxSettings = 64

func (s *Set) validate() error {
	if len(s.Fields) == 0 || len(s.Fields) > maxSettings || s.Record.ID == (uuid.UUID{}) {
		return model.ErrInvalid
	}
	for _, f := range s.Fields {
		if err := model.ValidateField(s.Record.Kind, f.Key, f.Value); err != nil {
			return err
		}
	}
	return nil
}
