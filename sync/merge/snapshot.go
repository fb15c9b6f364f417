package merge

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"math"

	"github.com/fxamacker/cbor/v2"
	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
	"leafturn/sync/packed"
)

// snapshotVersion is the version of the snapshot's form. A reader throws others
// away and folds the log again: a snapshot is only ever a shortcut.
const snapshotVersion = 1

// The form of a snapshot. Everything is sorted, so that equal states have equal
// bytes; facts are in the order of their device's log, under that log's names.
type savedState struct {
	_         struct{} `cbor:",toarray"`
	Version   uint64
	Household uuid.UUID
	Logs      []savedLog
	Names     []byte          // ids that writes name, sorted, sixteen bytes each; from 1, 0 is none
	Records   cbor.RawMessage // an array of savedRecord
}

type savedLog struct {
	_          struct{} `cbor:",toarray"`
	Tail       oplog.SavedTail
	Membership oplog.SavedOps
	Facts      oplog.SavedFacts
}

type savedRecord struct {
	_      struct{} `cbor:",toarray"`
	Kind   uint8
	ID     uuid.UUID
	Fields []savedField
}

type savedField struct {
	_      struct{} `cbor:",toarray"`
	Field  uint8
	Sub    uuid.UUID
	Writes []savedWrite
}

// savedWrite is small numbers wherever it can be: there are many.
type savedWrite struct {
	_          struct{} `cbor:",toarray"`
	Device     uint64   // by name, as ID and OverDevice are
	Seq        uint64
	Stamp      uint64
	Type       uint8
	Text       string
	Int        int64
	ID         uint64
	OverDevice uint64
	OverSeq    uint64
}

var encMode = func() cbor.EncMode {
	m, err := cbor.CoreDetEncOptions().EncMode()
	if err != nil {
		panic(err) // the options are constant
	}
	return m
}()

// decMode reads snapshots that this device wrote itself and has checked the sum
// of, so its limits are those of a large household, not of a hostile one.
var decMode = func() cbor.DecMode {
	m, err := cbor.DecOptions{IndefLength: cbor.IndefLengthForbidden, TagsMd: cbor.TagsForbidden, MaxArrayElements: 1 << 24}.DecMode()
	if err != nil {
		panic(err)
	}
	return m
}()

// Snapshot is the whole state as bytes: equal states have equal bytes, however
// they came about.
func (s *State) Snapshot() ([]byte, error) {
	w := savedState{Version: snapshotVersion, Household: s.household.UUID()}
	for _, d := range sortedKeys(s.tails, model.CompareIDs) {
		log, err := s.saveLog(d)
		if err != nil {
			return nil, err
		}
		w.Logs = append(w.Logs, log)
	}
	names := s.nameWrites()
	for _, id := range names.ids {
		w.Names = append(w.Names, id[:]...)
	}
	records := make([]savedRecord, 0, len(s.registers))
	for _, ref := range sortedKeys(s.registers, compareRefs) {
		records = append(records, s.saveRecord(ref, names))
	}
	var err error
	if w.Records, err = encMode.Marshal(records); err != nil {
		return nil, err
	}
	return encMode.Marshal(w)
}

// Digest is the SHA-256 of the snapshot. Replicas that hold the same operations
// have the same digest.
func (s *State) Digest() ([sha256.Size]byte, error) {
	b, err := s.Snapshot()
	return sha256.Sum256(b), err
}

func (s *State) saveLog(d model.DeviceID) (savedLog, error) {
	tail := s.tails[d]
	log := savedLog{Tail: tail.Save()}
	var err error
	if log.Membership, err = tail.SaveOps(s.changesOf(d)); err != nil {
		return log, fmt.Errorf("snapshot log of %s: %w", d, err)
	}
	if log.Facts, err = tail.SaveFacts(s.factsOf(d)); err != nil {
		return log, fmt.Errorf("snapshot log of %s: %w", d, err)
	}
	return log, nil
}

// changesOf gives what a device changed about membership, in order of its log.
func (s *State) changesOf(d model.DeviceID) []*oplog.Op {
	var own []*oplog.Op
	for _, op := range s.changes {
		if op.ID.Device == d {
			own = append(own, op)
		}
	}
	return own
}

// factsOf gives the facts of a device, whether they count or not, in order of its log.
func (s *State) factsOf(d model.DeviceID) []*model.Fact {
	return oplog.Interleave(s.book.DeviceFacts(d), s.aside[d], func(a, b *model.Fact) bool { return a.ID.Seq < b.ID.Seq })
}

// names stand for the ids in writes.
type names struct {
	ids   []uuid.UUID // sorted
	index map[uuid.UUID]uint64
}

// nameWrites names every id that a write holds.
func (s *State) nameWrites() names {
	n := names{index: map[uuid.UUID]uint64{}}
	for _, fields := range s.registers {
		for _, writes := range fields {
			for _, w := range writes {
				n.index[w.By.Device.UUID()], n.index[w.Value.ID], n.index[w.Over.Device.UUID()] = 0, 0, 0
			}
		}
	}
	delete(n.index, uuid.UUID{})
	n.ids = sortedKeys(n.index, func(a, b uuid.UUID) int { return bytes.Compare(a[:], b[:]) })
	for i, id := range n.ids {
		n.index[id] = uint64(i + 1)
	}
	return n
}

