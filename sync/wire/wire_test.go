package wire_test

import (
	"bytes"
	"crypto/sha256"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/logtest"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// full is a message with everything that a message can hold.
func full(t testing.TB) *wire.Message {
	h := model.HouseholdID{1, 2, 3}
	p := logtest.NewPen(h, 1)
	return &wire.Message{
		Household: h,
		Have:      oplog.Vector{p.Device(): 7, {9}: 1 << 40},
		Batches:   []*oplog.Batch{p.Batch(t, 1), p.Batch(t, 3)},
		Refused:   []wire.Refused{{Device: model.DeviceID{9}, First: 4, Code: "log_forked", Words: "Two phones are writing as one."}},
		Now:       1_790_000_000_000,
		More:      true,
	}
}

// latest is a message with the keys that came later, too.
func latest(t testing.TB) *wire.Message {
	m := full(t)
	m.Stubs = map[model.DeviceID]wire.Stub{}
	for d := range m.Have {
		m.Stubs[d] = wire.StubOf(sha256.Sum256(d[:]))
	}
	m.Epoch = wire.Epoch{Store: 0x1eaf, Age: 7}
	return m
}

func encode(t require.TestingT, m *wire.Message) []byte {
	data, err := m.Encode()
	require.NoError(t, err)
	return data
}

// equal requires messages to say the same.
func equal(t require.TestingT, want, got *wire.Message) {
	require.Equal(t, want.Household, got.Household)
	require.True(t, want.Have.Equal(got.Have))
	require.Equal(t, want.Refused, got.Refused)
	require.Equal(t, []any{want.Now, want.More, want.Epoch}, []any{got.Now, got.More, got.Epoch})
	require.Equal(t, want.Stubs, got.Stubs)
	require.Len(t, got.Batches, len(want.Batches))
	for i := range want.Batches {
		require.Equal(t, want.Batches[i].Encode(), got.Batches[i].Encode())
	}
}

func decode(t require.TestingT, data []byte) *wire.Message {
	m, bad, err := wire.Decode(data)
	require.NoError(t, err)
	require.Empty(t, bad)
	return m
}

func TestMessagesReadBackAsWritten(t *testing.T) {
	for name, m := range map[string]*wire.Message{"full": full(t), "latest": latest(t), "nearly empty": {Household: model.HouseholdID{1}}} {
		t.Run(name, func(t *testing.T) {
			data := encode(t, m)
			equal(t, m, decode(t, data))
			require.Equal(t, data, encode(t, decode(t, data)))
		})
	}
}

func TestAnyVectorReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := &wire.Message{Household: model.HouseholdID{1}, Have: oplog.Vector{}}
		for range rapid.IntRange(0, 20).Draw(t, "devices") {
			d := model.DeviceID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "device"))
			m.Have[d] = rapid.Uint64().Draw(t, "seq")
			if rapid.Bool().Draw(t, "with a stub") {
				if m.Stubs == nil {
					m.Stubs = map[model.DeviceID]wire.Stub{}
				}
				m.Stubs[d] = wire.Stub(rapid.SliceOfN(rapid.ByteRange(1, 255), 8, 8).Draw(t, "stub"))
			}
		}
		equal(t, m, decode(t, encode(t, m)))
	})
}

func TestGoldenMessage(t *testing.T) {
	m := full(t)
	golden := mergetest.Golden(t, "message.v1.cbor", encode(t, m))
	equal(t, decode(t, golden), decode(t, encode(t, m)))
	m.Batches = nil // the rest does not depend on how DEFLATE packs
	plain := mergetest.Golden(t, "message-without-batches.v1.cbor", encode(t, m))
	require.Equal(t, plain, encode(t, m))
}

// olderMessage is how the first readers of version 1 read a message.
type olderMessage struct {
	Version   uint64 `cbor:"1,keyasint"`
	Household []byte `cbor:"2,keyasint"`
	Have      []struct {
		_      struct{} `cbor:",toarray"`
		Device []byte
		Seq    uint64
	} `cbor:"3,keyasint"`
	More bool `cbor:"7,keyasint"`
}

