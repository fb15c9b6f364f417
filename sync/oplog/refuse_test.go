package oplog_test

import (
	"bytes"
	"slices"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// written is an operation as its elements, at a log that knows all its names.
func written(t *testing.T, name string) (op []any, read func(op []any) (*oplog.Op, error)) {
	t.Helper()
	p := newPen(1)
	p.write(t, bodies(p)[name])
	saved := p.tail.Save()
	ops, err := p.tail.Write(p.stamp+70_000, bodies(p)[name])
	require.NoError(t, err)
	require.Len(t, ops, 1)
	items, _ := sequence(t, ops[0])
	return items[0], func(op []any) (*oplog.Op, error) { return oplog.RestoreTail(p.household, saved).Replay(encoded(t, op)) }
}

// What a writer would not write a reader does not take: each is a good operation but
// for one element.
func TestReadersValidateWhatTheyRead(t *testing.T) {
	many := func(n int, x any) []any { return slices.Repeat([]any{x}, n) }
	pair := []any{uint64(1), uint64(1)}
	tests := []struct {
		name, body string
		element    int
		value      any
	}{
		{"a key that is too short", "found", 3, make([]byte, 31)},
		{"a nonce that is too short", "found", 4, make([]byte, 15)},
		{"no role", "invite", 4, 0},
		{"a role of tomorrow", "invite", 4, 9},
		{"no end", "invite", 5, 0},
		{"half a member", "invite", 6, make([]byte, 8)},
		{"a proof that is too short", "join", 6, make([]byte, 63)},
		{"an invitation of nobody", "join", 4, make([]byte, 15)},
		{"a successor of nothing", "succeed", 5, 0},
		{"a successor of nobody", "succeed", 4, make([]byte, 16)},
		{"nobody is appointed", "appoint", 3, 0},
		{"to nothing", "appoint", 4, 0},
		{"more seen than there may be", "appoint", 5, many(257, pair)},
		{"nobody is revoked", "revoke", 3, 0},
		{"more stay than there may be", "revoke", 5, many(257, 1)},
		{"nobody is removed", "remove", 3, 0},
		{"more seen of one removed", "remove", 4, many(257, pair)},
		{"a record of nothing", "set", 4, 0},
		{"no settings", "set", 5, []any{}},
		{"a setting that is out of bounds", "set of a set", 5, []any{[]any{uint64(model.OutbreakPest), 0, 200, []any{0, 0}}}},
		{"no plants", "application", 5, []any{}},
		{"a part that is not there", "application", 9, []any{9}},
		{"a part beyond a byte", "application", 9, []any{257}},
		{"done by nobody", "application", 4, 0},
		{"nothing is handled", "handling", 5, 0},
		{"no steps", "plan", 14, []any{}},
		{"no task", "claim", 5, []any{0, 0, 0}},
		{"a day beyond all calendars", "put off", 6, uint64(1) << 40},
		{"no reason", "put off", 7, 0},
		{"nothing is withdrawn", "withdrawn", 5, []any{0, 0}},
		{"a card of no colour", "card", 6, 0},
		{"half a photo", "card", 10, make([]byte, 16)},
		{"a photo that is none", "card", 10, make([]byte, 32)},
		{"colder at its warmest", "temperature", 7, -50},
		{"more damage than leaf", "measurement", 8, 10_001},
		{"no photo", "measurement", 6, []byte{}},
		{"half a point", "measurement", 12, make([]byte, 14)},
		{"photos that are no sums", "inspection", 2, make([]byte, 33)},
		{"seen before all time", "claim", 3, -1 << 47},
		{"further from its stamp than may be", "claim", 3, uint64(1)<<48 + 1},
	}
	for _, test := range tests {
		t.Run(test.body+": "+test.name, func(t *testing.T) {
			op, read := written(t, test.body)
			_, err := read(op)
			require.NoError(t, err, "it is good without that")
			op[test.element] = test.value
			_, err = read(op)
			require.Contains(t, []fault.Code{oplog.ErrDamaged.Code, model.ErrInvalid.Code}, fault.CodeOf(err), "%v", err)
		})
	}
}

// The numbers of an inspection, one of them altered.
func TestReadersValidateTheNumbersOfAnInspection(t *testing.T) {
	op, read := written(t, "clean look")
	good := op[1].([]byte)
	from := len(good) - 4 // after millis, counter, at and by: plant, damage, findings, what follows
	alter := func(at int, tail ...byte) []byte { return append(bytes.Clone(good[:from+at]), tail...) }
	for name, numbers := range map[string][]byte{
		"no plant": alter(0, 0, 0, 0, 0), "more damage than there is": alter(1, 6, 0, 0), "a finding that is not there": alter(2, 1, 0),
		"more findings than may be": append(append(alter(2, 17), bytes.Repeat([]byte{1, 1, 0, 0, 0, 0}, 17)...), 0),
		"what nobody knows follows": alter(3, 4), "what was not seen follows": alter(3, 1, 0, 0, 0, 0), "a truth beyond true": alter(3, 1, 1, 0, 0, 2),
		"a number too many": append(bytes.Clone(good), 0), "a number too few": good[:len(good)-1], "a name that was never given": alter(0, 77, 0, 0, 0),
		"a number without end": alter(0, bytes.Repeat([]byte{0xff}, 11)...),
	} {
		t.Run(name, func(t *testing.T) {
			op[1] = good
			_, err := read(op)
			require.NoError(t, err, "it is good without that")
			op[1] = numbers
			_, err = read(op)
			require.Contains(t, []fault.Code{oplog.ErrDamaged.Code, model.ErrInvalid.Code}, fault.CodeOf(err), "%v", err)
		})
	}
}

// Names are counted from 1 to as many as were given.
func TestTheNameAfterTheLastIsNone(t *testing.T) {
	op, read := written(t, "claim") // names the member and the subject of the task
	for n, good := range map[int]bool{1: true, 2: true, 3: false} {
		op[4] = n
		_, err := read(op)
		require.Equal(t, good, err == nil, "name %d: %v", n, err)
	}
}

// Stamps never go back in a log, not even within a millisecond.
func TestStampsDoNotGoBack(t *testing.T) {
	p := newPen(1)
	p.stamp |= 5
	p.write(t, bodies(p)["claim"])
	saved := p.tail.Save()
	ops, err := p.tail.Write(p.tail.Stamp(), bodies(p)["claim"])
	require.NoError(t, err)
	items, _ := sequence(t, ops[0])
	for counter, good := range map[int]bool{4: false, 5: true, 6: true, 1 << 16: false} {
		items[0][2] = counter
		_, err := oplog.RestoreTail(p.household, saved).Replay(encoded(t, items[0]))
		require.Equal(t, good, err == nil, "counter %d: %v", counter, err)
	}
}

// What an operation leaves out is not filled from the one before it.
func TestNothingIsLeftOverFromTheOperationBefore(t *testing.T) {
	p := newPen(1)
	p.write(t, bodies(p)["inspection"])
	p.write(t, bodies(p)["inspection"])
	items, _ := sequence(t, p.open[len(p.open)-1])
	op, err := p.tail.Replay(encoded(t, []any{8, items[0][1], nil, nil}))
	if err != nil {
		require.ErrorIs(t, err, oplog.ErrDamaged)
		return
	}
	look := op.Body.(*model.Fact).Body.(*model.Inspection)
	require.Empty(t, look.Note)
	require.Empty(t, look.Photos)
}

// Lengths without end are refused in every place of every kind of operation.
func TestNoLengthsWithoutEnd(t *testing.T) {
	for name := range bodies(newPen(1)) {
		op, read := written(t, name)
		_, err := read(op)
		require.NoError(t, err)
		for i, x := range op {
			endless := map[byte][]byte{2: {0x5f, 0xff}, 3: {0x7f, 0xff}, 4: {0x9f, 0xff}}
			raw := encoded(t, x)
			begins, ok := endless[raw[0]>>5]
			if !ok {
				continue
			}
			whole := begins[:1:1]
			if raw[0]>>5 == 4 { // its elements, without their number
				whole = append(whole, raw[1:]...)
			} else {
				whole = append(whole, raw...)
			}
			altered := slices.Clone(op)
			altered[i] = cbor.RawMessage(append(whole, 0xff))
			_, err := read(altered)
			require.ErrorIs(t, err, oplog.ErrDamaged, "%s, element %d", name, i)
		}
	}
}

// A batch is read by its own bytes: the buffer it came in may be used again.
func TestABatchKeepsItsOwnBytes(t *testing.T) {
	p := logtest.NewPen(model.HouseholdID{1}, 3)
	for name, sealed := range map[string]*oplog.Batch{"plain": p.Batch(t, 1), "packed": p.Batch(t, 40)} {
		t.Run(name, func(t *testing.T) {
			buffer := bytes.Clone(sealed.Encode())
			read, err := oplog.DecodeBatch(buffer)
			require.NoError(t, err)
			clear(buffer)
			require.Equal(t, sealed.Encode(), read.Encode())
			require.Equal(t, sealed.Ops, read.Ops)
			require.Equal(t, sealed.Sig, read.Sig)
		})
	}
}

// What does not shrink is not packed, so a batch is never much larger than what it holds.
func TestWhatDoesNotShrinkStaysPlain(t *testing.T) {
	p := logtest.NewPen(model.HouseholdID{1}, 3)
	p.Batch(t, 1)
	photos := p.Photos(t, 4) // sums, which no packing makes smaller
	packing := func(b *oplog.Batch) any {
		items, _ := sequence(t, b.Encode())
		return items[0][5]
	}
	require.EqualValues(t, 0, packing(photos))
	require.Less(t, len(photos.Encode()), len(photos.Ops)+150)
	require.EqualValues(t, 1, packing(p.Batch(t, 40)))
}

// What a snapshot says of photos and notes has to come out even.
func TestSavedFactsComeOutEven(t *testing.T) {
	p := newPen(4)
	var facts []*model.Fact
	for _, name := range []string{"inspection", "clean look", "claim"} {
		p.stamp += 1 << 20
		_, ops, err := p.tail.WriteOps(p.stamp, bodies(p)[name])
		require.NoError(t, err)
		facts = append(facts, ops[len(ops)-1].Body.(*model.Fact))
	}
	good, err := p.tail.SaveFacts(facts)
	require.NoError(t, err)
	for name, alter := range map[string]func(s *oplog.SavedFacts){
		"a photo too many":      func(s *oplog.SavedFacts) { s.Photos = append(bytes.Clone(s.Photos), make([]byte, 32)...) },
		"a photo too few":       func(s *oplog.SavedFacts) { s.Photos = s.Photos[:32] },
		"half a photo":          func(s *oplog.SavedFacts) { s.Photos = s.Photos[:50] },
		"a letter too many":     func(s *oplog.SavedFacts) { s.Notes += "x" },
		"a letter too few":      func(s *oplog.SavedFacts) { s.Notes = s.Notes[1:] },
		"an operation too many": func(s *oplog.SavedFacts) { s.Others.Ops = append(bytes.Clone(s.Others.Ops), s.Others.Ops...) },
		"a number too many":     func(s *oplog.SavedFacts) { s.Others.Seqs = append(slices.Clone(s.Others.Seqs), 99) },
		"half an inspection":    func(s *oplog.SavedFacts) { s.Looks = s.Looks[:len(s.Looks)-2] },
		"what is not a fact":    func(s *oplog.SavedFacts) { s.Others.Ops = encoded(t, []any{5, 1 << 41, 0, 1, 1, []any{}}) },
	} {
		t.Run(name, func(t *testing.T) {
			_, err := p.tail.RestoreFacts(good)
			require.NoError(t, err)
			bad := good
			alter(&bad)
			require.NotEqual(t, good, bad)
			_, err = p.tail.RestoreFacts(bad)
			require.Error(t, err)
		})
	}
}
