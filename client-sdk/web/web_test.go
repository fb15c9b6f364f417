package web_test

import (
	"bytes"
	"encoding/json"
	"image/png"
	"io/fs"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/web"
)

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := web.Files.ReadFile(name)
	require.NoError(t, err)
	return string(b)
}

var scripts = []string{"app.js", "worker.js", "sw.js"}

// The shell stays thin: what grows past this belongs into the core.
func TestScriptsStayThin(t *testing.T) {
	lines := 0
	for _, name := range scripts {
		lines += strings.Count(read(t, name), "\n")
	}
	require.LessOrEqual(t, lines, 300)
}

// The page obeys the content policy: no script, style or handler inside it, and
// nothing from elsewhere.
func TestPageObeysPolicy(t *testing.T) {
	page := read(t, "index.html")
	require.NotRegexp(t, `<script(?: defer)?>|<style|\sstyle=|\son[a-z]+=|javascript:|https?://`, page)
	for _, name := range scripts {
		require.NotRegexp(t, `\beval\(|new Function|\.style\b|https?://`, read(t, name), name)
	}
}

// Every element that the scripts reach for is on the page.
func TestScriptsFindTheirElements(t *testing.T) {
	page := read(t, "index.html")
	found := regexp.MustCompile(`\$\('([a-z-]+)'\)`).FindAllStringSubmatch(read(t, "app.js"), -1)
	require.NotEmpty(t, found)
	for _, m := range found {
		require.Contains(t, page, `id="`+m[1]+`"`)
	}
	for _, id := range []string{"main", "elsewhere", "broken", "bar"} {
		require.Contains(t, page, `id="`+id+`"`)
	}
	for _, m := range regexp.MustCompile(`data-shell="([a-z]+)"`).FindAllStringSubmatch(page, -1) {
		require.Regexp(t, `\b`+m[1]+`[:(]`, read(t, "app.js"), "the shell knows %q", m[1])
	}
}

// The service worker keeps exactly the files of the shell, and its cache is named
// after the version that the server puts in.
func TestServiceWorkerKeepsTheShell(t *testing.T) {
	sw := read(t, "sw.js")
	require.Equal(t, 1, strings.Count(sw, "@VERSION@"))
	list := sw[strings.Index(sw, "SHELL = ["):]
	list = list[:strings.Index(list, "]")]
	kept := map[string]bool{}
	for _, m := range regexp.MustCompile(`'(/[^']*)'`).FindAllStringSubmatch(list, -1) {
		kept[m[1]] = true
	}
	want := map[string]bool{"/": true, "/wasm_exec.js": true, "/app.wasm": true}
	require.NoError(t, fs.WalkDir(web.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if !d.IsDir() && !strings.HasPrefix(name, "dist/") && !strings.HasSuffix(name, ".md") && name != "sw.js" && name != "index.html" {
			want["/"+name] = true
		}
		return err
	}))
	require.Equal(t, want, kept)
}

func TestManifest(t *testing.T) {
	var m struct {
		Name, Display, Scope string
		StartURL             string `json:"start_url"`
		Icons                []struct{ Src, Sizes, Type, Purpose string }
	}
	require.NoError(t, json.Unmarshal([]byte(read(t, "manifest.webmanifest")), &m))
	require.NotEmpty(t, m.Name)
	require.Equal(t, "standalone", m.Display)
	require.True(t, strings.HasPrefix(m.StartURL, m.Scope))
	sizes := map[string]bool{}
	for _, i := range m.Icons {
		body := read(t, strings.TrimPrefix(i.Src, "/"))
		if i.Type != "image/png" {
			continue
		}
		sizes[i.Sizes+i.Purpose] = true
		c, err := png.DecodeConfig(bytes.NewReader([]byte(body)))
		require.NoError(t, err)
		require.Equal(t, i.Sizes, strconv.Itoa(c.Width)+"x"+strconv.Itoa(c.Height))
	}
	require.Equal(t, map[string]bool{"192x192": true, "512x512": true, "512x512maskable": true}, sizes)
}

// Built files may be put into dist; without them only the README is there.
func TestDistIsEmbedded(t *testing.T) {
	require.Contains(t, read(t, "dist/README"), "app.wasm")
}
