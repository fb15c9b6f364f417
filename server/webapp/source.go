package webapp

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// The trees that can be compiled into the core, and the files that choose its
// libraries.
var (
	sourceTrees = []string{"model", "sync", "photo", "client-sdk"}
	sourceFiles = []string{"go.mod", "go.sum"}
)

const (
	modulePath = "leafturn"
	corePkg    = "./client-sdk/phone"
	shellTree  = "client-sdk/web" // served as it is, never compiled in
)

// Source is a source tree of the whole module.
type Source struct{ root string }

// FindSource looks for the source tree in dir and upwards.
func FindSource(dir string) (Source, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return Source{}, fmt.Errorf("find source: %w", err)
	}
	for {
		if isModule(filepath.Join(dir, "go.mod")) {
			return Source{dir}, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return Source{}, ErrNoSource
		}
		dir = up
	}
}

func isModule(gomod string) bool {
	b, err := os.ReadFile(gomod)
	if err != nil {
		return false
	}
	first, _, _ := strings.Cut(string(b), "\n")
	return strings.TrimSpace(first) == "module "+modulePath
}

// Dist is the folder in the tree that is linked in with the shell.
func (s Source) Dist() string { return filepath.Join(s.root, shellTree, "dist") }

// Key names what the core is built from: every file that can go into it, by path
// and content, the Go release and its flags. Files that are embedded count like code; tests
// do not, so that writing a test does not cost a build.
func (s Source) Key() (string, error) {
	h := sha256.New()
	fmt.Fprintln(h, runtime.Version(), coreFlags)
	for _, name := range sourceFiles {
		if err := s.add(h, name); err != nil {
			return "", err
		}
	}
	for _, tree := range sourceTrees {
		if err := s.addTree(h, tree); err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func (s Source) addTree(h io.Writer, tree string) error {
	return fs.WalkDir(os.DirFS(s.root), tree, func(name string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist) && name == tree:
			return nil // a tree without this part still has a key
		case err != nil:
			return fmt.Errorf("hash source: %w", err)
		case d.IsDir() && leftOut(name):
			return fs.SkipDir
		case !d.Type().IsRegular() || strings.HasSuffix(name, "_test.go"):
			return nil
		}
		return s.add(h, name)
	})
}

// leftOut reports folders that the go command never compiles, and the shell.
func leftOut(dir string) bool {
	base := dir[strings.LastIndexByte(dir, '/')+1:]
	return dir == shellTree || base == "testdata" || base == "node_modules" ||
		strings.HasPrefix(base, ".") || strings.HasPrefix(base, "_")
}

// add writes the file's path, size and content, so that no two trees write the
// same bytes.
func (s Source) add(h io.Writer, name string) error {
	b, err := os.ReadFile(filepath.Join(s.root, name))
	if err != nil {
		return fmt.Errorf("hash source: %w", err)
	}
	fmt.Fprintf(h, "%s %d\n", name, len(b))
	_, err = h.Write(b)
	return err
}
