package webapp

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"

	"leafturn/model/fault"
)

// types says what is served and as what. A file of another kind that lies in the
// shell's folder, such as Go code or notes, is no part of the app.
var types = map[string]string{
	".html":        "text/html; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".css":         "text/css; charset=utf-8",
	".webmanifest": "application/manifest+json",
	".svg":         "image/svg+xml",
	".png":         "image/png",
	".jpg":         "image/jpeg",
	".ico":         "image/x-icon",
	".wasm":        "application/wasm",
}

// Bundle is the whole app in memory, ready to be served. It never changes, so any
// number of goroutines may read it.
type Bundle struct {
	version string
	files   map[string]*File
}

// versionToken stands in the shell's pages and scripts for the app's version.
const versionToken = "@VERSION@"

// shellNeeds are the files without which the app does not start.
var shellNeeds = []string{"index.html", "app.js", "worker.js", "sw.js", "app.css", "manifest.webmanifest"}

// Load reads a shell and a core. The version is a hash of all their files as they
// are, so it changes whenever any of them does.
func Load(shell, core fs.FS) (*Bundle, error) {
	raw, err := readAll(shell)
	if err != nil {
		return nil, err
	}
	for _, name := range shellNeeds {
		if raw[name] == nil {
			return nil, incomplete(name, fs.ErrNotExist)
		}
	}
	for _, name := range []string{wasmName, loaderName} {
		b, err := fs.ReadFile(core, name)
		if err != nil {
			return nil, incomplete(name, err)
		}
		raw[name] = b
	}
	b := &Bundle{version: versionOf(raw), files: map[string]*File{}}
	for name, content := range raw {
		b.files[name] = newFile(types[path.Ext(name)], b.stamped(name, content), packed(core, name))
	}
	b.files["version.json"] = newFile("application/json", fmt.Appendf(nil, "{\"version\":%q}\n", b.version), nil)
	return b, nil
}

func incomplete(name string, err error) error {
	words := fmt.Sprintf("The files of the phone app are not complete (%s is missing).", name)
	return fault.New(ErrShell.Code, words).Because(err)
}

// Version names this state of the app.
func (b *Bundle) Version() string { return b.version }

// File finds a file by its path without a leading slash. The empty path is the
// start page.
func (b *Bundle) File(name string) (*File, bool) {
	if name == "" {
		name = "index.html"
	}
	f, ok := b.files[name]
	return f, ok
}

func readAll(shell fs.FS) (map[string][]byte, error) {
	raw := map[string][]byte{}
	err := fs.WalkDir(shell, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name == "dist" || name == "node_modules" {
				return fs.SkipDir
			}
			return nil
		}
		if types[path.Ext(name)] == "" {
			return nil
		}
		raw[name], err = fs.ReadFile(shell, name)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read shell: %w", err)
	}
	return raw, nil
}

func versionOf(raw map[string][]byte) string {
	names := make([]string, 0, len(raw))
	for name := range raw {
		names = append(names, name)
	}
	slices.Sort(names)
	h := sha256.New()
	for _, name := range names {
		fmt.Fprintf(h, "%s %d\n", name, len(raw[name]))
		h.Write(raw[name])
	}
	return hex.EncodeToString(h.Sum(nil))[:20]
}

// stamped writes the version into a page or script, which is how the service
// worker notices that there is a new app.
func (b *Bundle) stamped(name string, content []byte) []byte {
	if ext := path.Ext(name); ext != ".html" && ext != ".js" {
		return content
	}
	return bytes.ReplaceAll(content, []byte(versionToken), []byte(b.version))
}

// packed are the compressed forms that a core carries for a file, nil if it has
// none.
func packed(core fs.FS, name string) *forms {
	if name != wasmName {
		return nil
	}
	br, errBr := fs.ReadFile(core, name+".br")
	gz, errGz := fs.ReadFile(core, name+".gz")
	if errors.Join(errBr, errGz) != nil {
		return nil
	}
	return &forms{br: br, gz: gz}
}
