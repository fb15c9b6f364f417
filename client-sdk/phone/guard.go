//go:build js && wasm

package main

import (
	"fmt"
	"runtime/debug"
	"syscall/js"
)

// guard does one thing after another in main's loop. A panic in one must not end the
// core, because the page would fall silent with it: the person reads that something
// went wrong, the button that asked wakes up, and the console has the trace.
func (c *core) guard(do func()) {
	defer func() {
		if why := recover(); why != nil {
			tell(why)
			c.answer(c.asked, c.app.Stumbled())
		}
		c.asked = 0
	}()
	do()
}

// beside does something that takes its time while the loop goes on, under the same guard.
func (c *core) beside(do func()) {
	go func() {
		defer func() {
			if why := recover(); why != nil {
				tell(why)
				c.later(func() { c.answer(0, c.app.Stumbled()) })
			}
		}()
		do()
	}()
}

func tell(why any) {
	js.Global().Get("console").Call("error", fmt.Sprintf("%v\n%s", why, debug.Stack()))
}
