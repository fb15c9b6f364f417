package app

import (
	"sync/atomic"
	"time"
)

// noon is when tests begin, wherever and whenever they run. What midnight or changed
// clocks do is for the tests that are about them.
var noon = time.Date(2026, 11, 25, 11, 0, 0, 0, time.UTC) // twelve o'clock in Berlin

// clock is the time of a world. It stands still unless somebody does something, which
// takes a second, or a test lets time pass.
type clock struct {
	began  time.Time
	passed atomic.Int64 // nanoseconds; the server asks for them too
}

func (c *clock) now() time.Time { return c.began.Add(time.Duration(c.passed.Load())) }

// pass lets time pass for the server and all phones.
func (c *clock) pass(d time.Duration) { c.passed.Add(int64(d)) }

// until lets time pass until a moment that has not come yet.
func (c *clock) until(moment time.Time) { c.pass(moment.Sub(c.now())) }
