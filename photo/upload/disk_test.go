package upload_test

import (
	"context"
	"errors"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/photo/upload"
)

// TestDoubtedOffsets sets the files to what failures might leave.
func TestDoubtedOffsets(t *testing.T) {
	for _, c := range []struct {
		name string
		harm func(t *testing.T, r *rig, id upload.ID)
		want int64
	}{
		{"bytes past the offset", func(t *testing.T, r *rig, id upload.ID) {
			require.NoError(t, os.WriteFile(r.path(id, ".data"), []byte("0123GARBAGE"), 0o600))
		}, 4},
		{"fewer bytes than the offset", func(t *testing.T, r *rig, id upload.ID) {
			require.NoError(t, os.Truncate(r.path(id, ".data"), 2))
		}, 2},
		{"no bytes", func(t *testing.T, r *rig, id upload.ID) { require.NoError(t, os.Remove(r.path(id, ".data"))) }, 0},
		{"torn record", func(t *testing.T, r *rig, id upload.ID) {
			require.NoError(t, os.WriteFile(r.path(id, ".offset"), append(make([]byte, 8), "\xff\xff\xff\xff\xff\xff\xff\xfb"...), 0o600))
		}, 0},
		{"short record", func(t *testing.T, r *rig, id upload.ID) { require.NoError(t, os.Truncate(r.path(id, ".offset"), 7)) }, 0},
		{"no record", func(t *testing.T, r *rig, id upload.ID) { require.NoError(t, os.Remove(r.path(id, ".offset"))) }, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, ctx := newRig(t, t.TempDir()), t.Context()
			file := []byte("0123456789")
			u, err := r.Create(ctx, home, promise(file))
			require.NoError(t, err)
			_, err = r.Append(ctx, home, u.ID, piece(0, file[:4]))
			require.NoError(t, err)
			c.harm(t, r, u.ID)
			u, err = r.Stat(ctx, home, u.ID)
			require.NoError(t, err)
			require.Equal(t, c.want, u.Offset)
			u, err = r.Append(ctx, home, u.ID, piece(u.Offset, file[u.Offset:]))
			require.NoError(t, err)
			require.Equal(t, file, r.files[u.Sum])
		})
	}
}

func TestDamagedPromiseIsUnknown(t *testing.T) {
	r, ctx := newRig(t, t.TempDir()), t.Context()
	u, err := r.Create(ctx, home, promise([]byte("xy")))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(r.path(u.ID, ".json"), []byte(`{"ver`), 0o600))
	_, err = r.Stat(ctx, home, u.ID)
	require.ErrorIs(t, err, upload.ErrUnknown)
	require.NoError(t, os.WriteFile(r.path(u.ID, ".json"), []byte(`{"version":2}`), 0o600))
	_, err = r.Stat(ctx, home, u.ID)
	require.ErrorContains(t, err, "version 2")
}

// TestAnyOrder runs random steps against a model: what was appended and accepted,
// in order, is what is there, whatever else was tried, and however often the
// process ended in between with garbage left past the offset.
func TestAnyOrder(t *testing.T) {
	dirs := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		dir, err := os.MkdirTemp(dirs, "")
		require.NoError(t, err)
		r, ctx := newRig(t, dir), context.Background()
		file := rapid.SliceOfN(rapid.Byte(), 1, 300).Draw(t, "file")
		u, err := r.Create(ctx, home, promise(file))
		require.NoError(t, err)
		var offset int64
		t.Repeat(map[string]func(*rapid.T){
			"append": func(t *rapid.T) {
				n := rapid.Int64Range(0, int64(len(file))-offset).Draw(t, "n")
				got, err := r.Append(ctx, home, u.ID, piece(offset, file[offset:offset+n]))
				require.NoError(t, err)
				offset += n
				require.Equal(t, offset, got.Offset)
			},
			"elsewhere": func(t *rapid.T) {
				at := rapid.Int64Range(-1, 310).Filter(func(n int64) bool { return n != offset }).Draw(t, "at")
				_, err := r.Append(ctx, home, u.ID, piece(at, []byte("wrong")))
				require.ErrorIs(t, err, upload.ErrOffset)
			},
			"too much": func(t *rapid.T) {
				_, err := r.Append(ctx, home, u.ID, piece(offset, make([]byte, int64(len(file))-offset+1)))
				require.ErrorIs(t, err, upload.ErrPastEnd)
			},
			"crash": func(t *rapid.T) {
				if offset < int64(len(file)) {
					f, err := os.OpenFile(r.path(u.ID, ".data"), os.O_WRONLY, 0)
					require.NoError(t, err)
					_, err = f.WriteAt(rapid.SliceOfN(rapid.Byte(), 0, 20).Draw(t, "torn"), offset)
					require.NoError(t, errors.Join(err, f.Close()))
				}
				require.NoError(t, r.Close())
				r.open(t)
			},
			"": func(t *rapid.T) {
				got, err := r.Stat(ctx, home, u.ID)
				require.NoError(t, err)
				require.Equal(t, offset, got.Offset)
				_, stored := r.files[u.Sum]
				require.Equal(t, offset == int64(len(file)), stored)
			},
		})
		require.NoError(t, r.Close())
	})
}
