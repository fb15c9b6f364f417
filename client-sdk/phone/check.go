//go:build js && wasm

package main

import (
	"context"
	"time"
)

// checkAfter is how long after the start the check of what was opened begins: when the
// first screen is there and the first sync has had its time.
const checkAfter = 10 * time.Second

// check compares what the app opened from with the phone's log, beside the loop. Its
// steps are short and wait for the browser's disk in between, so taps are answered.
func (c *core) check(ctx context.Context) {
	house, _ := c.app.Link()
	if house == nil {
		return
	}
	c.beside(func() {
		err := house.CheckSnapshot(ctx)
		c.later(func() { c.answer(0, c.app.Checked(ctx, house, err)) })
	})
}
