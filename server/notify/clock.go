package notify

import (
	"sync"
	"time"

	"leafturn/model"
)

// never is the hour of what is not wanted. It is no minute of a day.
const never = -1

// clock is a moment as a household sees it.
type clock struct {
	now   model.Instant
	zone  *time.Location
	today model.Date
}

func newClock(now model.Instant, zone *time.Location) clock {
	return clock{now, zone, now.Date(zone)}
}

// minute is the minute of the day that the wall clock shows.
func (c clock) minute() int {
	t := c.now.In(c.zone)
	return t.Hour()*60 + t.Minute()
}

// reached reports whether a minute of today has come, once or twice.
func (c clock) reached(minute int) bool {
	return minute != never && c.now >= moment(c.today, minute, c.zone)
}

// moment is the first moment of a day at which the wall clock shows a minute or a
// later one. A day that ends before it, because the clocks were put forward over
// midnight, has its last minute as that moment.
func moment(d model.Date, minute int, zone *time.Location) model.Instant {
	wall := d.UTC().Add(time.Duration(minute) * time.Minute)
	last := d.Add(1).Start(zone) - model.Instant(time.Minute.Milliseconds())
	t := d.Start(zone).In(zone)
	for {
		_, offset := t.Zone()
		_, change := t.ZoneBounds()
		first := wall.Add(-time.Duration(offset) * time.Second)
		if first.Before(t) { // it was skipped, or the day began with it
			first = t
		}
		if change.IsZero() || first.Before(change) {
			return min(model.InstantOf(first), last)
		}
		t = change
	}
}

// zones remembers zones by name, because reading their rules takes longer than
// deriving the tasks of most households.
type zones struct {
	mu    sync.Mutex
	known map[string]*time.Location // guarded by mu
}

// of gives the zone of a household. Where the name is unknown, days are counted in
// UTC, as phones do that cannot get a zone's rules.
func (z *zones) of(name string) *time.Location {
	z.mu.Lock()
	defer z.mu.Unlock()
	if zone := z.known[name]; zone != nil {
		return zone
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return time.UTC // not remembered: anybody could fill the memory with names
	}
	if z.known == nil {
		z.known = map[string]*time.Location{}
	}
	z.known[name] = zone
	return zone
}
