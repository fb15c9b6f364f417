// Package hlc makes hybrid logical stamps.
//
// A stamp is 48 bits of Unix milliseconds and 16 bits of counter, after Kulkarni
// and others, "Logical Physical Clocks and Consistent Snapshots in Globally
// Distributed Databases" (2014). Stamps from one clock only grow, and a stamp
// made after another was observed is greater than it, even when the phone's own
// clock is slow. So an edit that has seen an earlier edit always wins over it.
// Stamps are never rewritten; what time a person read on the wall is kept apart.
package hlc

import (
	"sync"

	"leafturn/model/fault"
)

// Stamp is a hybrid logical time. Stamps compare as integers.
type Stamp uint64

const (
	counterBits = 16
	maxMillis   = 1<<48 - 1
)

// ErrAbsurd is returned when a stamp is so far in the future that no clock could
// grow past it: a phone a year off, or a hostile one.
var ErrAbsurd = fault.New("clock_absurd", "The clock of the phone that wrote this is more than a year ahead. Correct its date and time; nothing was changed.")

// Of makes a stamp of a wall time in Unix milliseconds and a counter.
func Of(millis int64, counter uint16) Stamp {
	return Stamp(uint64(millis)<<counterBits | uint64(counter))
}

// Millis is the stamp's time in Unix milliseconds.
func (s Stamp) Millis() int64 { return int64(s >> counterBits) }

// Counter tells stamps of one millisecond apart.
func (s Stamp) Counter() uint16 { return uint16(s) }

// Clock makes growing stamps over a wall clock. It is safe for concurrent use.
type Clock struct {
	wall func() int64 // Unix milliseconds

	mu     sync.Mutex
	last   Stamp // guarded by mu
	offset int64 // guarded by mu; added to wall, learned at the last contact
}

// NewClock makes a clock over a wall clock in Unix milliseconds.
func NewClock(wall func() int64) *Clock { return &Clock{wall: wall} }

// Now makes a stamp greater than every stamp made or observed before.
func (c *Clock) Now() Stamp {
	c.mu.Lock()
	defer c.mu.Unlock()
	s := Of(clamp(c.wall()+c.offset), 0)
	if s <= c.last {
		s = c.last + 1 // a full counter carries into the milliseconds
	}
	c.last = s
	return s
}

// Observe takes in a stamp from elsewhere, so that later stamps exceed it.
func (c *Clock) Observe(s Stamp) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.last = max(c.last, s)
}

// Correct sets the offset, in milliseconds, that brings the wall clock to the
// time the server told at the last contact.
func (c *Clock) Correct(offset int64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.offset = offset
}

// Offset is the correction in force, in milliseconds.
func (c *Clock) Offset() int64 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.offset
}

// Wall is the corrected wall time in Unix milliseconds.
func (c *Clock) Wall() int64 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.wall() + c.offset
}

const yearMillis = 366 * 24 * 3600 * 1000

// Check refuses a stamp more than a year ahead of now (Unix milliseconds).
func Check(s Stamp, now int64) error {
	if s.Millis() > now+yearMillis {
		return ErrAbsurd
	}
	return nil
}

func clamp(ms int64) int64 { return min(max(ms, 0), maxMillis) }
