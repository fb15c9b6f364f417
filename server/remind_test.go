package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// A browser's subscription is bound to the key, so a server that came back with
// another one would reach nobody.
func TestSenderKeyStaysTheSame(t *testing.T) {
	data := t.TempDir()
	r := serve(t, data)
	status, first := r.get("/api/v1/push/key")
	require.Equal(t, 200, status)
	require.Regexp(t, `^{"key":"B[A-Za-z0-9_-]{86}"}$`, first)
	require.Equal(t, 0, r.interrupt())
	info, err := os.Stat(filepath.Join(data, "push.key"))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.NotContains(t, r.errOut.String(), "level=ERROR")

	r = serve(t, data)
	_, second := r.get("/api/v1/push/key")
	require.Equal(t, first, second)
	require.Equal(t, 0, r.interrupt())
}

func TestADamagedSenderKeyIsNotReplaced(t *testing.T) {
	data := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(data, "push.key"), []byte("short"), 0o600))
	_, errOut, code := finish(t, command(t, "--listen", "127.0.0.1:0", "--data", data, "--app", files(t, shellWithCore())))
	require.Equal(t, 1, code)
	require.Contains(t, errOut, "push.key is damaged")
}
