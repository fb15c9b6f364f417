//go:build js && wasm

package browser

// Await waits for a promise in tests.
var Await = await
