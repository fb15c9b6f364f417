package simtest_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"time"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// The laws. Those about what the logs say are checked on the operations themselves,
// by the shortest code that says what is meant, and not by the code under test.

// check proves what the package promises of a healed household.
func (w *world) check() error {
	batches, err := w.batches()
	if err != nil {
		return err
	}
	st := merge.New(w.phones[0].Household())
	if refused := st.Apply(batches...); len(refused) > 0 {
		return fmt.Errorf("the log of %s is refused: %w", w.servers[0].name, refused[0].Err)
	}
	ops, err := read(st, batches)
	if err != nil {
		return err
	}
	aside := setAside(st)
	counting := slices.DeleteFunc(slices.Clone(ops), func(op *oplog.Op) bool { return aside[op.ID] })
	for _, law := range []func() error{
		func() error { return w.allTheSame(st) },
		func() error { return w.nothingLost(ops) },
		func() error { return w.nothingMadeUp(ops) },
		func() error { return onlyWhoMay(st, ops) },
		func() error { return w.lastWriteWins(counting) },
		func() error { return w.tasksFollow(st, counting) },
	} {
		if err := law(); err != nil {
			return err
		}
	}
	return nil
}

// batches reads the whole log of the first server.
func (w *world) batches() ([]*oplog.Batch, error) {
	log := w.servers[0].disk.now
	heads, err := log.Heads(ctx)
	if err != nil {
		return nil, err
	}
	var all []*oplog.Batch
	for _, d := range oplog.VectorOf(heads).Devices() {
		batches, err := log.Read(ctx, d, 0, 1<<30)
		if err != nil {
			return nil, err
		}
		all = append(all, batches...)
	}
	return all, nil
}

// read gives the operations of all logs, and checks on the way what a reader who has
// only FORMAT.md would check: that each batch goes on where the one before it ended,
// and that its device signed it.
func read(st *merge.State, batches []*oplog.Batch) ([]*oplog.Op, error) {
	var out []*oplog.Op
	tails := map[model.DeviceID]*oplog.Tail{}
	for _, b := range batches {
		if tails[b.Device] == nil {
			tails[b.Device] = oplog.NewTail(st.Household(), b.Device)
		}
		tail := tails[b.Device]
		if b.First != tail.Head().Seq+1 || b.Prev != tail.Head().Hash {
			return nil, fmt.Errorf("log of %s: batch %d does not go on", b.Device, b.First)
		}
		items := split(b.Ops)
		if key, _ := st.Key(b.Device); !signed(st.Household(), key, b, items) {
			return nil, fmt.Errorf("log of %s: batch %d is not signed", b.Device, b.First)
		}
		for _, data := range items {
			op, err := tail.Replay(data)
			if err != nil {
				return nil, fmt.Errorf("log of %s: %w", b.Device, err)
			}
			out = append(out, op)
		}
	}
	return out, nil
}

// signed checks chain and signature by the written rule.
func signed(h model.HouseholdID, key ed25519.PublicKey, b *oplog.Batch, items [][]byte) bool {
	hash := b.Prev
	for _, op := range items {
		hash = sha256.Sum256(append(hash[:len(hash):len(hash)], op...))
	}
	text := append([]byte("leafturn batch v1\n"), h[:]...)
	text = append(text, b.Device[:]...)
	text = binary.BigEndian.AppendUint64(text, b.Last())
	return len(items) == b.Count && ed25519.Verify(key, append(text, hash[:]...), b.Sig)
}

// allTheSame: every replica holds the same state, whether it took it in bit by bit,
// or restores it from a snapshot; and one of the phones, which is enough by ten
// thousand runs, also when it is opened anew from its disk.
func (w *world) allTheSame(st *merge.State) error {
	data, err := st.Snapshot()
	if err != nil {
		return err
	}
	want := sha256.Sum256(data)
	for _, s := range w.servers {
		if got, err := s.service.Digest(ctx, st.Household()); err != nil || got != want {
			return fmt.Errorf("%s differs from its own log: %v", s.name, err)
		}
	}
	for _, p := range w.phones {
		if got, err := p.Digest(); err != nil || got != want {
			return fmt.Errorf("%s differs: %v", p.name, err)
		}
	}
	p := w.somePhone()
	if err := p.boot(); err != nil {
		return err
	}
	if got, err := p.Digest(); err != nil || got != want {
		return fmt.Errorf("%s differs when it is opened anew: %v", p.name, err)
	}
	restored, err := merge.Restore(data)
	if err != nil {
		return err
	}
	if again, err := restored.Snapshot(); err != nil || !bytes.Equal(again, data) {
		return fmt.Errorf("a restored snapshot is another state: %v", err)
	}
	return nil
}

// nothingLost: what somebody was told is saved is there, under the number they were
// given, with what they wrote in it.
func (w *world) nothingLost(ops []*oplog.Op) error {
	there := map[model.FactID]*oplog.Op{}
	for _, op := range ops {
		if there[op.ID] != nil {
			return fmt.Errorf("%v is there twice", op.ID)
		}
		there[op.ID] = op
	}
	for id, body := range w.saved {
		if op := there[id]; op == nil {
			return fmt.Errorf("%v was saved and is gone", id)
		} else if textOf(op.Body) != textOf(body) {
			return fmt.Errorf("%v is %s, but %s was saved", id, textOf(op.Body), textOf(body))
		}
	}
	return nil
}

