package packed_test

import (
	"bytes"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/sync/packed"
)

// Only two bytes are truth values. Other numbers of that type are floats, or are written
// as nothing may be.
func TestOnlyTwoBytesAreTruthValues(t *testing.T) {
	for name, data := range map[string][]byte{
		"nothing": nil, "null": {0xf6}, "undefined": {0xf7}, "a simple value": {0xf0}, "false in two bytes": {0xf8, 20}, "true in two bytes": {0xf8, 21},
		"a half float": {0xf9, 0, 20}, "a float": {0xfa, 0, 0, 0, 21}, "a double": {0xfb, 0, 0, 0, 0, 0, 0, 0, 20}, "a break": {0xff}, "20": {20},
	} {
		t.Run(name, func(t *testing.T) {
			r := packed.ReadItems(data)
			require.False(t, r.Bool())
			require.True(t, r.Bad)
		})
	}
	for want, data := range map[bool][]byte{false: {0xf4}, true: {0xf5}} {
		r := packed.ReadItems(data)
		require.Equal(t, want, r.Bool())
		require.False(t, r.Bad)
		require.True(t, r.End())
	}
}

// FuzzItems: whatever is read as good a general decoder reads too, and as the same.
func FuzzItems(f *testing.F) {
	f.Add([]byte{0x83, 1, 2, 3}, []byte{4, 0})
	f.Add([]byte{0x82, 0x19, 1, 0, 0x38, 20}, []byte{4, 0, 1})
	f.Add([]byte{0x43, 1, 2, 3, 0x63, 'a', 'b', 'c', 0xf5, 0x3b, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}, []byte{2, 3, 5, 1})
	f.Add([]byte{0xf8, 20, 0xf9, 0, 20, 0x9f, 0xff, 0x5f, 0xff}, []byte{5, 5, 4, 2})
	mode, err := cbor.DecOptions{IndefLength: cbor.IndefLengthForbidden, TagsMd: cbor.TagsForbidden}.DecMode()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, data, kinds []byte) {
		r := packed.ReadItems(data)
		rest := data
		for _, kind := range kinds {
			before := rest
			var got any
			switch kind % 6 {
			case 0:
				got = r.Uint(1 << 60)
			case 1:
				if v := r.Int(); v >= 0 {
					got = uint64(v)
				} else {
					got = v
				}
			case 2:
				got = bytes.Clone(r.Bytes())
			case 3:
				got = r.Text()
			case 4:
				r.Scalar()
			default:
				got = r.Bool()
			}
			if r.Bad {
				return
			}
			var want any
			rest, err = mode.UnmarshalFirst(before, &want)
			require.NoError(t, err, "%x", before)
			require.Equal(t, len(rest), len(r.Rest()), "%x", before)
			if b, ok := want.([]byte); ok && len(b) == 0 {
				want = []byte(nil)
				if b, ok := got.([]byte); ok && len(b) == 0 {
					got = []byte(nil)
				}
			}
			if kind%6 != 4 {
				require.Equal(t, want, got, "%x", before)
			}
		}
	})
}
