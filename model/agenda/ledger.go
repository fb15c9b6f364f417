package agenda

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/model/standing"
)

// ledger is what one pass over the facts leaves: everything that tasks are made
// of, by key. Facts that were withdrawn are not in it.
type ledger struct {
	book  *model.Book
	now   model.Instant
	zone  *time.Location
	today model.Date

	done    map[model.TaskKey]*completion
	rounds  map[uuid.UUID]*rounds
	looks   map[model.TaskKey][]model.PlantID // for checks
	claims  map[model.TaskKey][]*model.Fact
	delays  map[model.TaskKey]*model.Fact
	settled map[model.TaskKey]*model.Fact
	plans   map[model.PlanID]*model.Fact  // the last acceptance of each plan
	twice   map[model.TaskKey]*completion // by more than one application
	apps    []*model.Fact
	hands   standing.Hands

	living  map[model.PlaceID][]*model.Plant // by name; made when the pass is over
	reentry map[model.PlantID]hold           // plants that must not be touched yet; made then too
}

// completion is how one task was completed. Nearly all are completed once.
type completion struct {
	first  *model.Fact
	others []*model.Fact
	apps   int // how many of them are applications
}

func (c *completion) add(f *model.Fact) {
	if _, ok := f.Body.(*model.Application); ok {
		c.apps++
	}
	if c.first != nil && standing.CompareDone(c.first, f) < 0 {
		c.others = append(c.others, f)
		return
	}
	if c.first != nil {
		c.others = append(c.others, c.first)
	}
	c.first = f
}

// all gives every completion in order of doing.
func (c *completion) all() []*model.Fact {
	slices.SortFunc(c.others, standing.CompareDone)
	return append([]*model.Fact{c.first}, c.others...)
}

// applications gives those completions that are applications, in order of doing.
func (c *completion) applications() []*model.Fact {
	return slices.DeleteFunc(c.all(), func(f *model.Fact) bool {
		_, ok := f.Body.(*model.Application)
		return !ok
	})
}

// rounds is what is known of the rounds of one place.
type rounds struct {
	highest uint32 // greatest ordinal completed
	looks   []look // of later rounds
}

type look struct {
	ordinal uint32
	plant   model.PlantID
}

// newLedger reads the whole book.
func newLedger(b *model.Book, now model.Instant, zone *time.Location) *ledger {
	l := blankLedger(b, now, zone)
	for _, f := range b.Facts() {
		l.note(f)
	}
	l.settlePlants()
	l.holdPlants()
	return l
}

// plantLedger reads only what was done with some plants, which is enough to judge
// an application on them and much quicker in a household with a long history.
func plantLedger(b *model.Book, plants []model.PlantID, now model.Instant, zone *time.Location) *ledger {
	l := blankLedger(b, now, zone)
	var facts []*model.Fact
	for _, p := range plants {
		for _, f := range b.PlantFacts(p) {
			if _, ok := f.Body.(*model.Inspection); !ok {
				facts = append(facts, f)
			}
		}
	}
	slices.SortFunc(facts, model.CompareFacts)
	for _, f := range slices.Compact(facts) {
		l.note(f)
	}
	l.holdPlants()
	return l
}

func blankLedger(b *model.Book, now model.Instant, zone *time.Location) *ledger {
	return &ledger{
		book: b, now: now, zone: zone, today: now.Date(zone),
		done:    map[model.TaskKey]*completion{},
		twice:   map[model.TaskKey]*completion{},
		rounds:  map[uuid.UUID]*rounds{},
		looks:   map[model.TaskKey][]model.PlantID{},
		claims:  map[model.TaskKey][]*model.Fact{},
		delays:  map[model.TaskKey]*model.Fact{},
		settled: map[model.TaskKey]*model.Fact{},
		plans:   map[model.PlanID]*model.Fact{},
		hands:   standing.Hands{},
		living:  map[model.PlaceID][]*model.Plant{},
		reentry: map[model.PlantID]hold{},
	}
}

// note takes in one fact. Looks are by far the most, so those that belong to no
// task are passed over before anything is asked about them.
func (l *ledger) note(f *model.Fact) {
	switch x := f.Body.(type) {
	case *model.Inspection:
		if (!x.Round.IsZero() || !x.Completes.IsZero()) && l.book.Stands(f.ID) {
			l.noteLook(x.Round, x.Plant)
			l.complete(x.Completes, f)
		}
	default:
		if l.book.Stands(f.ID) {
			l.noteRare(f)
		}
	}
}

func (l *ledger) noteRare(f *model.Fact) {
	switch x := f.Body.(type) {
	case *model.Application:
		l.apps = append(l.apps, f)
		l.complete(x.Completes, f)
	case *model.Handling:
		l.hands.Note(f, x)
		l.complete(x.Completes, f)
	case *model.TaskCompleted:
		l.complete(x.Task, f)
	case *model.PlanAccepted:
		l.plans[x.Plan] = f
	case *model.TaskClaimed:
		l.claims[x.Task] = append(l.claims[x.Task], f)
	case *model.TaskPutOff:
		l.delays[x.Task] = f
	case *model.Settled:
		l.settled[x.Task] = f
	}
}

func (l *ledger) complete(k model.TaskKey, f *model.Fact) {
	if k.IsZero() {
		return
	}
	c := l.done[k]
	if c == nil {
		c = &completion{}
		l.done[k] = c
	}
	c.add(f)
	if c.apps == 2 {
		l.twice[k] = c
	}
	if k.Rule == model.RuleRound && k.Ordinal != math.MaxUint32 { // the last number could have no successor
		l.round(k.Subject).completed(k.Ordinal)
	}
}

func (l *ledger) round(place uuid.UUID) *rounds {
	r := l.rounds[place]
	if r == nil {
		r = &rounds{}
		l.rounds[place] = r
	}
	return r
}

// completed forgets the looks of rounds that are over, so that a place never
// holds more than the looks of its last one.
func (r *rounds) completed(ordinal uint32) {
	if ordinal > r.highest {
		r.highest = ordinal
		r.looks = slices.DeleteFunc(r.looks, func(k look) bool { return k.ordinal <= ordinal })
	}
}

func (l *ledger) noteLook(k model.TaskKey, p model.PlantID) {
	switch k.Rule {
	case model.RuleRound:
		if r := l.round(k.Subject); k.Ordinal > r.highest {
			r.looks = append(r.looks, look{k.Ordinal, p})
		}
	case model.RuleCheck:
		l.looks[k] = append(l.looks[k], p)
	}
}

// settlePlants sorts the living plants by the place they stand at.
func (l *ledger) settlePlants() {
	for _, p := range l.book.Plants {
		if l.hands.Living(p) {
			l.living[p.Place] = append(l.living[p.Place], p)
		}
	}
	for _, plants := range l.living {
		slices.SortFunc(plants, comparePlants)
	}
}

func comparePlants(a, b *model.Plant) int {
	return cmp.Or(cmp.Compare(a.Name, b.Name), model.CompareIDs(a.ID, b.ID))
}

// date is the day of a fact.
func (l *ledger) date(f *model.Fact) model.Date { return f.At.Date(l.zone) }
