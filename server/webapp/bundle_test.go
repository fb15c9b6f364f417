package webapp_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/server/webapp"
)

func shell() fstest.MapFS {
	m := fstest.MapFS{}
	for name, content := range map[string]string{
		"index.html":           "<html data-version=\"@VERSION@\">" + strings.Repeat("<p>leaf</p>", 50),
		"app.js":               "start('app.wasm?v=@VERSION@')",
		"worker.js":            "work()",
		"sw.js":                "const version = '@VERSION@'",
		"app.css":              "p { color: '@VERSION@' }",
		"manifest.webmanifest": "{}",
		"icons/192.png":        "\x89PNG",
		"embed.go":             "package web",
		"package.json":         "{}",
		"dist/README":          "placeholder",
		"node_modules/x/x.js":  "x",
	} {
		m[name] = &fstest.MapFile{Data: []byte(content)}
	}
	return m
}

func core() fstest.MapFS {
	return fstest.MapFS{
		"app.wasm":     {Data: []byte("\x00asm plain")},
		"app.wasm.br":  {Data: []byte("brotli form")},
		"app.wasm.gz":  {Data: []byte("gzip form")},
		"wasm_exec.js": {Data: []byte("globalThis.Go = class {}")},
		"key":          {Data: []byte("k\n")},
	}
}

func load(t *testing.T, s, c fstest.MapFS) *webapp.Bundle {
	t.Helper()
	b, err := webapp.Load(s, c)
	require.NoError(t, err)
	return b
}

func anything(string) bool { return true }
func nothing(string) bool  { return false }

func plain(t *testing.T, b *webapp.Bundle, name string) string {
	t.Helper()
	f, ok := b.File(name)
	require.True(t, ok, name)
	body, encoding, _ := f.Pick(nothing)
	require.Empty(t, encoding)
	return string(body)
}

func TestBundleServesTheAppAndNothingElse(t *testing.T) {
	b := load(t, shell(), core())
	for name, typ := range map[string]string{
		"":                     "text/html; charset=utf-8",
		"index.html":           "text/html; charset=utf-8",
		"app.js":               "text/javascript; charset=utf-8",
		"wasm_exec.js":         "text/javascript; charset=utf-8",
		"app.css":              "text/css; charset=utf-8",
		"app.wasm":             "application/wasm",
		"manifest.webmanifest": "application/manifest+json",
		"icons/192.png":        "image/png",
		"version.json":         "application/json",
	} {
		f, ok := b.File(name)
		require.True(t, ok, name)
		require.Equal(t, typ, f.Type, name)
	}
	for _, name := range []string{"embed.go", "package.json", "dist/README", "dist/app.wasm", "node_modules/x/x.js", "key", "app.wasm.br", "icons", "../go.mod"} {
		_, ok := b.File(name)
		require.False(t, ok, name)
	}
}

func TestVersionIsStampedIntoPagesAndScripts(t *testing.T) {
	b := load(t, shell(), core())
	v := b.Version()
	require.Len(t, v, 20)
	require.Equal(t, "const version = '"+v+"'", plain(t, b, "sw.js"))
	require.Contains(t, plain(t, b, "index.html"), v)
	require.Equal(t, "start('app.wasm?v="+v+"')", plain(t, b, "app.js"))
	require.Contains(t, plain(t, b, "app.css"), "@VERSION@", "only pages and scripts are stamped")
	require.Equal(t, "{\"version\":\""+v+"\"}\n", plain(t, b, "version.json"))
}

func TestVersionFollowsEveryFile(t *testing.T) {
	before := load(t, shell(), core()).Version()
	require.Equal(t, before, load(t, shell(), core()).Version(), "same files, same version")

	for _, name := range []string{"app.css", "icons/192.png", "worker.js"} {
		s := shell()
		s[name] = &fstest.MapFile{Data: []byte("changed")}
		require.NotEqual(t, before, load(t, s, core()).Version(), name)
	}
	c := core()
	c["app.wasm"] = &fstest.MapFile{Data: []byte("\x00asm changed")}
	require.NotEqual(t, before, load(t, shell(), c).Version())
}

func TestPick(t *testing.T) {
	b := load(t, shell(), core())
	wasm, _ := b.File("app.wasm")
	gzipOnly := func(e string) bool { return e == "gzip" }

	tags := map[string]bool{}
	for _, c := range []struct {
		accepts        func(string) bool
		body, encoding string
	}{
		{anything, "brotli form", "br"},
		{gzipOnly, "gzip form", "gzip"},
		{nothing, "\x00asm plain", ""},
	} {
		body, encoding, tag := wasm.Pick(c.accepts)
		require.Equal(t, c.body, string(body))
		require.Equal(t, c.encoding, encoding)
		tags[tag] = true
	}
	require.Len(t, tags, 3, "each form has its own tag")
}

func TestShellIsCompressedOnlyWhereItHelps(t *testing.T) {
	b := load(t, shell(), core())
	page, _ := b.File("index.html")
	body, encoding, _ := page.Pick(anything)
	require.Equal(t, "br", encoding)
	require.Equal(t, plain(t, b, "index.html"), string(unbrotli(t, body)))

	for _, name := range []string{"worker.js", "icons/192.png"} { // too short; packed already
		f, _ := b.File(name)
		_, encoding, _ := f.Pick(anything)
		require.Empty(t, encoding, name)
	}
}

func TestMissingFilesAreNamed(t *testing.T) {
	noPage, noWasm := shell(), core()
	delete(noPage, "sw.js")
	_, err := webapp.Load(noPage, core())
	require.ErrorIs(t, err, webapp.ErrShell)
	f, _ := fault.From(err)
	require.Contains(t, f.Words, "sw.js")

	delete(noWasm, "app.wasm")
	_, err = webapp.Load(shell(), noWasm)
	require.ErrorIs(t, err, webapp.ErrShell)
}

func TestPlaceholderIsNoPrebuiltCore(t *testing.T) {
	_, ok := webapp.Prebuilt(shell())
	require.False(t, ok)
}
