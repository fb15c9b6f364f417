package standing

import (
	"cmp"
	"slices"

	"leafturn/model"
)

// Stop is one plant of a walk.
type Stop struct {
	Plant      *model.Plant
	Status     Status
	WashBefore bool // clean hands and tools before this plant
}

// Walk puts the living plants of a place into the order in which to look at them:
// clear, watch, affected or in treatment, kept apart; by name within each. Hands
// are washed where the walk passes on to the affected plants, and again where it
// passes on to those kept apart.
func Walk(b *model.Book, place model.PlaceID, all map[model.PlantID]Status) []Stop {
	var stops []Stop
	for id, p := range b.Plants {
		if s := all[id]; p.Place == place && s.Standing != Lost {
			stops = append(stops, Stop{Plant: p, Status: s})
		}
	}
	slices.SortFunc(stops, compareStops)
	for i := 1; i < len(stops); i++ {
		r := stops[i].Status.rank()
		stops[i].WashBefore = r >= affected && r != stops[i-1].Status.rank()
	}
	return stops
}

// affected is the first rank of a walk that clean hands must not come from.
const affected = 3

func (s Status) rank() int {
	switch {
	case s.Standing == Quarantined:
		return 4
	case s.Standing == InTreatment, s.Affected:
		return affected
	case s.Standing == Watch:
		return 2
	}
	return 1
}

func compareStops(a, b Stop) int {
	return cmp.Or(
		cmp.Compare(a.Status.rank(), b.Status.rank()),
		cmp.Compare(a.Plant.Name, b.Plant.Name),
		model.CompareIDs(a.Plant.ID, b.Plant.ID))
}
