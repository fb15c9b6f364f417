//go:build js && wasm

package main

import "runtime/debug"

// mostOpening is how much memory the app may take before the collector runs while it
// opens: twice what a household of ten years and 200 plants needs.
const mostOpening = 96 << 20

// uncollected does something that makes little but what stays, such as opening: the
// collector would go through all of it several times and find nothing, which is a
// quarter of the time.
func uncollected(do func()) {
	percent, limit := debug.SetGCPercent(-1), debug.SetMemoryLimit(mostOpening)
	defer func() {
		debug.SetMemoryLimit(limit)
		debug.SetGCPercent(percent)
	}()
	do()
}
