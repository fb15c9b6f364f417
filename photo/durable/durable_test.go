package durable_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/photo/durable"
)

func open(t *testing.T, dir string) durable.Tree {
	tree, err := durable.Open(dir)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, tree.Close()) })
	return tree
}

func TestWriteReplacesWhole(t *testing.T) {
	tree := open(t, t.TempDir())
	require.NoError(t, tree.Write("a/b/c", []byte("long first text")))
	require.NoError(t, tree.Write("a/b/c", []byte("se"), []byte("cond")))
	got, err := tree.Root.ReadFile("a/b/c")
	require.NoError(t, err)
	require.Equal(t, "second", string(got))
}

func TestOpenClearsTemporaryFiles(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "tmp"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "tmp", "half"), []byte("x"), 0o600))
	open(t, dir)
	left, err := os.ReadDir(filepath.Join(dir, "tmp"))
	require.NoError(t, err)
	require.Empty(t, left)
}

func TestFailedWriteLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	tree := open(t, dir)
	require.NoError(t, tree.Write("a", []byte("a file, not a folder")))
	require.Error(t, tree.Write("a/b", []byte("x")))
	got, err := tree.Root.ReadFile("a")
	require.NoError(t, err)
	require.Equal(t, "a file, not a folder", string(got))
}

func TestNamesStayInside(t *testing.T) {
	dir, outside := t.TempDir(), t.TempDir()
	tree := open(t, dir)
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, "link")))
	for _, name := range []string{"../x", "a/../../x", "link/x", filepath.Join(outside, "x")} {
		require.Error(t, tree.Write(name, []byte("x")), name)
	}
	left, err := os.ReadDir(outside)
	require.NoError(t, err)
	require.Empty(t, left)
}

func TestRemoveTwice(t *testing.T) {
	tree := open(t, t.TempDir())
	require.NoError(t, tree.Write("a/b", []byte("x")))
	require.NoError(t, tree.Remove("a/b"))
	require.NoError(t, tree.Remove("a/b"))
	require.NoError(t, tree.Remove("never/was"))
}