// textOf says what was written, without what the phone fills in.
func textOf(body any) string {
	type one struct {
		Key   model.FieldKey
		Value model.Value
	}
	switch b := body.(type) {
	case *model.Fact:
		text, _ := json.Marshal(b.Body) // numbers, texts and lists always encode
		return fmt.Sprintf("%T%s", b.Body, text)
	case *oplog.Set:
		var all []one
		for _, f := range b.Fields {
			all = append(all, one{f.Key, f.Value})
		}
		return fmt.Sprintf("%v%v", b.Record, all)
	}
	return fmt.Sprintf("%T", body)
}

// nothingMadeUp: every fact and every setting was written by a person on the phone
// whose log it is in. Phones name themselves and their members.
func (w *world) nothingMadeUp(ops []*oplog.Op) error {
	tried := map[model.DeviceID]map[string]bool{}
	for _, p := range append(w.phones, w.gone...) {
		texts := map[string]bool{}
		for _, body := range p.tried {
			texts[textOf(body)] = true
		}
		tried[p.Device()] = texts
	}
	for _, op := range ops {
		switch b := op.Body.(type) {
		case *oplog.Set:
			named := b.Record.Kind == model.KindMember || b.Record.Kind == model.KindDevice || b.Record.Kind == model.KindHousehold && op.ID.Seq <= 3
			if named && b.Fields[0].Value.Text != mark {
				continue
			}
		case *model.Fact:
		default:
			continue
		}
		if !tried[op.ID.Device][textOf(op.Body)] {
			return fmt.Errorf("%v is there and nobody wrote it: %s", op.ID, textOf(op.Body))
		}
	}
	return nil
}

// lastWriteWins: of every register the write with the greatest stamp, then device,
// then number counts on every phone; and who had seen a write and replaced it has
// the later stamp, whatever the clocks showed.
func (w *world) lastWriteWins(ops []*oplog.Op) error {
	byID := map[model.FactID]*oplog.Op{}
	for _, op := range ops {
		byID[op.ID] = op
	}
	for ref, fields := range settings(ops) {
		for key, writes := range fields {
			want := lastOf(writes)
			for _, p := range w.phones {
				if got := p.Value(ref, key); got != want.Value {
					return fmt.Errorf("%s shows %v of %v, but %v was written last", p.name, got, ref, want.Value)
				}
			}
			for _, one := range writes {
				if over := byID[one.Over]; over != nil && over.Stamp >= one.Stamp {
					return fmt.Errorf("%v replaced %v, but is not later", one.By, over.ID)
				}
			}
		}
	}
	return nil
}

// tasksFollow: all phones show the same tasks, and these are those that follow from
// the facts.
func (w *world) tasksFollow(st *merge.State, ops []*oplog.Op) error {
	want := agenda.Derive(st.Book(), model.Instant(w.now), time.UTC)
	for _, p := range w.phones {
		if got := p.agenda(); !reflect.DeepEqual(want, got) {
			return fmt.Errorf("%s shows other tasks", p.name)
		}
	}
	facts := map[model.FactID]*model.Fact{}
	for _, op := range ops {
		if f, ok := op.Body.(*model.Fact); ok {
			facts[op.ID] = f
		}
	}
	done := map[model.TaskKey]int{}
	for id, f := range facts {
		if k := completes(f.Body); !k.IsZero() && stands(facts, id) {
			done[k]++
		}
	}
	for _, t := range want.Open() {
		if done[t.Key] > 0 {
			return fmt.Errorf("task %v is open and was done", t.Key)
		}
		if t.Key.Rule == model.RuleRound && t.Key.Ordinal != 1+lastDone(done, t.Key) {
			return fmt.Errorf("round %v does not follow round %d", t.Key, lastDone(done, t.Key))
		}
	}
	for _, t := range append(want.DoneToday, want.DoneLately...) {
		if len(t.Done.All) != done[t.Key] {
			return fmt.Errorf("task %v was done %d times, not %d", t.Key, done[t.Key], len(t.Done.All))
		}
	}
	return nil
}

// completes is the task that a fact completes.
func completes(b model.Body) model.TaskKey {
	switch x := b.(type) {
	case *model.TaskCompleted:
		return x.Task
	case *model.Inspection:
		return x.Completes
	case *model.Application:
		return x.Completes
	case *model.Handling:
		return x.Completes
	case *model.CardReading:
		return x.Completes
	case *model.Measurement:
		return x.Completes
	}
	return model.TaskKey{}
}

// stands reports whether nobody took a fact back later, or only by what was itself
// taken back.
func stands(facts map[model.FactID]*model.Fact, id model.FactID) bool {
	for by, f := range facts {
		if x, ok := f.Body.(*model.Withdrawn); ok && x.Fact == id && (facts[id] == nil || model.CompareFacts(facts[id], f) < 0) && stands(facts, by) {
			return false
		}
	}
	return true
}

// lastDone is the number of the last round of a place that was done.
func lastDone(done map[model.TaskKey]int, k model.TaskKey) (last uint32) {
	for other := range done {
		if other.Rule == k.Rule && other.Subject == k.Subject {
			last = max(last, other.Ordinal)
		}
	}
	return last
}
