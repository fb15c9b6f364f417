package httpapi

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/photo"
	"leafturn/photo/upload"
)

// FuzzPromisedSum: a sum that is found is one that the metadata spells out under
// its key, in the one way that base64 has for it; everything else is a fault.
func FuzzPromisedSum(f *testing.F) {
	sum := base64.StdEncoding.EncodeToString([]byte(photo.SumOf(nil).String()))
	for _, seed := range []string{"", "sha256", "sha256 " + sum, "filename eA==, sha256 " + sum, "sha256 !!,sha256 " + sum, "xsha256 " + sum} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, metadata string) {
		got, err := promisedSum(metadata)
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err))
			return
		}
		require.Contains(t, metadata, "sha256 ")
		text := strings.NewReplacer("\r", "", "\n", "").Replace(metadata) // base64 passes over line ends
		require.Contains(t, text, base64.StdEncoding.EncodeToString([]byte(got.String())))
	})
}

// FuzzChecked: a piece passes only without a header, or with one that holds its
// true check sum.
func FuzzChecked(f *testing.F) {
	sum := sha256.Sum256([]byte("x"))
	f.Add([]byte("x"), "sha256 "+base64.StdEncoding.EncodeToString(sum[:]))
	f.Add([]byte("x"), "sha256 "+strings.TrimSuffix(base64.StdEncoding.EncodeToString(sum[:]), "=")+"A")
	f.Add([]byte("x"), "sha1 ")
	f.Add([]byte("x"), "")
	f.Fuzz(func(t *testing.T, piece []byte, header string) {
		pass := func(b []byte) bool {
			p, err := checked(upload.Piece{Body: bytes.NewReader(b)}, header)
			if err == nil {
				require.Equal(t, header != "", p.Whole)
				_, err = io.ReadAll(p.Body)
			}
			if err != nil {
				require.NotEmpty(t, fault.CodeOf(err))
			}
			return err == nil
		}
		if pass(piece) {
			require.Equal(t, header == "", pass(append([]byte{1}, piece...)))
		}
	})
}
