package upload_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/upload"
)

// FuzzRecords puts hostile bytes into the files of an unfinished upload: what is made of
// them has an offset that the client can go on from, or the upload is not known.
func FuzzRecords(f *testing.F) {
	r := newRig(f, f.TempDir())
	file := []byte("0123456789")
	u, err := r.Create(f.Context(), home, promise(file))
	require.NoError(f, err)
	_, err = r.Append(f.Context(), home, u.ID, piece(0, file[:4]))
	require.NoError(f, err)
	record, err := os.ReadFile(r.path(u.ID, ".json"))
	require.NoError(f, err)
	offset, err := os.ReadFile(r.path(u.ID, ".offset"))
	require.NoError(f, err)
	f.Add(record, offset)
	f.Add(record, offset[:7])
	f.Add(record[:20], offset)
	f.Add([]byte(`{"version":1}`), []byte{})
	f.Add([]byte(`{"version":1,"length":-5,"expires":"9999-12-31T23:59:59Z"}`), append(make([]byte, 8), "\xff\xff\xff\xff\xff\xff\xff\xff"...))
	f.Fuzz(func(t *testing.T, record, offset []byte) {
		require.NoError(t, os.WriteFile(r.path(u.ID, ".json"), record, 0o600))
		require.NoError(t, os.WriteFile(r.path(u.ID, ".offset"), offset, 0o600))
		got, err := r.Stat(t.Context(), home, u.ID)
		if err != nil {
			require.Equal(t, upload.Upload{}, got)
			return
		}
		require.GreaterOrEqual(t, got.Offset, int64(0))
		require.LessOrEqual(t, got.Offset, max(got.Length, 4))
	})
}
