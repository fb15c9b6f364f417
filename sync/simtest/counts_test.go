package simtest_test

import (
	"cmp"
	"fmt"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// Which facts count, and which of them nobody took back.

// factsOf gives the facts among operations that count. A repeat is taken back by taking
// back what it repeats.
func factsOf(counting []*oplog.Op, repeats map[model.FactID]model.FactID) map[model.FactID]*model.Fact {
	facts := map[model.FactID]*model.Fact{}
	for _, op := range counting {
		f, ok := op.Body.(*model.Fact)
		if !ok {
			continue
		}
		if x, ok := f.Body.(*model.Withdrawn); ok {
			first := cmp.Or(repeats[x.Fact], x.Fact)
			f = &model.Fact{ID: f.ID, Stamp: f.Stamp, Body: &model.Withdrawn{Fact: first}}
		}
		facts[op.ID] = f
	}
	return facts
}

// stands reports whether nobody took a fact back later, or only by what was itself
// taken back.
func stands(facts map[model.FactID]*model.Fact, id model.FactID) bool {
	for by, f := range facts {
		if x, ok := f.Body.(*model.Withdrawn); ok && x.Fact == id && (facts[id] == nil || model.CompareFacts(facts[id], f) < 0) && stands(facts, by) {
			return false
		}
	}
	return true
}

// whatCounts: the book of every phone holds the facts that count and no others, and says
// of each, and of what repeats it, whether it stands.
func (w *world) whatCounts(facts map[model.FactID]*model.Fact, repeats map[model.FactID]model.FactID) error {
	standing := map[model.FactID]bool{}
	for id := range facts {
		standing[id] = stands(facts, id)
	}
	for again, first := range repeats {
		standing[again] = standing[first]
	}
	for _, p := range w.phones {
		var err error
		p.Read(func(b *model.Book) { err = agrees(b, facts, standing) })
		if err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
	}
	return nil
}

func agrees(b *model.Book, facts map[model.FactID]*model.Fact, standing map[model.FactID]bool) error {
	for _, f := range b.Facts() {
		if facts[f.ID] == nil {
			return fmt.Errorf("%v is in the book and should not count", f.ID)
		}
	}
	if b.Len() != len(facts) {
		return fmt.Errorf("the book has %d facts, not %d", b.Len(), len(facts))
	}
	for id, want := range standing {
		if b.Stands(id) != want {
			return fmt.Errorf("%v stands: %v, but should: %v", id, !want, want)
		}
	}
	return nil
}