// The same version with the keys that came later: both sides read both.
func TestGoldenMessageWithLaterKeys(t *testing.T) {
	m := latest(t)
	m.Batches = nil
	golden := mergetest.Golden(t, "message-stubs-epoch.v1.cbor", encode(t, m))
	require.Equal(t, golden, encode(t, m))
	equal(t, m, decode(t, golden))

	var old olderMessage
	mode, err := cbor.DecOptions{DupMapKey: cbor.DupMapKeyEnforcedAPF, IndefLength: cbor.IndefLengthForbidden}.DecMode()
	require.NoError(t, err)
	require.NoError(t, mode.Unmarshal(golden, &old))
	require.Equal(t, uint64(1), old.Version)
	require.Len(t, old.Have, len(m.Have))
	require.True(t, old.More)

	m.Stubs, m.Epoch = nil, wire.Epoch{} // as it was written before there were these
	older := decode(t, mergetest.Golden(t, "message-without-batches.v1.cbor", encode(t, m)))
	require.Empty(t, older.Stubs)
	require.True(t, older.Epoch.IsZero())
}

func TestWhatCannotBeAMessageIsRefused(t *testing.T) {
	encode := func(m map[int]any) []byte {
		data, err := cbor.Marshal(m)
		require.NoError(t, err)
		return data
	}
	id := make([]byte, 16)
	many := make([][2]any, 1025)
	for i := range many {
		many[i] = [2]any{id, 1}
	}
	tests := map[string]struct {
		data []byte
		code fault.Code
	}{
		"nothing":                {nil, "message_damaged"},
		"not CBOR":               {[]byte("hello"), "message_damaged"},
		"cut short":              {encode(map[int]any{1: 1, 2: id, 3: []any{}})[:10], "message_damaged"},
		"a trailing byte":        {append(encode(map[int]any{1: 1, 2: id, 3: []any{}}), 0), "message_damaged"},
		"a newer version":        {encode(map[int]any{1: 2, 2: "what this is now"}), "message_version_unknown"},
		"no version":             {encode(map[int]any{2: id, 3: []any{}}), "message_version_unknown"},
		"a short household":      {encode(map[int]any{1: 1, 2: id[:15], 3: []any{}}), "message_damaged"},
		"a short device":         {encode(map[int]any{1: 1, 2: id, 3: []any{[]any{id[:3], 1}}}), "message_damaged"},
		"a short refused device": {encode(map[int]any{1: 1, 2: id, 3: []any{}, 5: []any{[]any{id[:3], 1, "c", "w"}}}), "message_damaged"},
		"too many devices":       {encode(map[int]any{1: 1, 2: id, 3: many}), "message_damaged"},
		"a key twice":            {[]byte{0xa2, 1, 1, 1, 1}, "message_damaged"},
		"an indefinite length":   {[]byte{0xbf, 1, 1, 0xff}, "message_damaged"},
		"a giant length":         {[]byte{0xa1, 3, 0x9b, 0x7f, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}, "message_damaged"},
		"stubs that do not fit":  {encode(map[int]any{1: 1, 2: id, 3: []any{[]any{id, 1}}, 9: id}), "message_damaged"},
		"stubs of another kind":  {encode(map[int]any{1: 1, 2: id, 3: []any{[]any{id, 1}}, 9: 8}), "message_damaged"},
		"a long epoch":           {encode(map[int]any{1: 1, 2: id, 3: []any{}, 10: []any{1, 2, 3}}), "message_damaged"},
		"an epoch too large":     {encode(map[int]any{1: 1, 2: id, 3: []any{}, 10: []any{1, 1 << 32}}), "message_damaged"},
		"a tag":                  {[]byte{0xa1, 1, 0xc1, 1}, "message_damaged"},
		"far too long":           {make([]byte, wire.MaxMessageBytes+1), "batch_too_big"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, _, err := wire.Decode(test.data)
			require.Equal(t, test.code, fault.CodeOf(err), "%v", err)
		})
	}
}

// A newer writer may add keys; a reader passes over them.
func TestUnknownKeysArePassedOver(t *testing.T) {
	data := encode(t, full(t))
	require.Equal(t, byte(0xa7), data[0], "a map of seven pairs")
	wider := append([]byte{0xa8}, data[1:]...)
	wider = append(wider, 0x17, 0x81, 0x01) // 23: [1]
	equal(t, full(t), decode(t, wider))
}

// FuzzDecodeMessage feeds hostile bytes to the reader: no panic, and what is read
// says the same after another round.
func FuzzDecodeMessage(f *testing.F) {
	f.Add(encode(f, full(f)))
	f.Add(encode(f, latest(f)))
	f.Add(encode(f, &wire.Message{Household: model.HouseholdID{1}}))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, bad, err := wire.Decode(data)
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err))
			return
		}
		for _, b := range bad {
			require.NotEmpty(t, fault.CodeOf(b))
		}
		again := encode(t, m)
		equal(t, m, decode(t, again))
		require.Equal(t, again, encode(t, decode(t, bytes.Clone(again))))
	})
}
