package agenda

import (
	"cmp"
	"slices"

	"leafturn/model"
	"leafturn/model/dose"
)

// Batch is the steps that use one product at one place, and what to mix for them
// all at once. A step whose plants stand at several places is in several batches,
// in each with the plants that stand there.
type Batch struct {
	Product model.ProductID
	Place   model.PlaceID
	Tasks   []*Task
	Plants  []model.PlantID // each once, though two steps may treat it
	Mix     dose.Mix
}

// batches gathers the steps among tasks, in the order of the first of each.
func (l *ledger) batches(tasks []*Task) []Batch {
	var all []Batch
	for _, t := range tasks {
		if t.Step == nil || !t.Step.Applies() {
			continue
		}
		for _, place := range t.Places {
			all = l.into(all, t, place)
		}
	}
	for i := range all {
		b := &all[i]
		slices.SortFunc(b.Plants, func(x, y model.PlantID) int { return comparePlants(l.book.Plants[x], l.book.Plants[y]) })
		b.Plants = slices.Compact(b.Plants)
		b.Mix = dose.For(l.product(b.Product), len(b.Plants))
	}
	slices.SortStableFunc(all, func(a, b Batch) int { return cmp.Compare(a.Tasks[0].When(), b.Tasks[0].When()) })
	return all
}

// into puts a step's plants at a place into the batch they belong to. Only steps
// of one day are mixed together, except that all that is late is for today.
func (l *ledger) into(all []Batch, t *Task, place model.PlaceID) []Batch {
	i := slices.IndexFunc(all, func(b Batch) bool {
		return b.Product == t.Product && b.Place == place && max(b.Tasks[0].When(), l.today) == max(t.When(), l.today)
	})
	if i < 0 {
		i = len(all)
		all = append(all, Batch{Product: t.Product, Place: place})
	}
	all[i].Tasks = append(all[i].Tasks, t)
	for _, p := range t.Plants {
		if l.book.Plants[p].Place == place {
			all[i].Plants = append(all[i].Plants, p)
		}
	}
	return all
}
