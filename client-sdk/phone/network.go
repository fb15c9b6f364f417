//go:build js && wasm

package main

import (
	"context"
	"syscall/js"

	"leafturn/client-sdk/screens/texts"
)

// network asks the browser which network the phone is on, by the Network Information
// API. Few browsers have it, and many of those say only whether to save data.
func network() texts.Network {
	on := js.Global().Get("navigator").Get("connection")
	if on.IsUndefined() {
		return texts.NetworkUnsaid
	}
	if on.Get("saveData").Truthy() {
		return texts.NetworkCosts
	}
	switch text(on, "type") {
	case "wifi", "ethernet":
		return texts.NetworkFree
	case "cellular", "wimax", "bluetooth": // a phone shares its own over Bluetooth
		return texts.NetworkCosts
	}
	return texts.NetworkUnsaid
}

// hearNetwork syncs when the phone comes to another network: photos may have waited
// for it.
func (c *core) hearNetwork() {
	on := js.Global().Get("navigator").Get("connection")
	if on.IsUndefined() {
		return
	}
	on.Call("addEventListener", "change", js.FuncOf(func(js.Value, []js.Value) any {
		c.later(func() {
			ctx := context.Background()
			c.answer(0, c.app.NetworkChanged(ctx))
			c.sync(ctx)
		})
		return nil
	}))
}
