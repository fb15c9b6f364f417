package webapp_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/andybalholm/brotli"
	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/server/webapp"
)

// tree writes a source tree that holds just what a core needs.
func tree(t *testing.T) string {
	t.Helper()
	t.Setenv("GOFLAGS", "")
	root := t.TempDir()
	write(t, root, "go.mod", "module leafturn\n\ngo 1.26\n")
	write(t, root, "go.sum", "")
	write(t, root, "client-sdk/phone/main.go", "package main\n\nfunc main() { println(\"hello\") }\n")
	return root
}

func write(t *testing.T, root, name, content string) {
	t.Helper()
	name = filepath.Join(root, filepath.FromSlash(name))
	require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o755))
	require.NoError(t, os.WriteFile(name, []byte(content), 0o644))
}

func builder(t *testing.T, root string) (b webapp.Builder, said *strings.Builder) {
	t.Helper()
	source, err := webapp.FindSource(root)
	require.NoError(t, err)
	said = &strings.Builder{}
	return webapp.Builder{
		Source:  source,
		Cache:   t.TempDir(),
		Quality: 1,
		Say:     func(line string) { said.WriteString(line + "\n") },
	}, said
}

func TestCoreIsBuiltOnceAndAgainWhenTheSourceChanges(t *testing.T) {
	root := tree(t)
	b, said := builder(t, root)

	core, err := b.Core(t.Context(), false)
	require.NoError(t, err)
	require.Contains(t, said.String(), "Building the phone app")
	wasm := read(t, core, "app.wasm")
	require.True(t, bytes.HasPrefix(wasm, []byte("\x00asm")))
	require.Equal(t, wasm, unbrotli(t, read(t, core, "app.wasm.br")))
	require.Equal(t, wasm, gunzip(t, read(t, core, "app.wasm.gz")))
	goroot, err := exec.CommandContext(t.Context(), "go", "env", "GOROOT").Output()
	require.NoError(t, err)
	loader, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(goroot)), "lib", "wasm", "wasm_exec.js"))
	require.NoError(t, err)
	require.Equal(t, loader, read(t, core, "wasm_exec.js"))

	said.Reset()
	_, err = b.Core(t.Context(), false)
	require.NoError(t, err)
	require.Empty(t, said.String(), "the second start builds nothing")

	write(t, root, "client-sdk/phone/more.go", "package main\n\nvar _ = 1\n")
	_, err = b.Core(t.Context(), false)
	require.NoError(t, err)
	require.Contains(t, said.String(), "Building the phone app")

	said.Reset()
	_, err = b.Core(t.Context(), true)
	require.NoError(t, err)
	require.Contains(t, said.String(), "Building the phone app", "asked to build again")
	require.Empty(t, hidden(t, b.Cache), "no half-built folder stays behind")
}

func TestIntoFillsAFolderAndKeepsWhatIsThere(t *testing.T) {
	b, _ := builder(t, tree(t))
	dist := t.TempDir()
	write(t, dist, "README", "placeholder")
	require.NoError(t, b.Into(t.Context(), dist))

	want, err := b.Source.Key()
	require.NoError(t, err)
	require.Equal(t, want, webapp.KeyOf(os.DirFS(dist)))
	require.Equal(t, "placeholder", string(read(t, os.DirFS(dist), "README")))
	require.Empty(t, hidden(t, dist))

	above := t.TempDir()
	require.NoError(t, os.Rename(dist, filepath.Join(above, "dist")))
	core, ok := webapp.Prebuilt(os.DirFS(above))
	require.True(t, ok)
	require.Equal(t, want, webapp.KeyOf(core))
}

func TestFailedBuildGivesOneSentenceAndKeepsTheReport(t *testing.T) {
	root := tree(t)
	write(t, root, "client-sdk/phone/main.go", "package main\n\nfunc main() { nosuch() }\n")
	b, _ := builder(t, root)
	_, err := b.Core(t.Context(), false)
	require.ErrorIs(t, err, webapp.ErrBuild)
	f, _ := fault.From(err)
	require.Contains(t, f.Words, "undefined: nosuch")
	require.NotContains(t, f.Words, "\n")
	report, err := os.ReadFile(filepath.Join(b.Cache, "build.log"))
	require.NoError(t, err)
	require.Contains(t, string(report), "undefined: nosuch")
	require.Empty(t, hidden(t, b.Cache))
}

