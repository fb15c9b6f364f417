package notify

import (
	"time"

	"leafturn/model"
	"leafturn/server/store"
)

// said is what a phone has been told of a day. The bits are in the store: do not
// reorder them.
type said uint8

const (
	digested said = 1 << 0 // the digest was sent, or nothing was due at its hour
	evened   said = 1 << 1 // the same of the evening note
	shown    said = 1 << 2 // a note was sent and not withdrawn
	updated  said = 1 << 3 // the note was sent again because much of it was done
)

// hours are when a person wants to hear, in minutes of the day.
type hours struct {
	digest, evening    int // never, if not wanted
	quietFrom, quietTo int // equal: never quiet
}

// hoursOf reads a member's wishes. A digest whose hour is quiet comes when the quiet
// ends; an evening note does not, because the digest says the same soon after.
func hoursOf(m *model.Member) hours {
	h := hours{never, never, m.QuietFrom, m.QuietTo}
	if m.DigestAt != 0 {
		h.digest = m.DigestAt
	}
	if h.quiet(h.digest) {
		h.digest = h.quietTo
	}
	if m.Evening && !h.quiet(model.EveningAt) {
		h.evening = model.EveningAt
	}
	return h
}

func (h hours) quiet(minute int) bool {
	switch {
	case minute == never:
		return false
	case h.quietFrom <= h.quietTo:
		return h.quietFrom <= minute && minute < h.quietTo
	}
	return h.quietFrom <= minute || minute < h.quietTo
}

// turn is one phone and all that says what it is to be told.
type turn struct {
	phone  store.Phone
	member model.MemberID
	hours  hours
	here   bool // the person belongs to the household, and is not away
	counts counts
	told   store.Told // of today
}

// step says what the phone is to be told now, if anything, and what holds once it
// was told.
func (t *turn) step(c clock) (kind Kind, after said) {
	after = said(t.told.Said)
	if !t.here || t.hours.quiet(c.minute()) {
		return "", after
	}
	if c.reached(t.hours.digest) && after&digested == 0 {
		kind, after = Digest, after|digested
	}
	if c.reached(t.hours.evening) && after&evened == 0 {
		kind, after = Evening, after|digested|evened
	}
	switch {
	case t.counts.due == 0 && after&shown != 0:
		return Withdraw, after &^ shown
	case t.counts.due == 0:
		return "", after
	case kind != "":
		return kind, after | shown
	case after&(shown|updated) == shown && 2*t.counts.due <= t.told.Shown:
		return last(after), after | updated
	}
	return "", after
}

// last is the kind of note that a phone shows.
func last(s said) Kind {
	if s&evened != 0 {
		return Evening
	}
	return Digest
}

// held reports whether the phone is not to be tried yet, after a try in vain. What
// asks for more than a day comes from a clock that was wrong.
func (t *turn) held(c clock) bool {
	wait := t.told.Again - c.now
	return wait > 0 && wait <= model.Instant((24*time.Hour).Milliseconds())
}

// ends is when a note of today is of no use any more.
func (t *turn) ends(c clock) model.Instant {
	end := c.today.Add(1).Start(c.zone)
	if quiet := moment(c.today, t.hours.quietFrom, c.zone); t.hours.quietFrom != t.hours.quietTo && quiet > c.now {
		end = min(end, quiet)
	}
	return end
}

// next is the first moment after now at which the phone may have to be told
// something although nobody does anything; 0 if there is none.
func (t *turn) next(c clock) model.Instant {
	var next model.Instant
	consider := func(at model.Instant) {
		if at > c.now && (next == 0 || at < next) {
			next = at
		}
	}
	for ahead := range 3 { // the day after today may be one that the zone skips
		day := c.today.Add(ahead)
		for _, minute := range []int{t.hours.digest, t.hours.evening} {
			if minute != never {
				consider(moment(day, minute, c.zone))
			}
		}
	}
	kind, _ := t.step(c)
	switch {
	case kind != "" && t.held(c):
		consider(t.told.Again)
	case kind != "": // there was no time
		consider(c.now + 1)
	case t.hours.quiet(c.minute()) && next != 0:
		consider(moment(c.today, t.hours.quietTo, c.zone))
	}
	return next
}
