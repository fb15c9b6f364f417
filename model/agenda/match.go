package agenda

import (
	"slices"

	"leafturn/model"
)

// Match finds the task that something completes which was done without a task:
// an application of the same product, or a handling of the same kind, that covers
// all plants of an open task; a reading of the card it is about; a measured leaf of
// its plant. It is asked once, when the fact is written, and the key becomes
// part of the fact; the zero key means that no task is completed.
func (a *Agenda) Match(body model.Body) model.TaskKey {
	for _, t := range a.Open() {
		if completes(body, t) { // a projected step comes after the one it waits for
			return t.Key
		}
	}
	return model.TaskKey{}
}

func completes(body model.Body, t *Task) bool {
	switch x := body.(type) {
	case *model.Application:
		return t.Step != nil && t.Step.Applies() && x.Product == t.Product && covers(x.Plants, t.Plants)
	case *model.Handling:
		return x.Kind == t.Handling() && covers(x.Plants, t.Plants)
	case *model.CardReading:
		rule := model.RuleCardRead
		if x.Replaced {
			rule = model.RuleCardNew
		}
		return t.Key.Rule == rule && t.Key.Subject == x.Place.UUID()
	case *model.Measurement:
		return t.Key.Rule == model.RuleMeasure && t.Key.Subject == x.Plant.UUID()
	}
	return false
}

func covers(done, wanted []model.PlantID) bool {
	for _, p := range wanted {
		if !slices.Contains(done, p) {
			return false
		}
	}
	return true
}
