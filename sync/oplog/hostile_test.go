package oplog_test

import (
	"bytes"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
)

// The decoders of this package and their fuzz targets: DecodeBatch (FuzzDecodeBatch),
// Introduction (FuzzIntroduction), Tail.Replay and with it Tail.Read
// (FuzzReadOperation), what walks a batch's chain (FuzzChain), Tail.RestoreFacts
// (FuzzRestoreFacts).

func encoded(t testing.TB, v any) []byte {
	t.Helper()
	data, err := cbor.Marshal(v)
	require.NoError(t, err)
	return data
}

// What hostile bytes may claim is refused before room is made for it.
func TestHostileBatchesAreRefused(t *testing.T) {
	p := newPen(1)
	p.write(t, bodies(p)["inspection"])
	good := p.seal(t)
	form := func(change func(w []any)) []byte {
		w := []any{1, good.Device[:], good.First, good.Count, good.Prev[:], 0, len(good.Ops), good.Ops, good.Sig}
		change(w)
		return encoded(t, w)
	}
	_, err := oplog.DecodeBatch(form(func([]any) {}))
	require.NoError(t, err, "the form itself is right")
	tests := map[string]struct {
		data []byte
		code fault.Code
	}{
		"nothing":                  {nil, "batch_damaged"},
		"a map":                    {[]byte{0xa1, 1, 1}, "batch_damaged"},
		"an array without end":     {append([]byte{0x9f, 1}, form(func([]any) {})[2:]...), "batch_damaged"},
		"an element too many":      {encoded(t, []any{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}), "batch_damaged"},
		"bytes after it":           {append(form(func([]any) {}), 0), "batch_damaged"},
		"longer than any batch":    {make([]byte, oplog.MaxBatchBytes+1025), "batch_too_big"},
		"a tag":                    {append([]byte{0x89, 0xc1, 1}, form(func([]any) {})[2:]...), "batch_damaged"},
		"a string without end":     {append(form(func([]any) {})[:2], 0x5f, 0x41, 0, 0xff), "batch_damaged"},
		"a string of 2⁶³ bytes":    {append(form(func([]any) {})[:2], 0x5b, 0x7f, 255, 255, 255, 255, 255, 255, 255), "batch_damaged"},
		"a terabyte of operations": {form(func(w []any) { w[6] = 1 << 40 }), "batch_too_big"},
		"a billion operations":     {form(func(w []any) { w[3] = 1 << 30 }), "batch_too_big"},
		"no operations":            {form(func(w []any) { w[3] = 0 }), "batch_damaged"},
		"a size that is not so":    {form(func(w []any) { w[6] = len(good.Ops) + 1 }), "batch_damaged"},
		"packed by nobody":         {form(func(w []any) { w[5] = 7 }), "op_version_unknown"},
		"packed, but noise":        {form(func(w []any) { w[5] = 1 }), "batch_damaged"},
		"the first is number 0":    {form(func(w []any) { w[2] = 0 }), "batch_damaged"},
		"numbers beyond all logs":  {form(func(w []any) { w[2] = uint64(1) << 60 }), "batch_damaged"},
		"a short device":           {form(func(w []any) { w[1] = good.Device[:15] }), "batch_damaged"},
		"a short hash":             {form(func(w []any) { w[4] = good.Prev[:31] }), "batch_damaged"},
		"a short signature":        {form(func(w []any) { w[8] = good.Sig[:63] }), "batch_damaged"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := oplog.DecodeBatch(test.data)
			require.Equal(t, test.code, fault.CodeOf(err), "%v", err)
		})
	}
}

func TestHostileOperationsAreRefused(t *testing.T) {
	p := newPen(2)
	p.write(t, bodies(p)["claim"]) // names two ids
	head, saved := p.tail.Head(), p.tail.Save()
	tests := map[string]struct {
		data []byte
		code fault.Code
	}{
		"nothing":                       {nil, "batch_damaged"},
		"no kind":                       {[]byte{0x80}, "batch_damaged"},
		"a kind of tomorrow":            {encoded(t, []any{23, 0, 0}), "op_version_unknown"},
		"an array without end":          {[]byte{0x9f, 14, 0xff}, "batch_damaged"},
		"a note without end":            {append(encoded(t, []any{14, 0, 0, 0, 1, []any{1, 1}, ""})[:8], 0x7f, 0x61, 'a', 0xff), "batch_damaged"},
		"a note that is no text":        {append(bytes.TrimSuffix(encoded(t, []any{14, 0, 0, 0, 1, []any{1, 1}, "a"}), []byte{0x61, 'a'}), 0x61, 0xff), "batch_damaged"},
		"a list of 2⁶³ plants":          {append(encoded(t, []any{9, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1})[:6], 0x9b, 0x7f, 255, 255, 255, 255, 255, 255, 255), "batch_damaged"},
		"a name that was never given":   {encoded(t, []any{14, 0, 0, 0, 9, []any{1, 1}, ""}), "batch_damaged"},
		"time beyond all clocks":        {encoded(t, []any{14, uint64(1) << 50, 0, 0, 1, []any{1, 1}, ""}), "batch_damaged"},
		"seen before all time":          {encoded(t, []any{14, 0, 0, -1 << 60, 1, []any{1, 1}, ""}), "batch_damaged"},
		"half an id":                    {encoded(t, []any{0, 0, 0, make([]byte, 24)}), "batch_damaged"},
		"an id that is none":            {encoded(t, []any{0, 0, 0, make([]byte, 16)}), "batch_damaged"},
		"photos that are no sums":       {encoded(t, []any{8, []byte{0, 0, 0, 1, 1, 0, 0, 0}, make([]byte, 31), ""}), "batch_damaged"},
		"an inspection without end":     {encoded(t, []any{8, bytes.Repeat([]byte{0xff}, 40), []byte{}, ""}), "batch_damaged"},
		"a field that is not there":     {encoded(t, []any{1, 0, 0, 5, 1, []any{[]any{200, 0, 1, []any{0, 0}}}}), "op_version_unknown"},
		"a map where a value should be": {encoded(t, []any{1, 0, 0, 5, 1, []any{[]any{1, 0, map[int]int{1: 1}, []any{0, 0}}}}), "batch_damaged"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			tail := oplog.RestoreTail(p.household, saved)
			_, err := tail.Replay(test.data)
			require.Equal(t, test.code, fault.CodeOf(err), "%v", err)
			require.Equal(t, head, tail.Head())
		})
	}
}

