package trace

import (
	"slices"
	"time"

	"leafturn/model"
	"leafturn/model/standing"
)

// stay is a stretch of days that a plant stood at a place among others.
type stay struct {
	place    model.PlaceID
	from, to model.Date // both included
}

// always and ever stand for no beginning and no end.
const (
	always model.Date = -1 << 30
	ever   model.Date = 1 << 30
)

// stays are where a plant stood when, as far as its facts say. A plant that was
// never moved stood where it stands now; before a first move nobody knows where it
// was. Before it first came in it was nowhere, and while apart or outdoors it stood
// among no others.
func stays(b *model.Book, p *model.Plant, zone *time.Location) []stay {
	facts := handlings(b, p.ID)
	s := sojourn{now: stay{place: p.Place, from: always}}
	for i, f := range facts {
		switch f.Body.(*model.Handling).Kind {
		case model.Moved:
			s.now.place = model.PlaceID{}
		case model.CameIn, model.BackIn:
			s.away = s.away || i == firstCrossing(facts)
		}
	}
	for _, f := range facts {
		s.note(f.Body.(*model.Handling), f.At.Date(zone))
	}
	s.end(ever)
	return s.all
}

// firstCrossing is the first fact by which the plant came in or went out, -1 if
// there is none. If it came in by it, it was not here before.
func firstCrossing(facts []*model.Fact) int {
	return slices.IndexFunc(facts, func(f *model.Fact) bool {
		k := f.Body.(*model.Handling).Kind
		return k == model.CameIn || k == model.BackIn || k == model.WentOut
	})
}

// sojourn gathers the stays of a plant.
type sojourn struct {
	all               []stay
	now               stay
	apart, away, gone bool
}

// end closes the current stay on a day, if it counts as one.
func (s *sojourn) end(day model.Date) {
	if !s.apart && !s.away && !s.gone {
		s.now.to = day
		s.all = append(s.all, s.now)
	}
	s.now.from = day
}

func (s *sojourn) note(x *model.Handling, day model.Date) {
	s.end(day)
	switch x.Kind {
	case model.Moved:
		s.now.place = x.Place
	case model.Isolated:
		s.apart = true
	case model.Released:
		s.apart = false
	case model.WentOut:
		s.away = true
	case model.CameIn, model.BackIn:
		s.away = false
	case model.ThrownOut:
		s.gone = true
	}
}

// handlings are what was done with a plant, in order of doing.
func handlings(b *model.Book, id model.PlantID) []*model.Fact {
	var all []*model.Fact
	for _, f := range b.PlantFacts(id) {
		if _, ok := f.Body.(*model.Handling); ok && b.Stands(f.ID) {
			all = append(all, f)
		}
	}
	slices.SortFunc(all, standing.CompareDone)
	return all
}

// together are the stretches of days on which two plants stood at one place.
func together(a, b []stay) []stay {
	var all []stay
	for _, x := range a {
		for _, y := range b {
			if x.place.IsZero() || x.place != y.place {
				continue
			}
			if s := (stay{x.place, max(x.from, y.from), min(x.to, y.to)}); s.from <= s.to {
				all = append(all, s)
			}
		}
	}
	return all
}
