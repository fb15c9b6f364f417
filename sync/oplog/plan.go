package oplog

import (
	"leafturn/model"
)

// An accepted plan is the largest fact, and the rarest: its steps and the reasons
// for their days are arrays of their own.

type planW struct {
	_        struct{} `cbor:",toarray"`
	Kind     uint8
	Millis   uint64
	Counter  uint16
	At       int64
	By       uint64
	Plan     uint64
	Outbreak uint64
	Plants   []uint64
	Isolate  bool
	Basis    uint8
	Aim      uint8
	Target   uint16
	Chance   uint16
	Seed     uint64
	Steps    []stepW
}

type stepW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Day     int32
	Product uint64
	Why     []whyW
}

type whyW struct {
	_                struct{} `cbor:",toarray"`
	Because          uint8
	Date             int32
	Days             int32
	Wanted           int32
	Count            int32
	Hours            int32
	TenthsCelsius    int32
	TenthsDegreeDays int32
	TenthsLower      int32
	Group            string
	Product          uint64
}

func (e *encoder) plan(b *model.PlanAccepted, at int64, by uint64) planW {
	w := planW{Kind: kindPlan, Millis: e.millis, Counter: e.counter, At: at, By: by, Plan: e.name(b.Plan), Outbreak: e.name(b.Outbreak),
		Plants: e.names(b.Plants), Isolate: b.Isolate, Basis: uint8(b.Basis),
		Aim: uint8(b.Aim), Target: uint16(b.Target), Chance: uint16(b.Chance), Seed: b.Seed, Steps: make([]stepW, len(b.Steps))}
	for i := range b.Steps {
		s := &b.Steps[i]
		w.Steps[i] = stepW{Kind: uint8(s.Kind), Day: int32(s.Day), Product: e.name(s.Product), Why: make([]whyW, len(s.Why))}
		for k := range s.Why {
			w.Steps[i].Why[k] = e.why(&s.Why[k])
		}
	}
	return w
}

func (e *encoder) why(y *model.StepWhy) whyW {
	return whyW{Because: y.Because, Date: int32(y.Date), Days: int32(y.Days), Wanted: int32(y.Wanted), Count: int32(y.Count), Hours: int32(y.Hours),
		TenthsCelsius: int32(y.TenthsCelsius), TenthsDegreeDays: int32(y.TenthsDegreeDays), TenthsLower: int32(y.TenthsLower),
		Group: y.Group, Product: e.name(y.Product)}
}

func (d *decoder) plan(data []byte, op *Op) ([]byte, error) {
	var w planW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	b := &model.PlanAccepted{Plan: model.PlanID(d.id(w.Plan)), Outbreak: model.OutbreakID(d.id(w.Outbreak)),
		Plants: d.plants(w.Plants), Isolate: w.Isolate, Basis: model.Basis(w.Basis),
		Aim: model.Aim(w.Aim), Target: int(w.Target), Chance: int(w.Chance), Seed: w.Seed}
	if len(w.Steps) > 0 {
		b.Steps = make([]model.PlanStep, len(w.Steps))
	}
	for i := range w.Steps {
		b.Steps[i] = d.step(&w.Steps[i])
	}
	d.fact(op, w.Millis, w.Counter, w.At, w.By, b)
	return rest, nil
}

func (d *decoder) step(w *stepW) model.PlanStep {
	s := model.PlanStep{Kind: model.StepKind(w.Kind), Day: model.Date(w.Day), Product: model.ProductID(d.id(w.Product))}
	if len(w.Why) > 0 {
		s.Why = make([]model.StepWhy, len(w.Why))
	}
	for i := range w.Why {
		y := &w.Why[i]
		s.Why[i] = model.StepWhy{Because: y.Because, Date: model.Date(y.Date), Days: int(y.Days), Wanted: int(y.Wanted), Count: int(y.Count), Hours: int(y.Hours),
			TenthsCelsius: int(y.TenthsCelsius), TenthsDegreeDays: int(y.TenthsDegreeDays), TenthsLower: int(y.TenthsLower),
			Group: y.Group, Product: model.ProductID(d.id(y.Product))}
	}
	return s
}
