package oplog

import (
	"math"

	"leafturn/sync/packed"
)

// shaped are the forms that are read the quick way: those of the operations of which a
// household has thousands. What is not read that way is left to the general decoder.
type shaped interface{ shape(r *items) }

type items struct{ packed.Items }

// uints is a list of numbers of at most so much.
func (r *items) uints(most uint64) []uint64 {
	out := make([]uint64, r.List(MaxBatchOps))
	for i := range out {
		out[i] = r.Uint(most)
	}
	return out
}

// kind is the first element; millis and counter follow it in most operations.
func (r *items) kind() uint8 { return uint8(r.Uint(math.MaxUint8)) }

func (r *items) counter() uint16 { return uint16(r.Uint(math.MaxUint16)) }

func (r *items) index() uint64 { return r.Uint(math.MaxUint64) }

func (r *items) task() taskW {
	r.Array(3)
	return taskW{Rule: uint8(r.Uint(math.MaxUint8)), Subject: r.index(), Ordinal: uint32(r.Uint(math.MaxUint32))}
}

func (r *items) factID() factIDW {
	r.Array(2)
	return factIDW{Device: r.index(), Seq: r.index()}
}

func (w *setW) shape(r *items) {
	r.Array(6)
	w.Kind, w.Millis, w.Counter, w.Record, w.ID = r.kind(), r.index(), r.counter(), uint8(r.Uint(math.MaxUint8)), r.index()
	w.Fields = make([]fieldW, r.List(MaxBatchOps))
	for i := range w.Fields {
		r.Array(4)
		w.Fields[i] = fieldW{Field: uint8(r.Uint(math.MaxUint8)), Sub: r.index(), Value: r.Scalar(), Over: r.factID()}
	}
}

func (w *inspectW) shape(r *items) {
	r.Array(4)
	w.Kind, w.Numbers, w.Photos, w.Note = r.kind(), r.Bytes(), r.Bytes(), r.Text()
}

func (w *applyW) shape(r *items) {
	r.Array(12)
	w.Kind, w.Millis, w.Counter, w.At, w.By = r.kind(), r.index(), r.counter(), r.Int(), r.index()
	w.Plants, w.Product, w.Outbreak, w.AmountMl = r.uints(math.MaxUint64), r.index(), r.index(), uint32(r.Uint(math.MaxUint32))
	for _, p := range r.uints(math.MaxUint16) {
		w.Parts = append(w.Parts, uint16(p))
	}
	w.Note, w.Completes = r.Text(), r.task()
}

func (w *handleW) shape(r *items) {
	r.Array(10)
	w.Kind, w.Millis, w.Counter, w.At, w.By = r.kind(), r.index(), r.counter(), r.Int(), r.index()
	w.What, w.Plants, w.Place, w.Note, w.Completes = uint8(r.Uint(math.MaxUint8)), r.uints(math.MaxUint64), r.index(), r.Text(), r.task()
}

func (w *taskFactW) shape(r *items) {
	r.Array(8)
	w.Kind, w.Millis, w.Counter, w.At, w.By = r.kind(), r.index(), r.counter(), r.Int(), r.index()
	w.Task, w.Value, w.Reason = r.task(), r.Int(), uint8(r.Uint(math.MaxUint8))
}

func (w *tempW) shape(r *items) {
	r.Array(8)
	w.Kind, w.Millis, w.Counter, w.At, w.By, w.Place = r.kind(), r.index(), r.counter(), r.Int(), r.index(), r.index()
	w.Coldest, w.Warmest = r.int32(), r.int32()
}

func (w *cardW) shape(r *items) {
	r.Array(14)
	w.Kind, w.Millis, w.Counter, w.At, w.By, w.Place = r.kind(), r.index(), r.counter(), r.Int(), r.index(), r.index()
	w.Colour, w.Pest, w.Count, w.Counted = uint8(r.Uint(math.MaxUint8)), uint8(r.Uint(math.MaxUint8)), uint32(r.Uint(math.MaxUint32)), r.int32()
	w.Photo, w.Replaced, w.Note, w.Completes = r.Bytes(), r.Bool(), r.Text(), r.task()
}

func (r *items) int32() int32 {
	v := r.Int()
	r.Bad = r.Bad || int64(int32(v)) != v
	return int32(v)
}
