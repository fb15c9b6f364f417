package merge

import (
	"slices"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Aside is an operation that is in a log and does not count: its author's rights had
// ended, as somebody else set it. Nothing is lost by that: a keeper can look at it and
// write it again.
type Aside struct {
	ID    model.FactID
	Stamp hlc.Stamp
	Body  any   // *model.Fact, *oplog.Set, or an operation on membership
	Why   error // carries a fault
}

// SetAside gives the operations that do not count, in order of writing.
func (s *State) SetAside() []Aside {
	var out []Aside
	for id, facts := range s.aside {
		for _, f := range facts {
			if s.repeats[f.ID] {
				continue // it counts, by the one that it repeats
			}
			out = append(out, Aside{ID: f.ID, Stamp: hlc.Stamp(f.Stamp), Body: f, Why: s.whyNot(id, f.ID.Seq)})
		}
	}
	for _, op := range s.changes {
		if !s.rights.counts[op.ID] {
			out = append(out, Aside{ID: op.ID, Stamp: op.Stamp, Body: op.Body, Why: s.whyNoChange(op)})
		}
	}
	for id, set := range s.voidSets() {
		out = append(out, Aside{ID: id, Stamp: set.stamp, Body: &set.body, Why: s.whyNot(id.Device, id.Seq)})
	}
	slices.SortFunc(out, func(a, b Aside) int { return place{a.Stamp, a.ID}.compare(place{b.Stamp, b.ID}) })
	return out
}

type voidSet struct {
	stamp hlc.Stamp
	body  oplog.Set
}

// voidSets puts together again what was set by one operation.
func (s *State) voidSets() map[model.FactID]*voidSet {
	out := map[model.FactID]*voidSet{}
	for ref, fields := range s.registers {
		for key, writes := range fields {
			for _, w := range writes {
				if !w.void {
					continue
				}
				if out[w.By] == nil {
					out[w.By] = &voidSet{stamp: w.Stamp, body: oplog.Set{Record: ref}}
				}
				out[w.By].body.Fields = append(out[w.By].body.Fields, oplog.Setting{Key: key, Value: w.Value, Over: w.Over})
			}
		}
	}
	for _, set := range out {
		slices.SortFunc(set.body.Fields, func(a, b oplog.Setting) int { return compareFieldKeys(a.Key, b.Key) })
	}
	return out
}

// whyNot says why an operation of a device does not count.
func (s *State) whyNot(d model.DeviceID, seq uint64) error {
	switch {
	case s.rights.devices[d] == nil:
		return oplog.ErrUsed
	case seq > s.rights.last(d):
		return oplog.ErrRevoked
	}
	return oplog.ErrNotAllowed
}

func (s *State) whyNoChange(op *oplog.Op) error {
	if s.rights.devices[op.ID.Device] != nil && s.rights.allows(op) {
		return oplog.ErrLastKeeper
	}
	return s.whyNot(op.ID.Device, op.ID.Seq)
}
