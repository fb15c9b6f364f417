package merge

import (
	"bytes"
	"cmp"
	"slices"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// State is the fold of the batches taken in so far. It is not safe for concurrent
// use.
type State struct {
	membership
	household model.HouseholdID
	tails     map[model.DeviceID]*oplog.Tail
	doors     map[model.DeviceID]*door
	rights    *rights
	registers map[model.Ref]map[model.FieldKey][]Write
	book      *model.Book
	aside     map[model.DeviceID][]*model.Fact // that do not count, in order of their logs
	sayings   *sayings
	repeats   map[model.FactID]bool // of those in aside
}

// Write is one setting of a register, as it was written.
type Write struct {
	By    model.FactID
	Stamp hlc.Stamp
	Value model.Value
	Over  model.FactID // the setting its author saw

	void bool // its author had no right to it
}

// New is the state of a household of which nothing is known but its id.
func New(h model.HouseholdID) *State {
	return &State{
		membership: newMembership(),
		household:  h,
		tails:      map[model.DeviceID]*oplog.Tail{},
		doors:      map[model.DeviceID]*door{},
		rights:     judge(nil),
		registers:  map[model.Ref]map[model.FieldKey][]Write{},
		book:       model.NewBook(h),
		aside:      map[model.DeviceID][]*model.Fact{},
		sayings:    newSayings(),
		repeats:    map[model.FactID]bool{},
	}
}

// Household is the household's id.
func (s *State) Household() model.HouseholdID { return s.household }

// Book is the household as one reads it. It changes with every Commit.
func (s *State) Book() *model.Book { return s.book }

// Tail is where a device's log stands, that of an empty log if nothing is known.
// The caller must not write to it.
func (s *State) Tail(d model.DeviceID) *oplog.Tail {
	if t := s.tails[d]; t != nil {
		return t
	}
	return oplog.NewTail(s.household, d)
}

// Vector says how far each device's log is folded in.
func (s *State) Vector() oplog.Vector {
	v := make(oplog.Vector, len(s.tails))
	for d, t := range s.tails {
		v[d] = t.Head().Seq
	}
	return v
}

// Heads says how far each device's log is folded in, with the hash of the chain.
func (s *State) Heads() map[model.DeviceID]oplog.Head {
	h := make(map[model.DeviceID]oplog.Head, len(s.tails))
	for d, t := range s.tails {
		h[d] = t.Head()
	}
	return h
}

// Stamp is the greatest stamp folded in; a clock that observes it writes later.
func (s *State) Stamp() hlc.Stamp {
	var last hlc.Stamp
	for _, t := range s.tails {
		last = max(last, t.Stamp())
	}
	return last
}

// fold takes in operations, each log's in order.
func (s *State) fold(logs ...[]*oplog.Op) {
	changed := false
	for _, ops := range logs {
		for _, op := range ops {
			if isMembership(op.Body) {
				s.add(op)
				changed = true
			}
		}
	}
	if changed {
		s.enter()
		s.judge()
	}
	tidy := true
	for _, ops := range logs {
		tidy = s.foldLog(ops) && tidy
	}
	if !tidy {
		s.foldAgain()
	}
}

// foldLog takes in what one device wrote on plants and people. It reports whether all
// that counts still does.
func (s *State) foldLog(ops []*oplog.Op) (tidy bool) {
	tidy = true
	for _, op := range ops {
		switch b := op.Body.(type) {
		case *model.Fact:
			tidy = s.addFact(s.doors[op.ID.Device], b) && tidy
		case *oplog.Set:
			d := s.doors[op.ID.Device]
			for _, f := range b.Fields {
				void := !d.maySet(d.role(op.ID.Seq), b.Record, f.Key.Field, op.ID.Device)
				s.set(b.Record, f.Key, Write{By: op.ID, Stamp: op.Stamp, Value: f.Value, Over: f.Over, void: void})
			}
		}
	}
	return tidy
}

// addFact takes in a fact. It reports false if one that comes later says the same: then
// all must be folded again.
func (s *State) addFact(d *door, f *model.Fact) (tidy bool) {
	if !d.mayNote(d.role(f.ID.Seq), f) {
		s.aside[f.ID.Device] = append(s.aside[f.ID.Device], f)
		return true
	}
	first, tidy := s.repeated(f)
	if first == nil {
		s.book.Add(f)
		return tidy
	}
	s.book.Repeat(f.ID, first)
	s.repeats[f.ID] = true
	s.aside[f.ID.Device] = append(s.aside[f.ID.Device], f)
	return tidy
}

// foldAgain makes the book anew, from what the state holds.
func (s *State) foldAgain() {
	facts := slices.Clone(s.book.Facts())
	for _, fs := range s.aside {
		facts = append(facts, fs...)
	}
	slices.SortFunc(facts, model.CompareFacts)
	s.book, s.aside = model.NewBook(s.household), map[model.DeviceID][]*model.Fact{}
	s.sayings, s.repeats = newSayings(), map[model.FactID]bool{}
	s.enroll()
	s.book.Grow(len(facts))
	for _, f := range facts {
		s.addFact(s.doors[f.ID.Device], f)
	}
	for ref, fields := range s.registers {
		for key, writes := range fields {
			for i, w := range writes {
				d := s.doors[w.By.Device]
				writes[i].void = !d.maySet(d.role(w.By.Seq), ref, key.Field, w.By.Device)
			}
			if w := current(writes); w != nil {
				s.put(ref, key, w)
			}
		}
	}
}

func (s *State) set(ref model.Ref, key model.FieldKey, w Write) {
	fields := s.registers[ref]
	if fields == nil {
		fields = map[model.FieldKey][]Write{}
		s.registers[ref] = fields
	}
	writes := fields[key]
	at, found := slices.BinarySearchFunc(writes, w, compareWrites)
	if found {
		return
	}
	fields[key] = slices.Insert(writes, at, w)
	if now := current(fields[key]); now != nil && now.By == w.By {
		s.put(ref, key, &w)
	}
}

func (s *State) put(ref model.Ref, key model.FieldKey, w *Write) {
	s.book.Put(ref, key, w.Value, model.Instant(w.Stamp.Millis()))
}

// current is the greatest write that counts.
func current(writes []Write) *Write {
	for i := range slices.Backward(writes) {
		if !writes[i].void {
			return &writes[i]
		}
	}
	return nil
}

func compareWrites(a, b Write) int {
	if a.Stamp != b.Stamp {
		return cmp.Compare(a.Stamp, b.Stamp)
	}
	return a.By.Compare(b.By)
}

// Current is the setting that counts, the zero Write if there is none.
func (s *State) Current(ref model.Ref, key model.FieldKey) Write {
	if w := current(s.registers[ref][key]); w != nil {
		return *w
	}
	return Write{}
}

// sortedKeys gives a map's keys in a fixed order.
func sortedKeys[K comparable, V any](m map[K]V, compare func(a, b K) int) []K {
	keys := make([]K, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, compare)
	return keys
}

func compareRefs(a, b model.Ref) int {
	if a.Kind != b.Kind {
		return cmp.Compare(a.Kind, b.Kind)
	}
	return bytes.Compare(a.ID[:], b.ID[:])
}

func compareFieldKeys(a, b model.FieldKey) int {
	if a.Field != b.Field {
		return cmp.Compare(a.Field, b.Field)
	}
	return bytes.Compare(a.Sub[:], b.Sub[:])
}
