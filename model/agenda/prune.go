package agenda

import (
	"math"
	"slices"

	"leafturn/model"
)

// pruneOrdinal is the number of the task of cutting off, of each plan: far beyond a plan's
// own steps of that rule. Plans were written before there was such a task, and are read by
// phones that do not know it: to them it is a completion beyond the plan's steps, which says
// nothing.
const pruneOrdinal = math.MaxUint32 - 1

// Prunes reports whether a key is the task of cutting off what is badly damaged.
func Prunes(k model.TaskKey) bool { return k.Rule == model.RuleWash && k.Ordinal == pruneOrdinal }

// pruning makes the task of cutting off badly damaged leaves, on those plants of the plan
// on which the last look found so much damage and nobody has pruned since. It comes before
// everything that wets the leaves.
func (c *course) pruning() []*Task {
	key := model.TaskKey{Rule: model.RuleWash, Subject: c.plan.Plan.UUID(), Ordinal: pruneOrdinal}
	if c.done[key] != nil {
		return nil
	}
	var plants []*model.Plant
	var seen *model.Fact
	for _, p := range c.plants {
		if look := c.badlyDamaged(p.ID); look != nil {
			plants, seen = append(plants, p), later(seen, look)
		}
	}
	if len(plants) == 0 {
		return nil
	}
	t := c.task(key)
	t.Plants, t.Places = plantIDs(plants), c.placesOf(plants)
	t.Due = max(c.date(c.accepted), c.date(seen))
	t.Why = append(t.Why, Reason{Because: BadlyDamaged, Fact: seen, Date: c.date(seen), Basis: model.CommonPractice})
	t.moveFor(c.touchable(t))
	return []*Task{c.finish(t, nil, nil)}
}

// badlyDamaged is the last look at a plant, no more than a season before the plan, if it
// saw PruneFrom or more of the damage scale and the plant was not pruned since, else nil.
func (c *course) badlyDamaged(p model.PlantID) *model.Fact {
	since := c.date(c.accepted).Add(-SeasonDays).Start(c.zone)
	for _, f := range slices.Backward(c.book.PlantFacts(p)) {
		if f.At < since {
			return nil
		}
		switch x := f.Body.(type) {
		case *model.Inspection:
			if c.book.Stands(f.ID) {
				if x.Damage < PruneFrom {
					return nil
				}
				return f
			}
		case *model.Handling:
			if x.Kind == model.Pruned && c.book.Stands(f.ID) {
				return nil
			}
		}
	}
	return nil
}