func TestNoGoCommand(t *testing.T) {
	b, _ := builder(t, tree(t))
	t.Setenv("PATH", t.TempDir())
	_, err := b.Core(t.Context(), false)
	require.ErrorIs(t, err, webapp.ErrNoGo)
}

func TestCacheThatCannotBeWritten(t *testing.T) {
	b, _ := builder(t, tree(t))
	write(t, b.Cache, "file", "")
	b.Cache = filepath.Join(b.Cache, "file", "cache")
	_, err := b.Core(t.Context(), false)
	require.Equal(t, fault.Code("app_cache_unwritable"), fault.CodeOf(err))
	f, _ := fault.From(err)
	require.Contains(t, f.Words, b.Cache)
}

func TestStoppedBuildIsNoFailedBuild(t *testing.T) {
	b, _ := builder(t, tree(t))
	ctx, stop := context.WithCancel(t.Context())
	stop()
	_, err := b.Core(ctx, false)
	require.ErrorIs(t, err, context.Canceled)
	require.NotErrorIs(t, err, webapp.ErrBuild)
}

func TestOldEntriesAreRemoved(t *testing.T) {
	b, _ := builder(t, tree(t))
	long := time.Now().Add(-48 * time.Hour)
	for i, name := range []string{"app-1", "app-2", "app-3", ".build-dead", "other"} {
		write(t, b.Cache, name+"/app.wasm", "x")
		used := long.Add(time.Duration(i) * time.Minute)
		require.NoError(t, os.Chtimes(filepath.Join(b.Cache, name), used, used))
	}
	_, err := b.Core(t.Context(), false)
	require.NoError(t, err)
	for _, name := range []string{"app-1", ".build-dead"} {
		require.NoDirExists(t, filepath.Join(b.Cache, name))
	}
	for _, name := range []string{"app-2", "app-3", "other"} {
		require.DirExists(t, filepath.Join(b.Cache, name))
	}
}

func TestFindSource(t *testing.T) {
	root := tree(t)
	deep := filepath.Join(root, "client-sdk", "phone")
	s, err := webapp.FindSource(deep)
	require.NoError(t, err)
	require.Equal(t, filepath.Join(root, "client-sdk", "web", "dist"), s.Dist())

	// A folder of another module is passed by.
	write(t, root, "client-sdk/phone/go.mod", "module other\n")
	again, err := webapp.FindSource(deep)
	require.NoError(t, err)
	require.Equal(t, s, again)

	_, err = webapp.FindSource(t.TempDir())
	require.ErrorIs(t, err, webapp.ErrNoSource)
}

func TestKeyFollowsWhatIsCompiled(t *testing.T) {
	cases := []struct {
		file    string
		changes bool
	}{
		{"model/new.go", true},
		{"model/refdata/table.csv", true},
		{"photo/leaf/leaf.go", true},
		{"go.sum", true},
		{"model/new_test.go", false},
		{"model/testdata/case.txt", false},
		{"client-sdk/web/app.css", false},
		{"client-sdk/web/dist/app.wasm", false},
		{"client-sdk/phone/.hidden/x.go", false},
		{"server/main.go", false},
		{"README.md", false},
	}
	for _, c := range cases {
		t.Run(c.file, func(t *testing.T) {
			root := tree(t)
			s, err := webapp.FindSource(root)
			require.NoError(t, err)
			before, err := s.Key()
			require.NoError(t, err)
			write(t, root, c.file, "something new")
			after, err := s.Key()
			require.NoError(t, err)
			require.Equal(t, c.changes, before != after)
		})
	}
}

func read(t *testing.T, fsys fs.FS, name string) []byte {
	t.Helper()
	b, err := fs.ReadFile(fsys, name)
	require.NoError(t, err)
	return b
}

func unbrotli(t *testing.T, b []byte) []byte {
	t.Helper()
	raw, err := io.ReadAll(brotli.NewReader(bytes.NewReader(b)))
	require.NoError(t, err)
	return raw
}

func gunzip(t *testing.T, b []byte) []byte {
	t.Helper()
	r, err := gzip.NewReader(bytes.NewReader(b))
	require.NoError(t, err)
	raw, err := io.ReadAll(r)
	require.NoError(t, err)
	return raw
}

// hidden lists what a build leaves while it runs.
func hidden(t *testing.T, dir string) []string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, ".*"))
	require.NoError(t, err)
	return names
}
