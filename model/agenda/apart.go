package agenda

import (
	"cmp"

	"leafturn/model"
	"leafturn/model/standing"
)

// apartTasks are the looks that end a plant's time apart: one that came in, came back
// from outdoors, or was set apart. A plant of an open outbreak is looked at by its
// course, and its time begins when the outbreak is closed.
func (l *ledger) apartTasks() []*Task {
	var tasks []*Task
	for id, hand := range l.hands {
		if p := l.book.Plants[id]; l.hands.Living(p) {
			if t := l.apartTask(p, hand); t != nil {
				tasks = append(tasks, t)
			}
		}
	}
	return tasks
}

func (l *ledger) apartTask(p *model.Plant, hand standing.Hand) *Task {
	since := hand.In
	why := Reason{Because: CameIn}
	if hand.IsApart() && (since == nil || standing.CompareDone(since, hand.Apart) < 0) {
		since, why.Because = hand.Apart, SetApart
	}
	t, last := l.next(model.RuleQuarantine, p.ID.UUID())
	if since == nil || last != nil && standing.CompareDone(since, last) < 0 || released(hand, since) {
		return nil
	}
	why.Fact, why.Date = since, l.date(since)
	t.Why, t.Due = []Reason{why}, why.Date
	if !l.waitForEnd(t, p.ID) {
		return nil
	}
	t.Due = t.Due.Add(standing.QuarantineDays)
	t.Earliest = t.Due
	t.Why = append(t.Why, Reason{Because: ApartFor, Days: standing.QuarantineDays})
	t.Plants, t.Places = []model.PlantID{p.ID}, l.placesOf([]*model.Plant{p})
	return l.finish(t, nil, nil)
}

// released reports whether somebody put the plant back among the others since.
func released(hand standing.Hand, since *model.Fact) bool {
	return hand.Apart != nil && !hand.IsApart() && standing.CompareDone(since, hand.Apart) < 0
}

// waitForEnd lets the time begin when the last outbreak of the plant was closed; false
// if one is still open.
func (l *ledger) waitForEnd(t *Task, p model.PlantID) bool {
	if l.ill[p] != nil {
		return false
	}
	if o := l.cleared[p]; o != nil && o.Closed > t.Due {
		t.Due = o.Closed
		t.Why = append(t.Why, Reason{Because: OutbreakClosed, Outbreak: o.ID, Pest: o.Pest, Date: o.Closed})
	}
	return true
}

// maintainTasks are the looks at plants that were cleared of a pest: weekly while they
// are watched, then fortnightly, where the rounds of their place are rarer than that.
func (l *ledger) maintainTasks() []*Task {
	var tasks []*Task
	for _, o := range l.closed {
		if l.today.Sub(o.Closed) <= MaintainFor {
			if t := l.maintainTask(o); t != nil {
				tasks = append(tasks, t)
			}
		}
	}
	return tasks
}

func (l *ledger) maintainTask(o *model.Outbreak) *Task {
	t, last := l.next(model.RuleMaintain, o.ID.UUID())
	since := o.Closed
	t.Why = []Reason{{Because: OutbreakClosed, Outbreak: o.ID, Pest: o.Pest, Date: o.Closed}}
	if last != nil && l.date(last) > since {
		since = l.date(last)
		t.Why = append(t.Why, Reason{Because: LastLook, Fact: last, Date: since})
	}
	every := MaintainSoon
	if since.Add(MaintainSoon).Sub(o.Closed) > standing.QuarantineDays {
		every = MaintainThen
	}
	t.Due, t.Latest = since.Add(every), since.Add(MaintainThen)
	plants := l.rarely(o, every)
	if len(plants) == 0 || t.Due.Sub(o.Closed) > MaintainFor {
		return nil
	}
	t.Outbreak = o.ID
	t.Plants, t.Places = plantIDs(plants), l.placesOf(plants)
	t.Why = append(t.Why, Reason{Because: MaintainEvery, Days: every, Basis: model.CommonPractice})
	return l.finish(t, nil, nil)
}

// rarely gives the living plants of an outbreak that no round looks at as often as
// every so many days, and that no other outbreak has taken over.
func (l *ledger) rarely(o *model.Outbreak, every int) []*model.Plant {
	var ids []model.PlantID
	for id, affected := range o.Affects {
		p := l.book.Plants[id]
		if !affected || p == nil || l.ill[id] != nil {
			continue
		}
		if place := l.book.Places[p.Place]; place == nil || place.Removed || cmp.Or(place.RoundEvery, DefaultRoundEvery) > every {
			ids = append(ids, id)
		}
	}
	return l.plantsOf(ids, true)
}
