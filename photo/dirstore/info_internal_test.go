package dirstore

import (
	"crypto/sha256"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo"
)

// FuzzInfo feeds hostile lines, with the check sum that they should have, to the reader
// of info files: what it takes is about the photo that was asked for, and is written as
// it reads.
func FuzzInfo(f *testing.F) {
	sum := photo.SumOf([]byte("x"))
	good := encodeInfo(photo.Info{Sum: sum, Kept: sum, Width: 3, Height: 2, Bytes: 1})
	line := good[:len(good)-2*sha256.Size-2]
	f.Add(line, true)
	f.Add(line, false)
	f.Add([]byte(`{"version":2}`), true)
	f.Add([]byte(`{"version":1,"sum":null}`), true)
	f.Add([]byte("{}\n{}"), true)
	f.Fuzz(func(t *testing.T, line []byte, right bool) {
		check := sha256.Sum256(line)
		if !right {
			check[0] ^= 1
		}
		info, err := decodeInfo(fmt.Appendf(append([]byte{}, line...), "\n%x\n", check), sum)
		if err != nil {
			require.Zero(t, info)
			return
		}
		require.True(t, right, "a wrong check sum")
		require.Equal(t, sum, info.Sum)
		again, err := decodeInfo(encodeInfo(info), sum)
		require.NoError(t, err)
		require.Equal(t, info, again)
	})
}
