package standing

import (
	"cmp"

	"leafturn/model"
)

// Hand is what was done with one plant, as far as it changes how the plant
// stands: the last fact of each sort, or nil.
type Hand struct {
	Apart *model.Fact // the last time it was isolated or released
	In    *model.Fact // the last time it came in, new or back from outdoors
	Out   *model.Fact // the last time it went out or came back in
	Gone  *model.Fact // thrown out
}

// IsApart reports whether the plant was isolated and not released since.
func (h Hand) IsApart() bool {
	return h.Apart != nil && h.Apart.Body.(*model.Handling).Kind == model.Isolated
}

// IsOut reports whether the plant went outdoors and did not come back since.
func (h Hand) IsOut() bool {
	return h.Out != nil && h.Out.Body.(*model.Handling).Kind == model.WentOut
}

// Hands is what was done with every plant.
type Hands map[model.PlantID]Hand

// Note takes in one handling that stands, in any order.
func (h Hands) Note(f *model.Fact, x *model.Handling) {
	switch x.Kind {
	case model.Isolated, model.Released, model.CameIn, model.WentOut, model.BackIn, model.ThrownOut:
	default:
		return // a household waters much more often than it does all these
	}
	for _, p := range x.Plants {
		hand := h[p]
		hand.note(f, x.Kind)
		h[p] = hand
	}
}

func (h *Hand) note(f *model.Fact, kind model.HandlingKind) {
	switch kind {
	case model.Isolated, model.Released:
		h.Apart = later(h.Apart, f)
	case model.CameIn:
		h.In = later(h.In, f)
	case model.BackIn:
		h.In, h.Out = later(h.In, f), later(h.Out, f)
	case model.WentOut:
		h.Out = later(h.Out, f)
	case model.ThrownOut:
		h.Gone = later(h.Gone, f)
	}
}

// Living reports whether the plant is still there to be looked at and treated.
func (h Hands) Living(p *model.Plant) bool {
	return p != nil && !p.Removed && h[p.ID].Gone == nil
}

// CompareDone orders facts by when they were done, then by when they were
// written, then by id.
func CompareDone(a, b *model.Fact) int {
	if a.At != b.At {
		return cmp.Compare(a.At, b.At)
	}
	return model.CompareFacts(a, b)
}

func later(a, b *model.Fact) *model.Fact {
	if a == nil || CompareDone(a, b) < 0 {
		return b
	}
	return a
}
