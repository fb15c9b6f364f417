package wire_test

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"runtime"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// pairs is a message of those that every message has and some more, each as its bytes.
func pairs(more ...string) []byte {
	all := append([]string{"\x01\x01", "\x02\x50" + string(make([]byte, 16)), "\x03\x80"}, more...)
	out := append([]byte{0xb8}, byte(len(all))) // a map of so many, which the next byte says
	for _, p := range all {
		out = append(out, p...)
	}
	return out
}

// array is the beginning of an array of so many elements.
func array(n uint16) string { return string(binary.BigEndian.AppendUint16([]byte{0x99}, n)) }

// have is a list of so many devices, all different.
func have(n uint16) string {
	list := "\x03" + array(n)
	for i := range n {
		id := make([]byte, 16)
		binary.BigEndian.PutUint16(id, i+1)
		list += "\x82\x50" + string(id) + "\x01"
	}
	return list
}

// Each is a good message but for one thing.
func TestOneHostileThingIsEnough(t *testing.T) {
	device := "\x50" + string(bytes.Repeat([]byte{7}, 16))
	many := func(n int) (out []string) {
		for i := range n {
			out = append(out, "\x18"+string(rune(24+i))+"\x00") // a key of its own each
		}
		return out
	}
	replaced := func(key3 string) []byte {
		return bytes.Replace(pairs(), []byte("\x03\x80"), []byte(key3), 1)
	}
	tests := map[string]struct {
		data []byte
		good bool
	}{
		"nothing hostile":                   {pairs(), true},
		"a time":                            {pairs("\x06\x05"), true},
		"a known key twice":                 {pairs("\x06\x05", "\x06\x05"), false},
		"an unknown key twice":              {pairs("\x18\x63\x05", "\x18\x63\x05"), false},
		"a map without end":                 {append(append([]byte{0xbf}, pairs()[2:]...), 0xff), false},
		"an array without end":              {replaced("\x03\x9f\xff"), false},
		"a byte string without end":         {pairs("\x09\x5f\x40\xff"), false},
		"no end where nobody looks":         {pairs("\x18\x63\x9f\xff"), false},
		"a refusal":                         {pairs("\x05\x81\x84" + device + "\x01\x61a\x61b"), true},
		"words without end":                 {pairs("\x05\x81\x84" + device + "\x01\x61a\x7f\x61b\xff"), false},
		"words that are no text":            {pairs("\x05\x81\x84" + device + "\x01\x61a\x61\xff"), false},
		"no text where nobody looks":        {pairs("\x18\x63\x61\xff"), true},
		"a tag":                             {pairs("\x06\xc1\x05"), false},
		"a tag where nobody looks":          {pairs("\x18\x63\xc1\x05"), false},
		"deep enough":                       {pairs("\x18\x63\x81\x81\x81\x81\x00"), true},
		"deeper than any message":           {pairs("\x18\x63\x81\x81\x81\x81\x81\x81\x81\x00"), false},
		"as many pairs as may be":           {pairs(many(61)...), true},
		"a pair too many":                   {pairs(many(62)...), false},
		"as many devices as may be":         {replaced(have(1024)), true},
		"a device too many":                 {replaced(have(1025)), false},
		"a device twice":                    {replaced("\x03\x82\x82" + device + "\x01\x82" + device + "\x02"), false},
		"as many batches as may be, broken": {pairs("\x04" + array(wire.MaxBatches) + string(bytes.Repeat([]byte{0x40}, wire.MaxBatches))), true},
		"a batch too many":                  {pairs("\x04" + array(wire.MaxBatches+1) + string(bytes.Repeat([]byte{0x40}, wire.MaxBatches+1))), false},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, _, err := wire.Decode(test.data)
			if test.good {
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, wire.ErrDamaged)
		})
	}
}

// allocated is how many bytes something takes from memory, also what it gives back.
func allocated(work func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	work()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// Batches that turn out to be damaged when they are unpacked cost what good ones cost,
// so they count as much: a message cannot keep a server busy unpacking for nothing.
func TestUnpackingInVainIsBounded(t *testing.T) {
	p := logtest.NewPen(model.HouseholdID{1}, 1)
	sealed := p.Batch(t, 1)
	var packed bytes.Buffer
	w, err := flate.NewWriter(&packed, flate.BestCompression)
	require.NoError(t, err)
	_, _ = w.Write(make([]byte, oplog.MaxBatchBytes+1)) // one byte more than it says
	require.NoError(t, w.Close())
	bomb, err := cbor.Marshal([]any{1, sealed.Device[:], 1, 1, sealed.Prev[:], 1, oplog.MaxBatchBytes, packed.Bytes(), sealed.Sig})
	require.NoError(t, err)
	all := make([][]byte, 900)
	for i := range all {
		all[i] = bomb
	}
	data := message(t, all...)
	require.Less(t, len(data), wire.MaxMessageBytes)
	var bad []error
	took := allocated(func() { _, bad, err = wire.Decode(data) })
	require.NoError(t, err)
	require.Len(t, bad, 900)
	require.ErrorIs(t, bad[0], oplog.ErrDamaged)
	require.ErrorIs(t, bad[899], oplog.ErrTooBig)
	require.Less(t, took, uint64(64<<20))
}

// What a message claims to hold costs nothing until it is there.
func TestClaimsCostNothing(t *testing.T) {
	for name, claim := range map[string]string{"devices": "\x03\x9a\x00\x0f\xff\xff", "batches": "\x04\x9a\x00\x0f\xff\xff", "bytes": "\x09\x5a\x7f\xff\xff\xff", "a batch": "\x04\x81\x5a\x7f\xff\xff\xff", "text": "\x0b\x7a\x7f\xff\xff\xff"} {
		t.Run(name, func(t *testing.T) {
			data := pairs(claim)
			took := allocated(func() {
				_, _, err := wire.Decode(data)
				require.ErrorIs(t, err, wire.ErrDamaged)
			})
			require.Less(t, took, uint64(64<<10))
		})
	}
}