func (s *State) saveRecord(ref model.Ref, n names) savedRecord {
	r := savedRecord{Kind: uint8(ref.Kind), ID: ref.ID}
	fields := s.registers[ref]
	for _, key := range sortedKeys(fields, compareFieldKeys) {
		f := savedField{Field: uint8(key.Field), Sub: key.Sub}
		for _, w := range fields[key] {
			f.Writes = append(f.Writes, savedWrite{Device: n.index[w.By.Device.UUID()], Seq: w.By.Seq, Stamp: uint64(w.Stamp), Type: uint8(w.Value.Type),
				Text: w.Value.Text, Int: w.Value.Int, ID: n.index[w.Value.ID], OverDevice: n.index[w.Over.Device.UUID()], OverSeq: w.Over.Seq})
		}
		r.Fields = append(r.Fields, f)
	}
	return r
}

// Restore makes the state of a snapshot. It trusts the bytes, as a device may trust
// its own disk after checking a sum; it refuses those of another version.
func Restore(data []byte) (*State, error) {
	var w savedState
	if err := decMode.Unmarshal(data, &w); err != nil {
		return nil, fmt.Errorf("restore snapshot: %w", err)
	}
	if w.Version != snapshotVersion {
		return nil, fmt.Errorf("restore snapshot: version %d", w.Version)
	}
	s := New(model.HouseholdID(w.Household))
	if err := s.restoreMembership(w.Logs); err != nil {
		return nil, err
	}
	if err := s.restoreLogs(w.Logs); err != nil {
		return nil, err
	}
	if err := s.restoreRecords(w.Records, w.Names); err != nil {
		return nil, err
	}
	return s, nil
}

// restoreLogs puts the facts of all logs into the book in order of writing, so that
// the book need not sort them.
func (s *State) restoreLogs(logs []savedLog) error {
	runs := make([][]*model.Fact, 0, len(logs))
	for _, log := range logs {
		facts, err := s.tails[log.Tail.Device].RestoreFacts(log.Facts)
		if err != nil {
			return fmt.Errorf("restore log of %s: %w", log.Tail.Device, err)
		}
		runs = append(runs, facts)
		s.book.GrowLog(log.Tail.Device, len(facts))
	}
	earlier := func(a, b *model.Fact) bool { return model.CompareFacts(a, b) < 0 }
	for ; len(runs) > 1; runs = runs[:(len(runs)+1)/2] {
		for i := 0; i < len(runs)/2; i++ {
			last := len(runs) - 1 - i
			runs[i] = oplog.Interleave(runs[i], runs[last], earlier)
		}
	}
	for _, facts := range runs {
		s.book.Grow(len(facts))
		for _, f := range facts {
			s.addFact(s.doors[f.ID.Device], f)
		}
	}
	return nil
}

// restoreMembership comes first, because it says what else counts.
func (s *State) restoreMembership(logs []savedLog) error {
	var ops []*oplog.Op
	for _, log := range logs {
		d := log.Tail.Device
		s.tails[d] = oplog.RestoreTail(s.household, log.Tail)
		own, err := s.tails[d].RestoreOps(log.Membership)
		if err != nil {
			return fmt.Errorf("restore log of %s: %w", d, err)
		}
		ops = append(ops, own...)
	}
	s.fold(ops)
	for d := range s.tails {
		if s.doors[d] == nil {
			return fmt.Errorf("restore log of %s: it has no beginning", d)
		}
	}
	return nil
}

// restoreRecords reads what saveRecord made of all records.
func (s *State) restoreRecords(data, names []byte) error {
	r := records{Items: packed.ReadItems(data), names: names}
	for range r.List(math.MaxUint32) {
		r.Array(3)
		ref := model.Ref{Kind: model.Kind(r.Uint(math.MaxUint8)), ID: r.uuid()}
		for range r.List(math.MaxUint32) {
			r.Array(3)
			key := model.FieldKey{Field: model.Field(r.Uint(math.MaxUint8)), Sub: r.uuid()}
			for range r.List(math.MaxUint32) {
				w := r.write()
				d := s.doors[w.By.Device]
				if d == nil {
					return fmt.Errorf("restore record %s: a write of a device without a log", ref.ID)
				}
				w.void = !d.maySet(d.role(w.By.Seq), ref, key.Field, w.By.Device)
				s.set(ref, key, w)
			}
		}
	}
	if r.Bad || !r.End() {
		return errors.New("restore records: they are damaged")
	}
	return nil
}

// records reads saved records, which there are many of.
type records struct {
	packed.Items
	names []byte
}

func (r *records) uuid() (id uuid.UUID) {
	b := r.Bytes()
	r.Bad = r.Bad || len(b) != len(id)
	copy(id[:], b)
	return id
}

// name is an id that is written as a name.
func (r *records) name() (id uuid.UUID) {
	if n := r.Uint(uint64(len(r.names) / len(id))); n != 0 && !r.Bad {
		copy(id[:], r.names[len(id)*int(n-1):])
	}
	return id
}

func (r *records) write() Write {
	r.Array(9)
	return Write{
		By:    model.FactID{Device: model.DeviceID(r.name()), Seq: r.Uint(math.MaxUint64)},
		Stamp: hlc.Stamp(r.Uint(math.MaxUint64)),
		Value: model.Value{Type: model.ValueType(r.Uint(math.MaxUint8)), Text: r.Text(), Int: r.Int(), ID: r.name()},
		Over:  model.FactID{Device: model.DeviceID(r.name()), Seq: r.Uint(math.MaxUint64)},
	}
}
