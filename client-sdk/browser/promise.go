//go:build js && wasm

package browser

import (
	"fmt"
	"syscall/js"

	"leafturn/client-sdk/replica"
	"leafturn/model/fault"
)

// attempt turns what JavaScript throws into an error.
func attempt(f func()) (err error) {
	defer func() {
		switch thrown := recover().(type) {
		case nil:
		case js.Error:
			err = errorOf(thrown.Value)
		default:
			panic(thrown)
		}
	}()
	f()
	return nil
}

// ErrClosed is returned when the browser has taken the storage away.
var ErrClosed = fault.New("storage_closed", "Leafturn was updated, or this browser cleared its storage. Load this page again.")

// errorOf makes an error of a JavaScript error. The names are those of DOMException
// (Web IDL, section 2.8.1).
func errorOf(e js.Value) error {
	if e.Type() != js.TypeObject {
		return fmt.Errorf("the browser failed: %v", e)
	}
	name := e.Get("name").String()
	cause := fmt.Errorf("%s: %s", name, e.Get("message").String())
	switch name {
	case "QuotaExceededError":
		return replica.ErrFull.Because(cause)
	case "InvalidStateError":
		return ErrClosed.Because(cause)
	}
	return cause
}

// await waits until a promise is settled.
func await(promise js.Value) (js.Value, error) {
	type outcome struct {
		value js.Value
		err   error
	}
	settled := make(chan outcome, 1)
	var fulfilled, rejected js.Func
	release := func() {
		fulfilled.Release()
		rejected.Release()
	}
	fulfilled = js.FuncOf(func(_ js.Value, args []js.Value) any {
		settled <- outcome{value: args[0]}
		return nil
	})
	rejected = js.FuncOf(func(_ js.Value, args []js.Value) any {
		settled <- outcome{err: errorOf(args[0])}
		return nil
	})
	defer release()
	if err := attempt(func() { promise.Call("then", fulfilled, rejected) }); err != nil {
		return js.Value{}, err
	}
	o := <-settled
	return o.value, o.err
}

var uint8Array = js.Global().Get("Uint8Array")

// jsBytes copies bytes into a Uint8Array of their own.
func jsBytes(b []byte) js.Value {
	a := uint8Array.New(len(b))
	js.CopyBytesToJS(a, b)
	return a
}

// goBytes copies a Uint8Array.
func goBytes(a js.Value) []byte {
	b := make([]byte, a.Length())
	js.CopyBytesToGo(b, a)
	return b
}