// FuzzIntroduction feeds hostile bytes to the reader of a device's first operation.
func FuzzIntroduction(f *testing.F) {
	for _, name := range []string{"found", "join", "succeed", "invite", "claim"} {
		p := newPen(3)
		p.write(f, bodies(p)[name])
		f.Add(bytes.Join(p.open, nil))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		intro, err := oplog.Introduction(model.HouseholdID{1}, &oplog.Batch{First: 1, Count: 1, Ops: data})
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err), "%v", err)
			return
		}
		switch intro.(type) {
		case *oplog.Found, *oplog.Join, *oplog.Succeed:
		default:
			t.Fatalf("%T introduces nobody", intro)
		}
	})
}

// FuzzChain feeds hostile operations to all that walks a chain: what a tail reads the
// others walk too, and they agree on where it ends.
func FuzzChain(f *testing.F) {
	p := newPen(5)
	for _, body := range bodies(p) {
		p.write(f, body)
	}
	f.Add(bytes.Join(p.open, nil), uint8(len(p.open)), uint8(3))
	f.Add(bytes.Join(p.open[:2], nil), uint8(2), uint8(1))
	f.Add(bytes.Join(p.open[:2], nil), uint8(3), uint8(0))
	f.Fuzz(func(t *testing.T, data []byte, count, cut uint8) {
		b := &oplog.Batch{Device: p.tail.Device(), First: 1, Count: max(1, int(count)), Prev: oplog.NewTail(p.household, p.tail.Device()).Head().Hash, Ops: data, Sig: make([]byte, 64)}
		_, unsigned := b.HashAt(b.Last())
		_, _, err := oplog.NewTail(p.household, b.Device).Read(p.public(), b)
		require.Error(t, err, "nobody signed it")
		if unsigned != nil {
			require.NotErrorIs(t, err, oplog.ErrSignature, "what is not a chain is not asked for its signature")
			return
		}
		ops, err := b.Split()
		require.NoError(t, err)
		require.Len(t, ops, b.Count)
		require.Equal(t, data, bytes.Join(ops, nil))
		at := min(b.Last(), uint64(cut))
		hash, err := b.HashAt(at)
		require.NoError(t, err)
		after := &oplog.Batch{Device: b.Device, First: at + 1, Count: b.Count - int(at), Prev: hash, Ops: bytes.Join(ops[at:], nil)}
		if after.Count > 0 {
			require.NoError(t, oplog.SameEnd(b, after))
		}
		after.First, after.Count, after.Ops, after.Prev = 1, b.Count, data, hash
		_, err = oplog.Segment([]*oplog.Batch{b, after})
		require.Error(t, err)
	})
}

// FuzzRestoreFacts feeds hostile bytes to the reader of a snapshot's facts: no panic,
// and what it makes of them can be saved and restored again.
func FuzzRestoreFacts(f *testing.F) {
	p := newPen(4)
	var facts []*model.Fact
	for _, body := range bodies(p) {
		p.stamp += 1 << 20
		_, ops, err := p.tail.WriteOps(p.stamp, body)
		require.NoError(f, err)
		if fact, ok := ops[len(ops)-1].Body.(*model.Fact); ok {
			facts = append(facts, fact)
		}
	}
	saved, err := p.tail.SaveFacts(facts)
	require.NoError(f, err)
	f.Add(encoded(f, saved))
	f.Fuzz(func(t *testing.T, data []byte) {
		var hostile oplog.SavedFacts
		if cbor.Unmarshal(data, &hostile) != nil {
			return
		}
		tail := oplog.RestoreTail(p.household, p.tail.Save())
		facts, err := tail.RestoreFacts(hostile)
		if err != nil {
			return
		}
		once, err := tail.SaveFacts(facts)
		if err != nil {
			return // they name what the log does not
		}
		again, err := tail.RestoreFacts(once)
		require.NoError(t, err)
		require.Equal(t, names(facts), names(again))
	})
}
