package oplog

import (
	"encoding/binary"

	"leafturn/model"
)

// The wire forms of readings: cards, temperatures, measured photos.

type cardW struct {
	_         struct{} `cbor:",toarray"`
	Kind      uint8
	Millis    uint64
	Counter   uint16
	At        int64
	By        uint64
	Place     uint64
	Colour    uint8
	Pest      uint8
	Count     uint32
	Counted   int32
	Photo     []byte // 32 bytes, or none
	Replaced  bool
	Note      string
	Completes taskW
}

type tempW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	At      int64
	By      uint64
	Place   uint64
	Coldest int32
	Warmest int32
}

type measureW struct {
	_          struct{} `cbor:",toarray"`
	Kind       uint8
	Millis     uint64
	Counter    uint16
	At         int64
	By         uint64
	Plant      uint64
	Photo      []byte // 32 bytes
	Method     uint32
	Damaged    uint16
	Uncertain  uint16
	Confidence uint8
	Verdict    uint8
	Outline    []byte // four bytes a point, x before y, big-endian
	Completes  taskW
}

func (e *encoder) card(b *model.CardReading, at int64, by uint64) cardW {
	w := cardW{Kind: kindCard, Millis: e.millis, Counter: e.counter, At: at, By: by, Place: e.name(b.Place), Colour: uint8(b.Colour), Pest: uint8(b.Pest),
		Count: uint32(b.Count), Counted: int32(b.Counted), Replaced: b.Replaced, Note: b.Note, Completes: e.task(b.Completes)}
	if b.Photo != (model.PhotoSum{}) {
		w.Photo = b.Photo[:]
	}
	return w
}

func (d *decoder) card(data []byte, op *Op) ([]byte, error) {
	var w cardW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	b := &model.CardReading{Place: model.PlaceID(d.id(w.Place)), Colour: model.CardColour(w.Colour), Pest: model.Pest(w.Pest), Count: int(w.Count),
		Counted: int(w.Counted), Replaced: w.Replaced, Note: w.Note, Completes: d.task(w.Completes)}
	if len(w.Photo) > 0 {
		b.Photo = d.photo(w.Photo)
		if b.Photo == (model.PhotoSum{}) {
			return nil, ErrDamaged // none is written as no bytes
		}
	}
	d.fact(op, w.Millis, w.Counter, w.At, w.By, b)
	return rest, nil
}

func (d *decoder) photo(sum []byte) model.PhotoSum {
	if len(sum) != len(model.PhotoSum{}) {
		d.fail(ErrDamaged)
		return model.PhotoSum{}
	}
	return model.PhotoSum(sum)
}

func (d *decoder) temperature(data []byte, op *Op) ([]byte, error) {
	var w tempW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	d.fact(op, w.Millis, w.Counter, w.At, w.By, &model.Temperature{Place: model.PlaceID(d.id(w.Place)), Coldest: int(w.Coldest), Warmest: int(w.Warmest)})
	return rest, nil
}

func (e *encoder) measurement(b *model.Measurement, at int64, by uint64) measureW {
	w := measureW{Kind: kindMeasure, Millis: e.millis, Counter: e.counter, At: at, By: by, Plant: e.name(b.Plant), Photo: b.Photo[:],
		Method: uint32(b.Method), Damaged: uint16(b.Damaged), Uncertain: uint16(b.Uncertain), Confidence: uint8(b.Confidence), Verdict: uint8(b.Verdict),
		Completes: e.task(b.Completes)}
	for _, p := range b.Outline {
		w.Outline = binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(w.Outline, p.X), p.Y)
	}
	return w
}

func (d *decoder) measurement(data []byte, op *Op) ([]byte, error) {
	var w measureW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	if len(w.Outline)%4 != 0 {
		return nil, ErrDamaged
	}
	b := &model.Measurement{Plant: model.PlantID(d.id(w.Plant)), Photo: d.photo(w.Photo), Method: int(w.Method), Damaged: int(w.Damaged),
		Uncertain: int(w.Uncertain), Confidence: int(w.Confidence), Verdict: model.Verdict(w.Verdict), Completes: d.task(w.Completes)}
	for at := 0; at < len(w.Outline); at += 4 {
		b.Outline = append(b.Outline, model.Point{X: binary.BigEndian.Uint16(w.Outline[at:]), Y: binary.BigEndian.Uint16(w.Outline[at+2:])})
	}
	d.fact(op, w.Millis, w.Counter, w.At, w.By, b)
	return rest, nil
}
