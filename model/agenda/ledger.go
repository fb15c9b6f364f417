package agenda

import (
	"cmp"
	"slices"
	"time"

	"leafturn/model"
)

// ledger is the past, seen from a moment, with the records of the household put in
// order.
type ledger struct {
	*past
	now model.Instant

	members []*model.Member                   // who take turns
	living  map[model.PlaceID][]*model.Plant  // by name
	reentry map[model.PlantID]hold            // plants that must not be touched yet
	soaks   map[model.PlantID]soak            // plants whose pots must hold their water
	ill     map[model.PlantID]*model.Outbreak // the open outbreak of a plant, a fast pest's first
	cleared map[model.PlantID]*model.Outbreak // the one of a plant that was closed last
	closed  []*model.Outbreak                 // by id
}

// look makes a ledger of a past.
func (p *past) look(now model.Instant) *ledger {
	l := &ledger{
		past: p, now: now, members: takers(p.book),
		living:  map[model.PlaceID][]*model.Plant{},
		reentry: map[model.PlantID]hold{},
		soaks:   map[model.PlantID]soak{},
		ill:     map[model.PlantID]*model.Outbreak{},
		cleared: map[model.PlantID]*model.Outbreak{},
	}
	l.settlePlants()
	l.settleOutbreaks()
	l.holdPlants()
	l.holdWater()
	return l
}

// plantLedger reads only what was done with some plants, which is enough to judge
// an application on them and much quicker in a household with a long history.
func plantLedger(b *model.Book, plants []model.PlantID, now model.Instant, zone *time.Location) *ledger {
	p := newPast(b, now.Date(zone), zone)
	var facts []*model.Fact
	for _, id := range plants {
		for _, f := range b.PlantFacts(id) {
			if _, ok := f.Body.(*model.Inspection); !ok {
				facts = append(facts, f)
			}
		}
	}
	slices.SortFunc(facts, model.CompareFacts)
	for _, f := range slices.Compact(facts) {
		p.note(f)
	}
	return p.look(now)
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

// settleOutbreaks sorts the outbreaks by the plants they name.
func (l *ledger) settleOutbreaks() {
	for _, o := range sortedBy(l.book.Outbreaks, compareOutbreaks) {
		if o.Closed != 0 {
			l.closed = append(l.closed, o)
		}
		for p, affected := range o.Affects {
			switch other := l.ill[p]; {
			case !affected:
			case o.Closed == 0 && (other == nil || fast(o.Pest) && !fast(other.Pest)):
				l.ill[p] = o
			case o.Closed != 0 && (l.cleared[p] == nil || o.Closed > l.cleared[p].Closed):
				l.cleared[p] = o
			}
		}
	}
}

func compareOutbreaks(a, b *model.Outbreak) int { return model.CompareIDs(a.ID, b.ID) }

func comparePlants(a, b *model.Plant) int {
	return cmp.Or(cmp.Compare(a.Name, b.Name), model.CompareIDs(a.ID, b.ID))
}
