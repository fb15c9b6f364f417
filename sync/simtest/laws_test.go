package simtest_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
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
	repeats := repeats(ops, aside)
	for id := range repeats {
		aside[id] = true
	}
	counting := slices.DeleteFunc(slices.Clone(ops), func(op *oplog.Op) bool { return aside[op.ID] })
	facts := factsOf(counting, repeats)
	for _, law := range []func() error{
		func() error { return w.allTheSame(st) },
		func() error { return w.nothingLost(ops) },
		func() error { return w.nothingMadeUp(ops) },
		func() error { return w.nothingDoubled(counting) },
		func() error { return w.whatCounts(facts, repeats) },
		func() error { return onlyWhoMay(st, ops) },
		func() error { return w.lastWriteWins(counting) },
		func() error { return w.tasksFollow(st, facts) },
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
// only FORMAT.md would check: that each batch goes on where the one before it ended, or
// repeats its end, and that its device signed it.
func read(st *merge.State, batches []*oplog.Batch) ([]*oplog.Op, error) {
	var out []*oplog.Op
	tails := map[model.DeviceID]*oplog.Tail{}
	for _, b := range batches {
		if tails[b.Device] == nil {
			tails[b.Device] = oplog.NewTail(st.Household(), b.Device)
		}
		tail := tails[b.Device]
		items, known := split(b.Ops), tail.Head().Seq+1-b.First
		if b.First == 0 || b.First > tail.Head().Seq+1 || hashAfter(b.Prev, items[:known]) != tail.Head().Hash {
			return nil, fmt.Errorf("log of %s: batch %d does not go on", b.Device, b.First)
		}
		if key, _ := st.Key(b.Device); !signed(st.Household(), key, b, items) {
			return nil, fmt.Errorf("log of %s: batch %d is not signed", b.Device, b.First)
		}
		for _, data := range items[known:] {
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
	hash := hashAfter(b.Prev, items)
	text := append([]byte("leafturn batch v1\n"), h[:]...)
	text = append(text, b.Device[:]...)
	text = binary.BigEndian.AppendUint64(text, b.Last())
	return len(items) == b.Count && ed25519.Verify(key, append(text, hash[:]...), b.Sig)
}

func hashAfter(hash oplog.Hash, items [][]byte) oplog.Hash {
	for _, op := range items {
		hash = sha256.Sum256(append(hash[:len(hash):len(hash)], op...))
	}
	return hash
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

// lastWriteWins: of every register the write with the greatest stamp, then device,
// then number counts on every phone; and who had seen a write and replaced it comes
// later in that order, whatever the clocks showed. A number in a log that has had two
// histories may have been that of another write when it was named.
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
				if over := byID[one.Over]; over != nil && !w.kins[over.ID.Device].torn && compareOps(over, byID[one.By]) >= 0 {
					return fmt.Errorf("%v replaced %v, but is not later", one.By, over.ID)
				}
			}
		}
	}
	return nil
}

// tasksFollow: all phones show the same tasks, and these are those that follow from
// the facts.
func (w *world) tasksFollow(st *merge.State, facts map[model.FactID]*model.Fact) error {
	want := agenda.Derive(st.Book(), model.Instant(w.now), time.UTC)
	for _, p := range w.phones {
		if got := p.agenda(); !reflect.DeepEqual(want, got) {
			return fmt.Errorf("%s shows other tasks", p.name)
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

// lastDone is the number of the last round of a place that was done.
func lastDone(done map[model.TaskKey]int, k model.TaskKey) (last uint32) {
	for other := range done {
		if other.Rule == k.Rule && other.Subject == k.Subject {
			last = max(last, other.Ordinal)
		}
	}
	return last
}
