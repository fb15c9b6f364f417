package app

import (
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/risk"
)

// What is shown of the plants at most risk. A plant at a quiet place comes to the
// least score after about a month in which nobody looked.
const (
	mostAtRisk = 3
	leastRisk  = 0.03
)

// atRisk are the plants to look at first, the most doubtful first.
func (a *App) atRisk(b *model.Book) []screens.AtRisk {
	var out []screens.AtRisk
	for _, r := range risk.Rank(b, a.standings(b), a.now(), a.zone) {
		if len(out) == mostAtRisk || r.Score < leastRisk {
			break
		}
		out = append(out, screens.AtRisk{Plant: a.named(b, r.Plant.ID), Place: a.placeOfPlant(b, r.Plant.ID), Why: a.riskWords(b, r)})
	}
	return out
}

// risks are the words for each plant of a walk that should be looked at closely.
func (a *App) risks(b *model.Book) map[model.PlantID]string {
	out := map[model.PlantID]string{}
	for _, r := range risk.Rank(b, a.standings(b), a.now(), a.zone) {
		if r.Score < leastRisk {
			break
		}
		out[r.Plant.ID] = a.riskWords(b, r)
	}
	return out
}

// riskWords says what speaks for looking at a plant: the weightiest part, then what
// makes it easy prey.
func (a *App) riskWords(b *model.Book, r risk.Ranked) string {
	t, s := a.t.LookFirst, r.Sight
	words := t.Unseen(a.t.Format.Days(s.Unseen))
	parts := s.Parts()
	switch o := b.Outbreaks[r.By]; {
	case parts.Arrival > parts.Since:
		words = t.NewHere(a.day(a.today().Add(-s.In)))
	case o != nil && s.Near >= risk.SamePlace && s.Unseen >= 0:
		words = t.NearOutbreak(a.outbreakName(o), a.day(a.today().Add(-s.Unseen)))
	case o != nil && s.Near >= risk.SamePlace:
		words = t.NearUnseen(a.outbreakName(o))
	case s.Unseen < 0:
		words = t.NeverSeen
	}
	if s.Leaves == risk.Thin {
		words += " " + t.Thin
	}
	if s.Weak >= 0.5 {
		words += " " + t.Weak
	}
	return words
}
