// Package web holds the shell of the phone app: the page, its styles, the thin
// script that forwards events to the core and swaps in the fragments that the
// core answers with, the service worker and the icons.
//
// The core itself is built, not written: a build of the phone package, its
// app.wasm and the wasm_exec.js that belongs to it, may be put into dist before
// the server is built, and is then embedded beside the rest. Without it dist
// holds only a README.
package web

import "embed"

// Files is the shell as it is served, with what was built below dist.
//
//go:embed index.html app.css app.js worker.js sw.js manifest.webmanifest icons sample dist
var Files embed.FS
