package trace

import (
	"time"

	"leafturn/model"
	"leafturn/model/standing"
)

// Contact is a plant that may have caught the pest since.
type Contact struct {
	Plant      model.PlantID
	How        How // BesideIt, HandledWith or CutFrom
	Fact       *model.Fact
	From, Date model.Date // when they were together
	Days       int        // how many of those days the pest was probably there
	Fit        float64    // 0 to 1, for the order only
}

// Gone are the plants that are no longer here and may have taken the pest with them,
// as Contacts says: whoever has them now should be told. Plants that stood here only before the pest was are none of them.
func Gone(b *model.Book, plant model.PlantID, w *Window, today model.Date, zone *time.Location) []Contact {
	return contacts(b, plant, w, today, zone, func(h standing.Hands, p *model.Plant) bool { return !h.Living(p) })
}

// daily is the chance on one day that a pest goes over to a plant at the same place,
// for the order of contacts; our judgement, as population's for plants that touch.
const daily = 0.02

// Contacts are the living plants that may have caught the pest from a plant between
// its coming in and today, each once by its closest contact: whom to look at today.
// Plants that stood together count the days weighed by the chance that the pest was
// there already.
func Contacts(b *model.Book, plant model.PlantID, w *Window, today model.Date, zone *time.Location) []Contact {
	return contacts(b, plant, w, today, zone, standing.Hands.Living)
}

func contacts(b *model.Book, plant model.PlantID, w *Window, today model.Date, zone *time.Location, asked func(standing.Hands, *model.Plant) bool) []Contact {
	p := b.Plants[plant]
	if p == nil {
		return nil
	}
	hands := standing.Hands{}
	for _, f := range b.Facts() {
		if x, ok := f.Body.(*model.Handling); ok && b.Stands(f.ID) {
			hands.Note(f, x)
		}
	}
	own := stays(b, p, zone)
	var all []Contact
	for id, other := range b.Plants {
		if id == plant || !asked(hands, other) {
			continue
		}
		c := beside(other, together(own, stays(b, other, zone)), w, today)
		if h := handled(b, plant, id, w, zone); h.Fit > c.Fit {
			c = h
		}
		if other.CuttingOf == plant && readily[CutFrom] > c.Fit {
			c = Contact{Plant: id, How: CutFrom, From: w.Low, Date: today, Fit: readily[CutFrom]}
		}
		if c.Fit > 0.001 {
			all = append(all, c)
		}
	}
	byChance(all, func(c Contact) float64 { return c.Fit }, func(a, b Contact) int { return model.CompareIDs(a.Plant, b.Plant) })
	return all
}

func beside(other *model.Plant, stays []stay, w *Window, today model.Date) Contact {
	c := Contact{Plant: other.ID, How: BesideIt}
	days, clear := 0.0, 1.0
	for _, s := range stays {
		for d := max(s.from, w.First); d <= min(s.to, today); d++ {
			there := w.Between(w.First, d)
			if there < 0.01 {
				continue
			}
			if c.From == 0 {
				c.From = d
			}
			c.Date = d
			days += there
			clear *= 1 - daily*there
		}
	}
	c.Days, c.Fit = int(days+0.5), 1-clear
	return c
}

func handled(b *model.Book, plant, other model.PlantID, w *Window, zone *time.Location) Contact {
	best := Contact{Plant: other, How: HandledWith}
	for _, f := range handlings(b, plant) {
		x := f.Body.(*model.Handling)
		if !carries(x.Kind) || !has(x.Plants, other) {
			continue
		}
		day := f.At.Date(zone)
		if fit := w.Between(w.First, day) * readily[HandledWith]; fit > best.Fit {
			best.Fact, best.From, best.Date, best.Fit, best.Days = f, day, day, fit, 1
		}
	}
	return best
}
