package model

import (
	"fmt"
	"time"
)

// Instant is a moment in Unix milliseconds. The zero Instant means "not set".
type Instant int64

// InstantOf is t in Unix milliseconds.
func InstantOf(t time.Time) Instant { return Instant(t.UnixMilli()) }

// In is the moment as a time in a zone.
func (i Instant) In(zone *time.Location) time.Time { return time.UnixMilli(int64(i)).In(zone) }

// Date is the civil day of the moment in a zone.
func (i Instant) Date(zone *time.Location) Date {
	y, m, d := i.In(zone).Date()
	return DateOf(y, m, d)
}

// Date is a civil day, counted from 1970-01-01. It has no zone: two days a week
// apart are always seven days apart, whatever the clocks did in between.
type Date int32

// DateOf is the civil day; out-of-range months and days roll over as in time.Date.
func DateOf(year int, month time.Month, day int) Date {
	return Date(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// ParseDate reads a day written as 2006-01-02 (ISO 8601).
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, fmt.Errorf("parse date: %w", err)
	}
	return DateOf(t.Date()), nil
}

// Add is the day n days later, or earlier if n is negative.
func (d Date) Add(n int) Date { return d + Date(n) }

// Sub is the number of days from e to d.
func (d Date) Sub(e Date) int { return int(d - e) }

// Weekday is the day of the week.
func (d Date) Weekday() time.Weekday { return d.UTC().Weekday() }

// UTC is midnight UTC at the start of the day, for formatting only.
func (d Date) UTC() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// Start is the first moment of the day in a zone. Where the clocks skip midnight,
// or the whole day, it is the first moment after it; where midnight comes twice
// it is the first of the two.
func (d Date) Start(zone *time.Location) Instant {
	const longest = 26 * time.Hour // no zone is further from UTC than this
	t := d.UTC().Add(-longest).In(zone)
	for {
		_, offset := t.Zone()
		_, end := t.ZoneBounds()
		first := d.UTC().Add(-time.Duration(offset) * time.Second)
		if first.Before(t) { // the clocks were put forward over it
			first = t
		}
		if end.IsZero() || first.Before(end) {
			return InstantOf(first)
		}
		t = end
	}
}

// String is the day as 2006-01-02.
func (d Date) String() string { return d.UTC().Format(time.DateOnly) }
