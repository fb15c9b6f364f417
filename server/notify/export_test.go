package notify

import (
	"time"

	"leafturn/model"
	"leafturn/server/store"
)

// Moment is when the wall clock of a zone first shows a minute of a day.
var Moment = moment

// Topic names the notes of a person and day.
var Topic = topic

// Lease is how long a worker may take for what it claims.
const Lease = lease

// Planned is one phone without a household: what its person wants and has due.
type Planned struct{ turn turn }

// NewPlanned makes the phone of a member who has so many tasks due.
func NewPlanned(m model.Member, due int) *Planned {
	return &Planned{turn{hours: hoursOf(&m), here: true, counts: counts{due: due}}}
}

// SetDue changes how many tasks are due.
func (p *Planned) SetDue(due int) { p.turn.counts.due = due }

// Poll does what is to be done at a moment, and gives what is said and when to look
// again.
func (p *Planned) Poll(now model.Instant, zone *time.Location) (Kind, model.Instant) {
	c := newClock(now, zone)
	if p.turn.told.Day != c.today {
		p.turn.told = store.Told{Day: c.today}
	}
	kind, after := p.turn.step(c)
	p.turn.told.Said = uint8(after)
	return kind, p.turn.next(c)
}

// Deeds says what is to be done, by rule.
var Deeds = deeds
