// Package webapp has the files of the phone app ready to be served.
//
// The app is two things put together. The shell is the hand-written part: pages,
// styles, scripts, icons; it is linked into the server. The core is the Go code
// compiled to WebAssembly, app.wasm, with the script that starts it, wasm_exec.js;
// both come from one Go release and are kept side by side. A server that was
// linked with a prebuilt core serves that one. Otherwise the core is built from
// the source tree on the first start and kept in a cache under a key, which is a
// hash of everything that goes into it, so the second start only has to hash.
//
// A Bundle is the shell and a core, loaded, compressed and named by a version.
package webapp

import (
	"io/fs"
	"strings"

	"leafturn/model/fault"
)

// Returned when there is no phone app to serve. The words say what to do.
var (
	ErrNoSource = fault.New("app_source_missing", "The phone app is not built into this program and its source is not here; start Leafturn inside its source folder, or build the program again after running build-app.")
	ErrNoGo     = fault.New("app_go_missing", "The phone app has to be built on the first start, but the go command was not found; install Go, or use a program with the app built in.")
	ErrBuild    = fault.New("app_build_failed", "The phone app could not be built.")
	ErrShell    = fault.New("app_incomplete", "The files of the phone app are not complete.")
)

// The files of a core. The compressed ones are made together with the first.
const (
	wasmName   = "app.wasm"
	loaderName = "wasm_exec.js"
	keyName    = "key"
)

// Prebuilt is the core that was linked in with the shell, in its folder dist. It
// reports false if only the placeholder is there.
func Prebuilt(shell fs.FS) (fs.FS, bool) {
	dist, err := fs.Sub(shell, "dist")
	if err != nil {
		return nil, false
	}
	if _, err := fs.Stat(dist, wasmName); err != nil {
		return nil, false
	}
	return dist, true
}

// KeyOf is the key that a core was built under, "" if it does not say.
func KeyOf(core fs.FS) string {
	b, err := fs.ReadFile(core, keyName)
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(b))
}
