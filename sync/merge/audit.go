package merge

import (
	"errors"
	"reflect"
	"slices"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// ErrDiffers says that a state is not the fold of its logs.
var ErrDiffers = errors.New("the state is not what its logs say")

// Audit compares a state that was restored from a snapshot with the logs, batch by
// batch, without folding them into a second state. Each batch is verified again on its
// own. What is derived from facts and settings (who may write, what counts) is derived
// from the same code either way, and not compared.
//
// The state may take in more between two batches.
type Audit struct {
	state  *State
	tails  map[model.DeviceID]*oplog.Tail
	writes map[model.DeviceID]int // settings found in each log
}

// Audit begins a comparison.
func (s *State) Audit() *Audit {
	return &Audit{state: s, tails: map[model.DeviceID]*oplog.Tail{}, writes: map[model.DeviceID]int{}}
}

// At is how far a log is compared.
func (a *Audit) At(d model.DeviceID) uint64 { return a.tail(d).Head().Seq }

func (a *Audit) tail(d model.DeviceID) *oplog.Tail {
	if t := a.tails[d]; t != nil {
		return t
	}
	return oplog.NewTail(a.state.household, d)
}

// Take compares the next batch of a log, which the state must have taken in. It returns
// ErrDiffers if the state holds something else, and what oplog.Tail.Read returns if the
// log itself is not sound.
func (a *Audit) Take(b *oplog.Batch) error {
	d, claimed := a.state.doors[b.Device], a.state.tails[b.Device]
	if d == nil || claimed == nil || model.DeviceIDOf(d.key) != b.Device {
		return ErrDiffers
	}
	ops, next, err := a.tail(b.Device).Read(d.key, b)
	if err != nil {
		return err
	}
	if len(ops) > 0 && !a.same(b.Device, claimed, ops) {
		return ErrDiffers
	}
	a.tails[b.Device] = next
	return nil
}

// same reports whether the state holds just these operations between the first and the
// last of them. Facts are compared by how they would be saved.
func (a *Audit) same(d model.DeviceID, claimed *oplog.Tail, ops []*oplog.Op) bool {
	var facts []*model.Fact
	var changes []*oplog.Op
	for _, op := range ops {
		switch b := op.Body.(type) {
		case *model.Fact:
			facts = append(facts, b)
		case *oplog.Set:
			if !a.holds(op, b) {
				return false
			}
		default:
			if isMembership(b) {
				changes = append(changes, op)
			}
		}
	}
	first, last := ops[0].ID.Seq, ops[len(ops)-1].ID.Seq
	held := between(a.state.factsOf(d), first, last, func(f *model.Fact) uint64 { return f.ID.Seq })
	heldChanges := between(a.state.changesOf(d), first, last, func(op *oplog.Op) uint64 { return op.ID.Seq })
	if len(facts) != len(held) || len(changes) != len(heldChanges) {
		return false
	}
	x, errX := claimed.SaveFacts(facts)
	y, errY := claimed.SaveFacts(held)
	p, errP := claimed.SaveOps(changes)
	q, errQ := claimed.SaveOps(heldChanges)
	return errors.Join(errX, errY, errP, errQ) == nil && reflect.DeepEqual(x, y) && reflect.DeepEqual(p, q)
}

// between cuts from an ordered list what has numbers from first to last.
func between[T any](list []T, first, last uint64, seq func(T) uint64) []T {
	at := func(n uint64) int {
		i, _ := slices.BinarySearchFunc(list, n, func(x T, n uint64) int {
			switch s := seq(x); {
			case s < n:
				return -1
			case s > n:
				return 1
			}
			return 0
		})
		return i
	}
	return list[at(first):at(last+1)]
}

// holds reports whether the state holds the settings of an operation.
func (a *Audit) holds(op *oplog.Op, set *oplog.Set) bool {
	for i, f := range set.Fields {
		if slices.ContainsFunc(set.Fields[:i], func(g oplog.Setting) bool { return g.Key == f.Key }) {
			continue // the first one counts
		}
		writes := a.state.registers[set.Record][f.Key]
		at, found := slices.BinarySearchFunc(writes, Write{By: op.ID, Stamp: op.Stamp}, compareWrites)
		if !found || writes[at].Value != f.Value || writes[at].Over != f.Over {
			return false
		}
		a.writes[op.ID.Device]++
	}
	return true
}

// End reports, when all logs were compared, whether the state holds nothing that is in
// none of them. What it has taken in after the last batch of each log is left out.
func (a *Audit) End() error {
	for d, t := range a.state.tails {
		if !t.GoesOnFrom(a.tail(d)) {
			return ErrDiffers
		}
		facts, changes, end := a.state.factsOf(d), a.state.changesOf(d), t.Head().Seq
		if n := len(facts); n > 0 && facts[n-1].ID.Seq > end {
			return ErrDiffers
		}
		if n := len(changes); n > 0 && changes[n-1].ID.Seq > end {
			return ErrDiffers
		}
	}
	held := map[model.DeviceID]int{}
	for _, fields := range a.state.registers {
		for _, writes := range fields {
			for _, w := range writes {
				if w.By.Seq <= a.At(w.By.Device) {
					held[w.By.Device]++
				}
			}
		}
	}
	for d, n := range held {
		if n != a.writes[d] {
			return ErrDiffers
		}
	}
	return nil
}
