// Package durable writes small trees of files so that what it reports as written
// survives a power cut.
//
// A file is written under a temporary name, synced, renamed, and then every folder
// above it is synced, because a new name is stable only once its folder is. A
// reader sees the old file or the new one, never a part. Everything happens inside
// an os.Root, so no name and no symbolic link leads out of it.
package durable

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
)

// tempDir holds files that are being written. Leftovers are of no use to anybody.
const tempDir = "tmp"

// Tree is a folder that files are written into. It is safe for use by many
// goroutines.
type Tree struct{ Root *os.Root }

// Open opens the folder, makes it if need be, and removes what an interrupted
// write left behind. Only one process may use the folder at a time.
func Open(dir string) (Tree, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return Tree{}, fmt.Errorf("make folder: %w", err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return Tree{}, fmt.Errorf("open folder: %w", err)
	}
	t := Tree{Root: root}
	if err := errors.Join(root.RemoveAll(tempDir), root.Mkdir(tempDir, 0o700), t.sync(".")); err != nil {
		return Tree{}, errors.Join(fmt.Errorf("clear temporary files: %w", err), root.Close())
	}
	return t, nil
}

// Close releases the folder.
func (t Tree) Close() error { return t.Root.Close() }

// Write replaces the file with these pieces, one after the other. The name is a
// path with slashes inside the tree; folders on the way are made.
func (t Tree) Write(name string, pieces ...[]byte) error {
	temp := path.Join(tempDir, rand.Text())
	if err := t.writeTemp(temp, pieces); err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", name, err), ignoreMissing(t.Root.Remove(temp)))
	}
	if err := t.Root.MkdirAll(path.Dir(name), 0o700); err != nil {
		return fmt.Errorf("make folder of %s: %w", name, err)
	}
	if err := t.Root.Rename(temp, name); err != nil {
		return fmt.Errorf("rename to %s: %w", name, err)
	}
	return t.SyncAbove(name)
}

func (t Tree) writeTemp(temp string, pieces [][]byte) error {
	f, err := t.Root.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	for _, piece := range pieces {
		if _, err := f.Write(piece); err != nil {
			return errors.Join(err, f.Close())
		}
	}
	return errors.Join(f.Sync(), f.Close())
}

// Remove removes the file, now and after a power cut. Removing what is not there
// is no error.
func (t Tree) Remove(name string) error {
	switch err := t.Root.Remove(name); {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("remove %s: %w", name, err)
	}
	return t.sync(path.Dir(name))
}

// SyncAbove makes the name of a file stable: it syncs the folders from the file's
// own up to the tree's. It does not trust that somebody did so before, because a
// retry after a failure must not be answered by what merely looks written.
func (t Tree) SyncAbove(name string) error {
	for dir := path.Dir(name); ; dir = path.Dir(dir) {
		if err := t.sync(dir); err != nil {
			return fmt.Errorf("sync folder %s: %w", dir, err)
		}
		if dir == "." {
			return nil
		}
	}
}

func (t Tree) sync(dir string) error {
	f, err := t.Root.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

func ignoreMissing(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
