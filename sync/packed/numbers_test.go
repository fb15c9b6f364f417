package packed_test

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/sync/packed"
)

// What is written is read, and numbers above what may be there are refused.
func TestNumbersComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plain, signed := rapid.SliceOf(rapid.Uint64()).Draw(t, "plain"), rapid.SliceOf(rapid.Int64()).Draw(t, "signed")
		var data []byte
		for _, v := range plain {
			data = binary.AppendUvarint(data, v)
		}
		for _, v := range signed {
			data = binary.AppendVarint(data, v)
		}
		n := packed.Read(data)
		for _, v := range plain {
			require.Equal(t, v, n.Next(v))
		}
		several := make([]uint64, len(signed))
		n.Fill(several)
		for i, v := range signed {
			require.Equal(t, v, packed.Signed(several[i]))
		}
		require.True(t, n.End())
		require.False(t, n.Bad)
	})
}

func TestNumbersThatAreNone(t *testing.T) {
	for name, c := range map[string]struct {
		data []byte
		most uint64
	}{
		"nothing":            {nil, math.MaxUint64},
		"no end":             {[]byte{0x80}, math.MaxUint64},
		"beyond 64 bits":     {[]byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 2}, math.MaxUint64},
		"small but too much": {[]byte{3, 1}, 2},
		"large but too much": {[]byte{0x80, 0x01, 1}, 127},
	} {
		t.Run(name, func(t *testing.T) {
			n := packed.Read(c.data)
			require.Zero(t, n.Next(c.most))
			require.True(t, n.Bad)
			require.True(t, n.End(), "nothing more is read")
			require.Zero(t, n.Next(math.MaxUint64))
			several := []uint64{1, 1}
			n.Fill(several)
			require.Equal(t, []uint64{0, 0}, several)
		})
	}
}

// Several are read as one after the other are, or not at all.
func TestFillReadsWhatNextReads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SliceOfN(rapid.SampledFrom([]byte{0, 1, 0x7f, 0x80, 0xff}), 0, 40).Draw(t, "data")
		one, several := packed.Read(data), packed.Read(data)
		got, want := make([]uint64, rapid.IntRange(0, 8).Draw(t, "numbers")), []uint64{}
		several.Fill(got)
		for range got {
			want = append(want, one.Next(math.MaxUint64))
		}
		if one.Bad {
			clear(want)
		}
		require.Equal(t, want, got)
		require.Equal(t, one, several)
	})
}
