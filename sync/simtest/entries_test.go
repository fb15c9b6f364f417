package simtest_test

import (
	"encoding/json"
	"fmt"
	"slices"

	"github.com/fxamacker/cbor/v2"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// What people were told is saved, and where it is.

// kin is a phone and its copies. They write under one device's name until they meet,
// and under others afterwards, so what was written is known by what it says.
type kin struct {
	tried []any // what its people tried to write
	torn  bool  // there may be two histories of one log of theirs, or their entries under new numbers
}

// entry is what a person was told is saved, under which number and when.
type entry struct {
	id   model.FactID
	body any
	said []said // what of it is still on some disk
	when model.Instant
}

// said is one thing that an entry says, wherever it is: a fact with when it was seen, or
// one of the fields that were set.
type said struct {
	at   model.Instant
	text string
	ref  model.Ref
	key  model.FieldKey
}

func saidBy(body any) (all []said) {
	switch b := body.(type) {
	case *model.Fact:
		return []said{{at: b.At, text: textOf(b)}}
	case *oplog.Set:
		for _, f := range b.Fields {
			all = append(all, said{text: fmt.Sprint(f.Value), ref: b.Record, key: f.Key})
		}
		return all
	}
	return []said{{text: textOf(body)}}
}

// entry is what this phone has just saved.
func (p *phone) entry(id model.FactID, body any) entry {
	e := entry{id: id, body: body, said: saidBy(body), when: p.Now()}
	p.Read(func(b *model.Book) {
		if f, ok := b.Fact(id); ok {
			e.said[0].at = f.At
		}
	})
	return e
}

// words are things that are said somewhere.
type words map[said]bool

func (w words) add(body any) {
	for _, s := range saidBy(body) {
		w[s] = true
	}
}

// textOf says what was written, without what the phone fills in, and without numbers
// that are others when it is written again.
func textOf(body any) string {
	f, ok := body.(*model.Fact)
	if !ok {
		return fmt.Sprintf("%T", body)
	}
	if x, ok := f.Body.(*model.Withdrawn); ok {
		return fmt.Sprintf("%T%s", x, x.Note)
	}
	text, _ := json.Marshal(f.Body) // numbers, texts and lists always encode
	return fmt.Sprintf("%T%s", f.Body, text)
}

// forget gives up what was saved on disks that are gone and is on no other.
func (w *world) forget() error {
	numbers, there, err := w.onDisks()
	if w.torn() {
		for i := range w.saved {
			w.saved[i].said = slices.DeleteFunc(w.saved[i].said, func(s said) bool { return !there[s] })
		}
	}
	w.saved = slices.DeleteFunc(w.saved, func(e entry) bool {
		return len(e.said) == 0 || !w.torn() && e.id.Seq > numbers[e.id.Device]
	})
	return err
}

// onDisks says how far the disks of servers and living phones go in each log, and what
// is on them of the kins whose numbers mean nothing any more.
func (w *world) onDisks() (oplog.Vector, words, error) {
	numbers, there := oplog.Vector{}, words{}
	for _, s := range w.servers {
		if err := w.look(s.disk.now, numbers, there); err != nil {
			return nil, nil, err
		}
	}
	for _, p := range w.phones {
		if err := w.look(p.disk.now, numbers, there); err != nil {
			return nil, nil, err
		}
		if err := p.lookBeside(numbers, there); err != nil {
			return nil, nil, err
		}
	}
	return numbers, there, nil
}

// look looks through a log.
func (w *world) look(log oplog.Log, numbers oplog.Vector, there words) error {
	heads, err := log.Heads(ctx)
	if err != nil {
		return err
	}
	for d, head := range heads {
		numbers[d] = max(numbers[d], head.Seq)
		if !w.torn() {
			continue
		}
		batches, err := log.Read(ctx, d, 0, 1<<30)
		if err != nil {
			return err
		}
		if _, err := replay(oplog.NewTail(w.household(), d), itemsOf(batches), there); err != nil {
			return err
		}
	}
	return nil
}

func (w *world) household() model.HouseholdID { return w.phones[0].Household() }

// itemsOf gives the operations of a log. A batch may repeat what the one before it ends
// with: a phone that was set back signs it once more, with what came after.
func itemsOf(batches []*oplog.Batch) (items [][]byte) {
	for _, b := range batches {
		items = append(items, split(b.Ops)[len(items)+1-int(b.First):]...)
	}
	return items
}

func replay(tail *oplog.Tail, items [][]byte, there words) (*oplog.Tail, error) {
	for _, data := range items {
		op, err := tail.Replay(data)
		if err != nil {
			return nil, err
		}
		there.add(op.Body)
	}
	return tail, nil
}

// moved is how a phone keeps what it is to write again since it goes on under another
// key, as far as this test needs it; see package replica.
type moved struct {
	_       struct{} `cbor:",toarray"`
	Code    string
	Words   string
	When    int64
	Device  model.DeviceID
	Tail    oplog.SavedTail
	Ops     [][]byte
	Carried int
	Left    []uint64
	Done    bool
}

// lookBeside looks at what a phone keeps beside the log: what is not signed yet, and
// what waits to be written again, or may not be.
func (p *phone) lookBeside(numbers oplog.Vector, there words) error {
	d := p.Device()
	pending, err := p.disk.now.Pending(ctx)
	if err != nil {
		return err
	}
	for _, one := range pending {
		numbers[d] = max(numbers[d], one.Seq)
	}
	if !p.w.torn() {
		return nil
	}
	signed, err := p.disk.now.Read(ctx, d, 0, 1<<30)
	if err != nil {
		return err
	}
	items := itemsOf(signed)
	for _, one := range pending {
		items = append(items, one.Op)
	}
	if _, err := replay(oplog.NewTail(p.Household(), d), items, there); err != nil {
		return err
	}
	if err := p.lookAtGivenUp(there); err != nil {
		return err
	}
	kept, err := p.disk.now.Kept(ctx, "move")
	if err != nil || kept == nil {
		return err
	}
	var m moved
	if err := cbor.Unmarshal(kept, &m); err != nil {
		return err
	}
	_, err = replay(oplog.RestoreTail(p.Household(), m.Tail), m.Ops, there)
	return err
}

// givenUp is how a phone keeps the end of a history that it gave up, while it may not
// write all of it again.
type givenUp struct {
	_    struct{} `cbor:",toarray"`
	Tail oplog.SavedTail
	Ops  [][]byte
}

func (p *phone) lookAtGivenUp(there words) error {
	kept, err := p.disk.now.Kept(ctx, "given-up")
	if err != nil || kept == nil {
		return err
	}
	var all []givenUp
	if err := cbor.Unmarshal(kept, &all); err != nil {
		return err
	}
	for _, one := range all {
		if _, err := replay(oplog.RestoreTail(p.Household(), one.Tail), one.Ops, there); err != nil {
			return err
		}
	}
	return nil
}

// torn reports whether any log may have had two histories.
func (w *world) torn() bool {
	for _, k := range w.kins {
		if k.torn {
			return true
		}
	}
	return false
}

// nothingLost: what somebody was told is saved is there, under the number they were
// given, with what they wrote in it. Where a phone was copied, or its disk set back, it
// is there perhaps under another number, also what others wrote whom that phone invited;
// but for settings that a later one had replaced.
func (w *world) nothingLost(ops []*oplog.Op) error {
	byID, there := map[model.FactID]*oplog.Op{}, words{}
	for _, op := range ops {
		if byID[op.ID] != nil {
			return fmt.Errorf("%v is there twice", op.ID)
		}
		byID[op.ID] = op
		there.add(op.Body)
	}
	for _, p := range w.phones {
		left, err := p.LeftBehind(ctx)
		if err != nil {
			return err
		}
		for _, body := range left { // it is kept, and not written any more by who may not
			there.add(body)
		}
		if err := p.lookAtGivenUp(there); err != nil {
			return err
		}
	}
	writes := settings(ops)
	for _, e := range w.saved {
		op := byID[e.id]
		if op != nil && slices.Equal(saidBy(op.Body), e.said) {
			continue
		}
		if !w.torn() {
			return fmt.Errorf("%v is not there as it was saved: %v", e.id, e.said)
		}
		for _, s := range e.said {
			if carries(e.body) && !there[s] && !replaced(writes[s.ref][s.key], e.when) {
				return fmt.Errorf("%v was saved and is gone: %v", e.id, s)
			}
		}
	}
	return nil
}

// replaced reports whether a field was set after a moment.
func replaced(writes []merge.Write, when model.Instant) bool {
	return slices.ContainsFunc(writes, func(w merge.Write) bool { return w.Stamp.Millis() >= int64(when) })
}

// carries reports whether a phone writes such an entry again under another key. It
// does not invite again, because a link names the old log.
func carries(body any) bool {
	switch body.(type) {
	case *model.Fact, *oplog.Set:
		return true
	}
	return false
}

// nothingMadeUp: every fact and every setting was written by a person on the phone
// whose log it is in, or on a copy of it; where logs have had two histories, somebody
// else may have written it again. Phones name themselves and their members.
func (w *world) nothingMadeUp(ops []*oplog.Op) error {
	anybody, own := words{}, map[*kin]words{}
	for _, k := range w.kins {
		own[k] = words{}
		for _, body := range k.tried {
			if f, ok := body.(*model.Fact); ok {
				body = replica.Seen(f.Body) // whenever it was
			}
			own[k].add(body)
			if w.torn() {
				anybody.add(body)
			}
		}
	}
	for _, op := range ops {
		if !carries(op.Body) || names(op) {
			continue
		}
		for _, s := range saidBy(op.Body) {
			s.at = 0
			if !anybody[s] && !own[w.kins[op.ID.Device]][s] {
				return fmt.Errorf("%v is there and nobody wrote it: %v", op.ID, s)
			}
		}
	}
	return nil
}

// nothingDoubled: no fact counts more often than somebody wrote it.
func (w *world) nothingDoubled(counting []*oplog.Op) error {
	left, kins := map[string]int{}, map[*kin]bool{}
	for _, k := range w.kins {
		if kins[k] {
			continue
		}
		kins[k] = true
		for _, body := range k.tried {
			left[textOf(body)]++
		}
	}
	for _, op := range counting {
		f, ok := op.Body.(*model.Fact)
		if !ok {
			continue
		}
		if _, back := f.Body.(*model.Withdrawn); back {
			continue // to take something back twice takes it back
		}
		if left[textOf(f)]--; left[textOf(f)] < 0 {
			return fmt.Errorf("%v counts once more than it was written: %s", op.ID, textOf(f))
		}
	}
	return nil
}

// names reports whether an operation is one by which phones name themselves.
func names(op *oplog.Op) bool {
	s, ok := op.Body.(*oplog.Set)
	if !ok {
		return false
	}
	return (s.Record.Kind == model.KindMember || s.Record.Kind == model.KindDevice || s.Record.Kind == model.KindHousehold && op.ID.Seq <= 3) && s.Fields[0].Value.Text != mark
}

// repeats names the facts that say what an earlier one of another device says, of what
// the same member saw or did at the same moment, and those that they repeat. It is one
// thing, too, if one of two members was not there yet at that moment, and none is a guest.
func repeats(ops []*oplog.Op, aside map[model.FactID]bool) map[model.FactID]model.FactID {
	type moment struct {
		at   model.Instant
		text string
	}
	r := rightsOf(ops)
	came := r.came(ops)
	before := func(op *oplog.Op) bool {
		f := op.Body.(*model.Fact)
		return f.By == r.members[op.ID.Device] && int64(f.At) < came[f.By].Millis()
	}
	one := func(a, b *oplog.Op) bool {
		if a.ID.Device == b.ID.Device {
			return false
		}
		guests := r.role(a.ID) == model.Guest || r.role(b.ID) == model.Guest
		return a.Body.(*model.Fact).By == b.Body.(*model.Fact).By || !guests && (before(a) || before(b))
	}
	counting, out := map[moment][]*oplog.Op{}, map[model.FactID]model.FactID{}
	for _, op := range slices.SortedFunc(slices.Values(ops), compareOps) {
		f, ok := op.Body.(*model.Fact)
		if !ok || aside[op.ID] {
			continue
		}
		if _, back := f.Body.(*model.Withdrawn); back {
			continue
		}
		m := moment{f.At, textOf(f)}
		if i := slices.IndexFunc(counting[m], func(earlier *oplog.Op) bool { return one(earlier, op) }); i >= 0 {
			out[op.ID] = counting[m][i].ID
			continue
		}
		counting[m] = append(counting[m], op)
	}
	return out
}
