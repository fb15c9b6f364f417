package trace

import (
	"time"

	"leafturn/model"
)

// How says how a pest may have come to a plant, or gone from it.
type How uint8

// The ways, the surest first.
const (
	CameWithIt     How = 1  // the plant itself came in on Date, and may have brought it
	FromOutdoors   How = 2  // the plant was outdoors from From to Date
	SickNeighbour  How = 3  // Other had the same pest and stood at the same place from From to Date
	NewNeighbour   How = 4  // Other came in on From and stood at the same place until Date
	MovedBeside    How = 5  // the plant was moved to the place on Date
	HandledWith    How = 6  // handled together with Other on Date
	BesideIt       How = 7  // for contacts: stood at the same place from From to Date
	UnknownArrival How = 8  // nothing that was written down: window, clothes
	FlowersBeside  How = 9  // cut flowers or produce came to its place on From, and stood there until about Date
	CutFrom        How = 10 // the plant was cut from Other; for contacts: it is a cutting of the plant
)

// Suspect is one thing that may have brought the pest.
type Suspect struct {
	How        How
	Other      model.PlantID // zero if it is about the plant itself
	Fact       *model.Fact   // what rests behind it, nil if there is none
	From, Date model.Date
	Fit        float64 // 0 to 1: how much of the window it explains, and how readily; for the order only
}

// How readily each way brings a pest, against the surest; our judgement. What was
// never written down always remains possible.
var readily = [...]float64{
	CameWithIt: 1, FromOutdoors: 0.9, SickNeighbour: 0.9, NewNeighbour: 0.6, MovedBeside: 0.3, HandledWith: 0.5, BesideIt: 0.6, UnknownArrival: 0.1,
	FlowersBeside: 0.6, CutFrom: 0.7,
}

// vase is how long cut flowers and produce stay at a place; our judgement.
const vase = 10

// slack is by how many days a window is widened at an event: eggs and young that
// came along begin to count as an arrival of adults some days later.
const slack = 3

// Suspects are what may have brought the pest to a plant, the best fit first. The
// last resort is always among them.
func Suspects(b *model.Book, plant model.PlantID, pest model.Pest, w *Window, zone *time.Location) []Suspect {
	p := b.Plants[plant]
	if p == nil {
		return nil
	}
	t := &tracer{book: b, plant: p, pest: pest, window: w, zone: zone, stays: stays(b, p, zone)}
	t.own()
	t.flowers()
	t.parent()
	for id, other := range b.Plants {
		if id != plant {
			t.neighbour(other)
		}
	}
	t.add(Suspect{How: UnknownArrival, From: w.Low, Date: w.High}, 1)
	byChance(t.all, func(s Suspect) float64 { return s.Fit }, func(a, b Suspect) int {
		if a.How != b.How {
			return int(a.How) - int(b.How)
		}
		return model.CompareIDs(a.Other, b.Other)
	})
	return t.all
}

type tracer struct {
	book   *model.Book
	plant  *model.Plant
	pest   model.Pest
	window *Window
	zone   *time.Location
	stays  []stay
	all    []Suspect
}

func (t *tracer) add(s Suspect, share float64) {
	if s.Fit = share * readily[s.How]; s.Fit > 0.001 {
		t.all = append(t.all, s)
	}
}

// own are the plant's own comings and goings.
func (t *tracer) own() {
	out := model.Date(0)
	for _, f := range handlings(t.book, t.plant.ID) {
		day, x := f.At.Date(t.zone), f.Body.(*model.Handling)
		switch x.Kind {
		case model.WentOut:
			out = day
		case model.CameIn, model.BackIn:
			if out != 0 {
				t.add(Suspect{How: FromOutdoors, Fact: f, From: out, Date: day}, t.window.Between(out, day.Add(slack)))
				out = 0
				continue
			}
			if x.Kind == model.BackIn { // nobody noted when it went out
				t.add(Suspect{How: FromOutdoors, Fact: f, From: day, Date: day}, t.window.Between(always, day.Add(slack)))
				continue
			}
			t.add(Suspect{How: CameWithIt, Fact: f, Date: day}, t.window.Between(always, day.Add(slack)))
		case model.Moved:
			t.add(Suspect{How: MovedBeside, Fact: f, Date: day}, t.window.Between(day, day.Add(2*slack)))
		}
	}
}

