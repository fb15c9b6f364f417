package risk

import (
	"cmp"
	"slices"

	"leafturn/model"
	"leafturn/model/standing"
)

// Walk puts plants of any places into a safe order: all clear ones, then those to
// be watched, then affected ones, then those kept apart; within each place by place
// in the household's own order. At one place it is the order of standing.Walk.
// Hands are washed where it passes on to affected plants, and again where it passes
// on to those kept apart.
func Walk(b *model.Book, plants []model.PlantID, all map[model.PlantID]standing.Status) []standing.Stop {
	var stops []standing.Stop
	for _, id := range plants {
		if p := b.Plants[id]; p != nil && all[id].Standing != standing.Lost {
			stops = append(stops, standing.Stop{Plant: p, Status: all[id]})
		}
	}
	slices.SortFunc(stops, func(x, y standing.Stop) int {
		return cmp.Or(
			cmp.Compare(rank(x.Status), rank(y.Status)),
			comparePlaces(b.Places[x.Plant.Place], b.Places[y.Plant.Place]),
			cmp.Compare(x.Plant.Name, y.Plant.Name),
			model.CompareIDs(x.Plant.ID, y.Plant.ID))
	})
	stops = slices.CompactFunc(stops, func(x, y standing.Stop) bool { return x.Plant.ID == y.Plant.ID })
	for i := 1; i < len(stops); i++ {
		r := rank(stops[i].Status)
		stops[i].WashBefore = r >= rankAffected && r != rank(stops[i-1].Status)
	}
	return stops
}

const rankAffected = 3

func rank(s standing.Status) int {
	switch {
	case s.Standing == standing.Quarantined:
		return 4
	case s.Standing == standing.InTreatment, s.Affected:
		return rankAffected
	case s.Standing == standing.Watch:
		return 2
	}
	return 1
}

// comparePlaces is the household's own order. A place whose record is not here yet
// comes first.
func comparePlaces(x, y *model.Place) int {
	switch {
	case x == y:
		return 0
	case x == nil:
		return -1
	case y == nil:
		return 1
	}
	return cmp.Or(cmp.Compare(x.Order, y.Order), cmp.Compare(x.Name, y.Name), model.CompareIDs(x.ID, y.ID))
}
