package auth_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/server/auth"
)

func TestKeyIsMadeOnceAndPrivate(t *testing.T) {
	name := filepath.Join(t.TempDir(), "server.key")
	first, err := auth.LoadKey(name)
	require.NoError(t, err)
	info, err := os.Stat(name)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.EqualValues(t, 32, info.Size())

	require.NoError(t, os.Chmod(name, 0o644))
	again, err := auth.LoadKey(name)
	require.NoError(t, err)
	require.Equal(t, first, again)
	info, err = os.Stat(name)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "a key that others could read is closed again")

	entries, err := os.ReadDir(filepath.Dir(name))
	require.NoError(t, err)
	require.Len(t, entries, 1, "no half-written file stays behind")
}

func TestDamagedKeyIsRefusedAndKept(t *testing.T) {
	name := filepath.Join(t.TempDir(), "server.key")
	require.NoError(t, os.WriteFile(name, []byte("short"), 0o600))
	_, err := auth.LoadKey(name)
	require.ErrorContains(t, err, "5 bytes instead of 32")
	kept, err := os.ReadFile(name)
	require.NoError(t, err)
	require.Equal(t, "short", string(kept))
}
