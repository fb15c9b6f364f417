package sample

import (
	"slices"

	"github.com/google/uuid"

	"leafturn/model"
)

// visit is a walk along plants: the round of a place, or the check after a spray.
type visit struct {
	moment
	by    who
	rule  model.Rule
	place place   // of a round
	skip  []plant // not looked at this time
}

// visits are all rounds and checks. The last round of each place and its rhythm
// say when the next is due: the kitchen's today, the bedroom's tomorrow, because of
// the outbreak there, the living room's in three days, and the hall's next week.
var visits = []visit{
	{moment{-35, 9, 30}, keeper, model.RuleRound, kitchen, nil},
	{moment{-35, 10, 0}, keeper, model.RuleRound, livingRoom, nil},
	{moment{-34, 18, 0}, helper, model.RuleRound, bedroom, nil},
	{moment{-33, 17, 45}, guest, model.RuleRound, hall, nil},
	{moment{-28, 9, 15}, helper, model.RuleRound, kitchen, nil},
	{moment{-28, 9, 40}, helper, model.RuleRound, livingRoom, nil},
	{moment{-21, 17, 30}, keeper, model.RuleRound, kitchen, nil},
	{moment{-21, 18, 0}, keeper, model.RuleRound, livingRoom, nil},
	{moment{-20, 9, 30}, helper, model.RuleRound, bedroom, nil},
	{moment{-19, 18, 30}, guest, model.RuleRound, hall, nil},
	{moment{-17, 19, 0}, helper, model.RuleCheck, 0, nil},
	{moment{-14, 9, 0}, guest, model.RuleRound, kitchen, nil},
	{moment{-14, 18, 0}, helper, model.RuleRound, livingRoom, nil},
	{moment{-10, 18, 0}, guest, model.RuleCheck, 0, nil},
	{moment{-7, 10, 0}, keeper, model.RuleRound, kitchen, nil},
	{moment{-6, 10, 0}, guest, model.RuleRound, bedroom, nil},
	{moment{-5, 18, 15}, helper, model.RuleRound, hall, nil},
	{moment{-4, 18, 0}, helper, model.RuleRound, livingRoom, []plant{monstera, philodendron, alocasia}},
	{moment{-3, 18, 30}, helper, model.RuleCheck, 0, nil},
}

// finding is what a look found.
type finding struct {
	signs         model.Signs
	young, adults uint16
	damage        uint8
	photo         int // from 1, 0 for none
	note          note
	twisted       bool // the new growth too
}

type look struct {
	day   int
	plant plant
}

const silver = model.SilveryPatches | model.BlackSpecks | model.MovingInsects

// findings are the looks that found something, or a mark that is left; all others found
// nothing. They are made with a lens. The counts are invented: the two soap sprays of
// one evening take about half, as one may leave 40 to 50 % alive (University of
// Kentucky entomology blog, 29 May 2013), and what hatches makes up for it within a
// week; the counts fall once spinosad is sprayed, which works on for days.
var findings = map[look]finding{
	{-21, monstera}: {signs: silver, young: 15, adults: 7, damage: 3, photo: 1, note: firstLook},
	{-17, monstera}: {signs: silver, young: 8, adults: 3, damage: 2, photo: 2},
	{-14, monstera}: {signs: silver, young: 8, adults: 4, damage: 2, photo: 3, note: noFewer},
	{-10, monstera}: {signs: model.SilveryPatches | model.MovingInsects, young: 2, damage: 1, photo: 4, note: fewer},
	{-3, monstera}:  {damage: 1, photo: 5, note: newLeaf},

	{-21, alocasia}: {signs: silver, young: 9, adults: 5, damage: 3, twisted: true},
	{-17, alocasia}: {signs: silver, young: 5, adults: 2, damage: 3},
	{-14, alocasia}: {signs: silver, young: 6, adults: 1, damage: 3},
	{-10, alocasia}: {signs: model.SilveryPatches, young: 1, damage: 2},

	{-21, philodendron}: {signs: silver, young: 4, adults: 3, damage: 2},
	{-17, philodendron}: {signs: model.SilveryPatches | model.BlackSpecks, young: 3, adults: 1, damage: 2},
	{-14, philodendron}: {signs: model.SilveryPatches, young: 3, adults: 1, damage: 1},
	{-10, philodendron}: {signs: model.SilveryPatches, young: 1, damage: 1},

	{-21, calathea}: {signs: silver | model.Yellowing, young: 26, adults: 12, damage: 5, note: tooFar},

	{-20, peaceLily}: {signs: silver, young: 4, adults: 2, damage: 1, note: spread},
	{-17, peaceLily}: {signs: model.SilveryPatches, young: 3, adults: 1, damage: 1},
	{-10, peaceLily}: {signs: model.SilveryPatches, young: 2, adults: 1, damage: 1},
	{-6, peaceLily}:  {signs: model.SilveryPatches, young: 2, damage: 1},
	{-3, peaceLily}:  {signs: model.SilveryPatches, young: 1, damage: 1},
}

// treated are the plants of the course.
var treated = []plant{monstera, philodendron, alocasia, peaceLily}

func visiting() []event {
	out := make([]event, len(visits))
	for i, v := range visits {
		out[i] = event{v.moment, func(t *tale) { t.visit(v) }}
	}
	return out
}

// visit looks at one plant after the other. The last look completes the task, or an
// entry of its own if plants were skipped.
func (t *tale) visit(v visit) {
	seen, subject := treated, uuid.UUID(t.plan)
	if v.rule == model.RuleRound {
		seen, subject = t.standing(v), uuid.UUID(t.places[v.place])
	}
	key := t.next(v.rule, subject)
	for i, p := range seen {
		body := t.inspect(v.day, p)
		body.Round = key
		if i == len(seen)-1 && v.skip == nil {
			body.Completes = key
		}
		t.did(v.by, body)
		t.pass(2)
	}
	if v.skip != nil {
		t.did(v.by, &model.TaskCompleted{Task: key})
	}
}

// standing are the plants that the visitor knows to stand in the place.
func (t *tale) standing(v visit) []plant {
	var out []plant
	book := t.authors[v.by].state.Book()
	for p := range plants {
		known := book.Plants[t.plants[p]]
		if known != nil && !known.Removed && known.Place == t.places[v.place] && !slices.Contains(v.skip, p) {
			out = append(out, p)
		}
	}
	return out
}

// inspect is a look at a plant as the findings have it.
func (t *tale) inspect(day int, p plant) *model.Inspection {
	body := &model.Inspection{Plant: t.plants[p]}
	f, found := findings[look{day, p}]
	if !found {
		return body
	}
	if f.signs != 0 { // not of old marks alone
		body.Findings = []model.Finding{{Part: model.Underside, Signs: f.signs, Counts: model.Counts{model.Young: f.young, model.Adults: f.adults}}}
	}
	if f.twisted {
		body.Findings = append(body.Findings, model.Finding{Part: model.NewGrowth, Signs: model.TwistedNewGrowth})
	}
	body.Aid = model.Lens
	body.Damage, body.Note = f.damage, t.words.notes[f.note]
	if f.photo > 0 {
		body.Photos = []model.PhotoSum{t.photos[f.photo-1]}
	}
	return body
}
