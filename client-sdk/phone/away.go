//go:build js && wasm

package main

import (
	"syscall/js"

	"leafturn/client-sdk/app"
)

// What a phone says while the app is closed: the number on its icon, and messages,
// which the service worker shows with words that it finds in a cache.

// keepsakes is the cache that holds what the core leaves for the service worker. It
// has a name of its own: the files of the app go with each version, these do not.
const keepsakes = "keepsakes"

// keepsake leaves a text for the service worker. A browser without caches has no
// service worker to read it.
func keepsake(k *app.Keepsake) {
	caches := js.Global().Get("caches")
	if caches.IsUndefined() {
		return
	}
	var put js.Func
	put = js.FuncOf(func(_ js.Value, args []js.Value) any {
		put.Release()
		answer := js.Global().Get("Response").New(k.Body, map[string]any{"headers": map[string]any{"content-type": k.Type}})
		return args[0].Call("put", k.Path, answer)
	})
	caches.Call("open", keepsakes).Call("then", put)
}

// badge puts the number of tasks on the app's icon, where there is one.
func (c *core) badge() {
	due := c.app.Due()
	if due == c.badged {
		return
	}
	c.badged = due
	if navigator := js.Global().Get("navigator"); navigator.Get("setAppBadge").Type() == js.TypeFunction {
		navigator.Call("setAppBadge", due).Call("catch", ignore)
	}
}

// ignore is for promises whose failure changes nothing: a browser that shows no
// number refuses to.
var ignore = js.FuncOf(func(js.Value, []js.Value) any { return nil })