// flowers are what came to the places at which the plant stood.
func (t *tracer) flowers() {
	for _, f := range t.book.Facts() {
		x, ok := f.Body.(*model.Handling)
		if !ok || x.Kind != model.CutCameIn || !t.book.Stands(f.ID) {
			continue
		}
		day := f.At.Date(t.zone)
		here := []stay{{x.Place, day, day.Add(vase)}}
		for _, s := range together(t.stays, here) {
			t.add(Suspect{How: FlowersBeside, Fact: f, From: s.from, Date: s.to}, t.window.Between(s.from, s.to.Add(slack)))
		}
	}
}

// doubtful is how much of the window a mother plant explains on which nobody saw the
// pest; our judgement.
const doubtful = 0.3

// parent is the plant that this one was cut from: it brings what the parent had. When
// it was cut is not written down.
func (t *tracer) parent() {
	mother := t.plant.CuttingOf
	if t.book.Plants[mother] == nil || mother == t.plant.ID {
		return
	}
	share := doubtful
	if from, to := t.sick(mother); from != 0 {
		share = max(share, t.window.Between(from.Add(-unseen), to))
	}
	t.add(Suspect{How: CutFrom, Other: mother, From: t.window.Low, Date: t.window.High}, share)
}

// neighbour is what another plant may have brought.
func (t *tracer) neighbour(other *model.Plant) {
	came, fact := firstIn(t.book, other.ID, t.zone)
	sick, until := t.sick(other.ID)
	for _, s := range together(t.stays, stays(t.book, other, t.zone)) {
		if sick != 0 {
			// It may have had the pest for a while before anybody saw it.
			from, to := max(s.from, sick.Add(-unseen)), min(s.to, until)
			if from <= to {
				t.add(Suspect{How: SickNeighbour, Other: other.ID, From: from, Date: to}, t.window.Between(from, to.Add(slack)))
			}
		}
		if fact != nil && came >= s.from && came <= s.to {
			t.add(Suspect{How: NewNeighbour, Other: other.ID, Fact: fact, From: came, Date: s.to}, t.window.Between(came, s.to))
		}
	}
	t.hands(other.ID)
}

// unseen is how long a plant may have had a pest before it was found; our judgement.
const unseen = 21

// hands are the times when both were handled at once.
func (t *tracer) hands(other model.PlantID) {
	for _, f := range handlings(t.book, t.plant.ID) {
		x := f.Body.(*model.Handling)
		if !carries(x.Kind) || !has(x.Plants, other) {
			continue
		}
		day := f.At.Date(t.zone)
		t.add(Suspect{How: HandledWith, Other: other, Fact: f, Date: day}, t.window.Between(day, day.Add(2*slack)))
	}
}

func carries(k model.HandlingKind) bool {
	switch k {
	case model.Rinsed, model.Wiped, model.Pruned, model.Repotted:
		return true
	}
	return false
}

func has(all []model.PlantID, id model.PlantID) bool {
	for _, p := range all {
		if p == id {
			return true
		}
	}
	return false
}

func firstIn(b *model.Book, id model.PlantID, zone *time.Location) (model.Date, *model.Fact) {
	for _, f := range handlings(b, id) {
		if f.Body.(*model.Handling).Kind == model.CameIn {
			return f.At.Date(zone), f
		}
	}
	return 0, nil
}

// sick says from when to when another plant was known to have the pest: since the
// first outbreak of it opened, until the last was closed. Zero if never.
func (t *tracer) sick(other model.PlantID) (from, to model.Date) {
	for _, o := range t.book.Outbreaks {
		if !o.Affects[other] || o.Pest != t.pest && o.Pest != model.PestUnknown || o.Opened == 0 {
			continue
		}
		if from == 0 || o.Opened < from {
			from = o.Opened
		}
		end := o.Closed
		if end == 0 {
			end = ever
		}
		to = max(to, end)
	}
	return from, to
}
