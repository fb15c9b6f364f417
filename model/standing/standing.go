package standing

import (
	"slices"
	"time"

	"leafturn/model"
)

// Standing is how a plant stands.
type Standing uint8

// The standings, in the order in which a walk meets them.
const (
	Clear       Standing = 1 // looked at, and nothing found the last time
	Watch       Standing = 2 // not known to be clean
	InTreatment Standing = 3 // under the plan of an open outbreak
	Quarantined Standing = 4 // kept apart
	Lost        Standing = 5 // gone: given away or thrown out
)

// Why is the reason of a standing. Where several hold, the gravest counts: the
// one with the greatest number. Words for them live in the screens' catalogue.
type Why uint8

// The reasons, from light to grave.
const (
	CleanLook     Why = 1  // Clear: the last look found nothing
	NeverLooked   Why = 2  // Watch
	CameInLately  Why = 3  // Watch: it came in less than QuarantineDays ago
	LatelyCleared Why = 4  // Watch: its outbreak was closed less than QuarantineDays ago
	FoundLast     Why = 5  // Watch: the last look found something
	Affected      Why = 6  // Watch: an open outbreak names it, and no plan treats it yet
	UnderPlan     Why = 7  // InTreatment
	KeptApart     Why = 8  // Quarantined
	ThrownOut     Why = 9  // Lost
	Removed       Why = 10 // Lost: the household took it off its list
)

func (w Why) standing() Standing {
	switch {
	case w >= ThrownOut:
		return Lost
	case w == KeptApart:
		return Quarantined
	case w == UnderPlan:
		return InTreatment
	case w >= NeverLooked:
		return Watch
	}
	return Clear
}

// QuarantineDays is how long a plant that came in, or was affected, is watched:
// at least three weeks (Colorado State University Extension, fact sheet 5.595).
const QuarantineDays = 21

// Status is how one plant stands, and what that rests on.
type Status struct {
	Plant     model.PlantID
	Standing  Standing
	Why       Why
	Since     model.Date       // when it came to that, zero if no fact says so
	Outbreak  model.OutbreakID // for Affected, LatelyCleared and UnderPlan
	Affected  bool             // an open outbreak names it, or the last look found something
	Apart     bool
	LastLook  *model.Fact // an *model.Inspection, or nil
	LastFound *model.Fact // the last look that found something, or nil
}

// Derive tells how every plant of the book stands.
func Derive(b *model.Book, now model.Instant, zone *time.Location) map[model.PlantID]Status {
	all := make(map[model.PlantID]Status, len(b.Plants))
	outbreaks := involving(b)
	for id, p := range b.Plants {
		all[id] = of(b, p, outbreaks[id], now, zone)
	}
	return all
}

// Of tells how one plant stands, and whether the book knows it.
func Of(b *model.Book, id model.PlantID, now model.Instant, zone *time.Location) (Status, bool) {
	p, ok := b.Plants[id]
	if !ok {
		return Status{}, false
	}
	return of(b, p, involving(b)[id], now, zone), true
}

// involvement is one outbreak as one plant has to do with it.
type involvement struct {
	outbreak *model.Outbreak
	affected bool
	plan     *model.Fact // the ruling plan, if it treats the plant
}

// involving finds the outbreaks of each plant, in order of their ids.
func involving(b *model.Book) map[model.PlantID][]involvement {
	all := map[model.PlantID][]involvement{}
	for _, o := range sortedOutbreaks(b) {
		plants := map[model.PlantID]involvement{}
		for p, yes := range o.Affects {
			if yes {
				plants[p] = involvement{outbreak: o, affected: true}
			}
		}
		if plans := b.Plans(o.ID); o.Closed == 0 && len(plans) > 0 {
			ruling := plans[len(plans)-1]
			for _, p := range ruling.Body.(*model.PlanAccepted).Plants {
				plants[p] = involvement{outbreak: o, affected: o.Affects[p], plan: ruling}
			}
		}
		for p, i := range plants {
			all[p] = append(all[p], i)
		}
	}
	return all
}

func sortedOutbreaks(b *model.Book) []*model.Outbreak {
	list := make([]*model.Outbreak, 0, len(b.Outbreaks))
	for _, o := range b.Outbreaks {
		list = append(list, o)
	}
	slices.SortFunc(list, func(x, y *model.Outbreak) int { return model.CompareIDs(x.ID, y.ID) })
	return list
}

func of(b *model.Book, p *model.Plant, outbreaks []involvement, now model.Instant, zone *time.Location) Status {
	s := Status{Plant: p.ID}
	hand := s.read(b, p.ID)
	s.Apart = hand.IsApart()
	today := now.Date(zone)
	s.looked(zone)
	s.handled(hand, today, zone)
	for _, i := range outbreaks {
		s.involved(i, today, zone)
	}
	if p.Removed {
		s.raise(Removed, 0, model.OutbreakID{})
	}
	s.Standing = s.Why.standing()
	return s
}

// raise takes a reason if none so far is graver.
func (s *Status) raise(why Why, since model.Date, o model.OutbreakID) {
	if why > s.Why {
		s.Why, s.Since, s.Outbreak = why, since, o
	}
}

func (s *Status) looked(zone *time.Location) {
	switch {
	case s.LastLook == nil:
		s.raise(NeverLooked, 0, model.OutbreakID{})
	case s.LastLook == s.LastFound:
		s.Affected = true
		s.raise(FoundLast, s.LastLook.At.Date(zone), model.OutbreakID{})
	default:
		s.raise(CleanLook, s.LastLook.At.Date(zone), model.OutbreakID{})
	}
}

func (s *Status) handled(hand Hand, today model.Date, zone *time.Location) {
	if hand.In != nil {
		if in := hand.In.At.Date(zone); today.Sub(in) < QuarantineDays {
			s.raise(CameInLately, in, model.OutbreakID{})
		}
	}
	if s.Apart {
		s.raise(KeptApart, hand.Apart.At.Date(zone), model.OutbreakID{})
	}
	if hand.Gone != nil {
		s.raise(ThrownOut, hand.Gone.At.Date(zone), model.OutbreakID{})
	}
}

func (s *Status) involved(i involvement, today model.Date, zone *time.Location) {
	o := i.outbreak
	if i.affected && o.Closed == 0 {
		s.Affected = true
		s.raise(Affected, o.Opened, o.ID)
	}
	if i.affected && o.Closed != 0 && today.Sub(o.Closed) < QuarantineDays {
		s.raise(LatelyCleared, o.Closed, o.ID)
	}
	if i.plan != nil {
		s.raise(UnderPlan, i.plan.At.Date(zone), o.ID)
	}
}

// read goes through the plant's facts once.
func (s *Status) read(b *model.Book, id model.PlantID) Hand {
	var hand Hand
	for _, f := range b.PlantFacts(id) {
		switch x := f.Body.(type) {
		case *model.Inspection:
			if b.Stands(f.ID) {
				s.look(f, x)
			}
		case *model.Handling:
			if b.Stands(f.ID) {
				hand.note(f, x.Kind)
			}
		}
	}
	return hand
}

func (s *Status) look(f *model.Fact, x *model.Inspection) {
	s.LastLook = later(s.LastLook, f)
	if x.Found() {
		s.LastFound = later(s.LastFound, f)
	}
}
