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

// Poll does what is to be done at a moment, and gives what is said.
func (p *Planned) Poll(now model.Instant, zone *time.Location) Kind {
	c := newClock(now, zone)
	if p.turn.told.Day != c.today {
		p.turn.told = store.Told{Day: c.today}
	}
	kind, after := p.turn.step(c)
	p.turn.told.Said = uint8(after)
	return kind
}

// Next is when to look again, after a Poll.
func (p *Planned) Next(now model.Instant, zone *time.Location) model.Instant {
	return p.turn.next(newClock(now, zone))
}

// Deeds says what is to be done, by rule.
var Deeds = deeds
