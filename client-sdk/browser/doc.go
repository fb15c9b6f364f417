// Package browser gives a replica what it needs inside a browser: a Vault over
// IndexedDB, which is the phone's disk, and a Transport over fetch.
//
// A vault is one database. Each of its methods is one transaction, asked to be
// strictly durable, and returns after the browser has committed it; so whatever
// kills the browser, a method that has returned has kept everything, and one that
// has not has kept all or nothing. What a transaction checks, it reads itself: two
// tabs that write at the same time cannot both go on from the same place, and the
// second gets replica.ErrTwoWriters.
//
// Everything here waits for the browser's event loop. Call it from a goroutine and
// never from within a function that JavaScript is calling, or both wait forever.
//
// All but this file is for GOOS=js and GOARCH=wasm, and so are the tests, which run
// inside a real browser: see chromium_test.go.
package browser
