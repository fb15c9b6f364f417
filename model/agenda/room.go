package agenda

import (
	"slices"

	"leafturn/model"
	"leafturn/model/standing"
)

// room is what was last noted of a place.
type room struct {
	cut     *model.Fact // cut flowers or produce came in
	heat    *model.Fact // a *model.Temperature
	reading *model.Fact // of the card
	hung    *model.Fact // the reading after which a new card was hung; the first of all while there is none
	renewed bool        // hung is such a reading
	watered []model.Date
}

func (l *past) room(p model.PlaceID) *room {
	r := l.rooms[p]
	if r == nil {
		r = &room{}
		l.rooms[p] = r
	}
	return r
}

// read takes in a reading of the card.
func (r *room) read(f *model.Fact, x *model.CardReading) {
	r.reading = later(r.reading, f)
	switch {
	case x.Replaced && r.renewed:
		r.hung = later(r.hung, f)
	case x.Replaced, r.hung == nil, !r.renewed && standing.CompareDone(f, r.hung) < 0:
		r.hung = f
	}
	r.renewed = r.renewed || x.Replaced
}

// noteRoom takes in what a handling says of a place, and of pots. Of waterings, which are many,
// only the last weeks matter.
func (l *past) noteRoom(f *model.Fact, x *model.Handling) {
	switch x.Kind {
	case model.CutCameIn:
		l.room(x.Place).cut = later(l.room(x.Place).cut, f)
	case model.Repotted:
		for _, p := range x.Plants {
			l.potted[p] = later(l.potted[p], f)
		}
	case model.Watered:
		day := l.date(f)
		if l.today.Sub(day) > WaterDays || day > l.today {
			return
		}
		l.water = append(l.water, f)
		if !x.Place.IsZero() {
			r := l.room(x.Place)
			r.watered = append(r.watered, day)
		}
	}
}

// noteSize takes in a measured leaf. What a person rejected says nothing.
func (l *past) noteSize(f *model.Fact, x *model.Measurement) {
	if x.Verdict != model.Rejected {
		l.sizes[x.Plant] = later(l.sizes[x.Plant], f)
	}
}

func later(a, b *model.Fact) *model.Fact {
	if a == nil || b != nil && standing.CompareDone(a, b) < 0 {
		return b
	}
	return a
}

// warmest is the warmest that a place was lately, in tenths of a degree Celsius, by
// a reading of the last HeatDays or else by what the household says is usual there;
// ok is false if nobody has said.
func (l *ledger) warmest(p model.PlaceID) (tenths int, by *model.Fact, ok bool) {
	if r := l.rooms[p]; r != nil && r.heat != nil && l.today.Sub(l.date(r.heat)) <= HeatDays {
		return r.heat.Body.(*model.Temperature).Warmest, r.heat, true
	}
	place := l.book.Places[p]
	if place == nil || place.Coldest == 0 && place.Warmest == 0 {
		return 0, nil, false
	}
	return place.Warmest, nil, true
}

// withWater moves a round to a day on which the place is watered anyway, if the
// household waters it about weekly and the day is near.
func (l *ledger) withWater(place model.PlaceID, due model.Date) (model.Date, bool) {
	r := l.rooms[place]
	if r == nil {
		return due, false
	}
	slices.Sort(r.watered)
	days := slices.Compact(r.watered)
	n := len(days)
	if n < 3 || !weekly(days[n-3], days[n-2]) || !weekly(days[n-2], days[n-1]) {
		return due, false
	}
	for _, day := range []model.Date{days[n-1], days[n-1].Add(7)} {
		if d := day.Sub(due); -WaterNear <= d && d <= WaterNear {
			return day, true
		}
	}
	return due, false
}

func weekly(a, b model.Date) bool { return b.Sub(a) >= 7-WaterNear && b.Sub(a) <= 7+WaterNear }

// lastWatered is the last watering of a plant within WaterDays, or nil. A watering
// names its plants, those of a whole place too.
func (l *ledger) lastWatered(p model.PlantID) *model.Fact {
	var last *model.Fact
	for _, f := range l.water {
		if slices.Contains(f.Body.(*model.Handling).Plants, p) {
			last = later(last, f)
		}
	}
	return last
}

// holdWater finds the plants out of whose pots no water may run yet, because a
// systemic product went into the mix: RunDays days or RunWaterings waterings,
// whichever is longer. Waterings that nobody notes are not waited for.
func (l *ledger) holdWater() {
	for _, f := range l.apps {
		x := f.Body.(*model.Application)
		if l.today.Sub(l.date(f)) <= WaterDays && l.product(x.Product).Means == model.MeansSystemicSoil {
			for _, p := range x.Plants {
				l.soaks[p] = soak{by: later(l.soaks[p].by, f)}
			}
		}
	}
	for p, s := range l.soaks {
		s.until = l.date(s.by).Add(RunDays)
		waterings := 0
		for _, f := range l.water {
			if f.At > s.by.At && slices.Contains(f.Body.(*model.Handling).Plants, p) {
				waterings++
			}
		}
		if waterings > 0 && waterings < RunWaterings {
			s.until = max(s.until, l.today.Add(1))
		}
		l.soaks[p] = s
		if s.until <= l.today {
			delete(l.soaks, p)
		}
	}
}

// soak is a systemic product in the mix of a plant, and the day from which water may
// run through it again.
type soak struct {
	by    *model.Fact
	until model.Date
}
