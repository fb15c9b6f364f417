package agenda

import (
	"time"

	"leafturn/model"
)

// Derive makes the agenda of a household at a moment, with days counted in a zone.
func Derive(b *model.Book, now model.Instant, zone *time.Location) *Agenda {
	var c Cache
	return c.Derive(b, now, zone)
}

// Cache derives the agenda of a household again and again, and gives the same as
// Derive. Where nothing has come but facts that were written after all it has read,
// which is what a phone that is in use adds, it reads only those. The zero Cache is
// ready for use.
type Cache struct {
	past *past
	read int         // so many facts of the book
	last *model.Fact // the last of them
}

// Derive is Derive with what was read before.
func (c *Cache) Derive(b *model.Book, now model.Instant, zone *time.Location) *Agenda {
	facts, today := b.Facts(), now.Date(zone)
	if !c.continues(b, facts, today, zone) {
		c.past, c.read = newPast(b, today, zone), 0
	}
	for _, f := range facts[c.read:] {
		c.past.note(f)
	}
	if c.read = len(facts); c.read > 0 {
		c.last = facts[c.read-1]
	}
	return c.past.look(now).agenda()
}

// continues reports whether the facts are those that were read, and others written
// after them that take none of them back. A late fact would have moved the last one
// on from where it was.
func (c *Cache) continues(b *model.Book, facts []*model.Fact, today model.Date, zone *time.Location) bool {
	p := c.past
	if p == nil || p.book != b || p.today != today || p.zone != zone || len(facts) < c.read || c.read > 0 && facts[c.read-1] != c.last {
		return false
	}
	for _, f := range facts[c.read:] {
		if _, ok := f.Body.(*model.Withdrawn); ok {
			return false
		}
	}
	return true
}
