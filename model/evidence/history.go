package evidence

import (
	"fmt"
	"math"

	"leafturn/model"
)

// Seen is one part of a plant that somebody looked at, and the chance that such a
// look finds the pest if the plant has it. The chance belongs to the pest, the
// part and the means (eye, lens, paper); it is well below 1 for mites and thrips.
type Seen struct {
	Part   model.Part
	Chance float64
}

// Event is a look at a plant or something that changed its chance of being clear.
type Event struct {
	Day   model.Date
	Who   model.MemberID // who looked
	Parts []Seen         // what was looked at; none if nobody looked
	Found bool           // the look found the pest
	Cure  float64        // the chance that this ended it, such as a course of treatment that a forecast was made for
}

// History is what happened to one plant, in order of days.
type History struct {
	From    model.Date
	Prior   float64 // chance of being clear at From
	Arrival float64 // chance per day that the pest comes in
	Recall  Recall
	Events  []Event
}

// Recall is how far a look repeats an earlier one. The animal that was missed under
// a leaf is missed again by the same person tomorrow; after a few weeks, or for
// other eyes, the look is new. The figures of CommonRecall are our judgement, on
// the careful side, without a source.
type Recall struct {
	Days      float64 // time after which 63 % of a look by the same person at the same part is new
	OtherEyes float64 // how far somebody else repeats it at once, from 0 not at all to 1 wholly
}

// CommonRecall is 14 days, and half for other eyes (judgement, no source).
func CommonRecall() Recall { return Recall{Days: 14, OtherEyes: 0.5} }

// Step says what one event did to the chance of being clear.
type Step struct {
	Event       int
	Before      float64 // after arrivals since the last event
	Sensitivity float64 // of the look, as far as it was new
	After       float64
}

// Clear is the chance that a plant is clear on a day, and how it came about.
type Clear struct {
	On     model.Date
	Chance float64
	Steps  []Step
}

// Chance is the chance of being clear on a day not before the last event.
func (h *History) Chance(on model.Date) (Clear, error) {
	if err := h.check(on); err != nil {
		return Clear{}, fmt.Errorf("chance of clear: %w", err)
	}
	c := Clear{On: on, Steps: make([]Step, len(h.Events))}
	q, day := h.Prior, h.From
	for i := range h.Events {
		e := &h.Events[i]
		s := &c.Steps[i]
		s.Event, s.Before, s.Sensitivity = i, q*h.stay(e.Day.Sub(day)), h.sensitivity(i)
		s.After = e.update(s.Before, s.Sensitivity)
		q, day = s.After, e.Day
	}
	c.Chance = q * h.stay(on.Sub(day))
	return c, nil
}

// update applies Bayes' rule for a look and then the cure. Somebody who found the
// pest is believed.
func (e *Event) update(clear, sensitivity float64) float64 {
	switch {
	case e.Found:
		clear = 0
	case len(e.Parts) > 0:
		clear = afterClean(clear, sensitivity)
	}
	return clear + (1-clear)*e.Cure
}

// stay is the chance that nothing comes in during so many days.
func (h *History) stay(days int) float64 { return math.Pow(1-h.Arrival, float64(days)) }

// sensitivity is the chance that the i-th event's look finds the pest, as far as
// it is new. Parts are taken as independent of each other.
func (h *History) sensitivity(i int) float64 {
	miss := 1.0
	for _, s := range h.Events[i].Parts {
		miss *= 1 - s.Chance*h.news(i, s.Part)
	}
	return 1 - miss
}

// Fresh is how far the look of the i-th event is new, from 0 to 1: the mean over the
// parts that were looked at.
func (h *History) Fresh(i int) float64 {
	parts := h.Events[i].Parts
	if len(parts) == 0 {
		return 0
	}
	sum := 0.0
	for _, s := range parts {
		sum += h.news(i, s.Part)
	}
	return sum / float64(len(parts))
}

// news is how far looking at a part is new, from 0 to 1: what is left by the
// earlier look at the same part that it repeats most, which is the last one by the
// same person or the last one by anybody else. A find ends it: what was seen then
// had not been missed.
func (h *History) news(i int, part model.Part) float64 {
	e, others := &h.Events[i], 0.0
	for j := i - 1; j >= 0 && !h.Events[j].Found; j-- {
		old := &h.Events[j]
		repeats := math.Exp(-float64(e.Day.Sub(old.Day)) / h.Recall.Days)
		switch {
		case repeats <= others || repeats == 0: // nothing older can repeat more
			return 1 - others
		case !old.saw(part):
		case old.Who == e.Who:
			return 1 - max(others, repeats)
		default:
			others = max(others, h.Recall.OtherEyes*repeats)
		}
	}
	return 1 - others
}

func (e *Event) saw(part model.Part) bool {
	for _, s := range e.Parts {
		if s.Part == part {
			return true
		}
	}
	return false
}

const mostEvents = 20_000

func (h *History) check(on model.Date) error {
	if err := valid(chance("prior", h.Prior), check{"arrival", h.Arrival, 0, 1, false},
		check{"recall days", h.Recall.Days, 0, 10_000, true}, chance("other eyes", h.Recall.OtherEyes),
		whole("events", len(h.Events), 0, mostEvents)); err != nil {
		return err
	}
	day := h.From
	for i := range h.Events {
		e := &h.Events[i]
		if e.Day < day {
			return ErrOrder
		}
		day = e.Day
		if err := e.check(); err != nil {
			return err
		}
	}
	if on < day {
		return ErrFuture
	}
	return nil
}

func (e *Event) check() error {
	if e.Found && len(e.Parts) == 0 {
		return &InputError{"parts of a look that found something", 0}
	}
	for i, s := range e.Parts {
		if err := valid(chance("chance of finding", s.Chance), whole("part", int(s.Part), int(model.Underside), int(model.LeafStalk))); err != nil {
			return err
		}
		if (&Event{Parts: e.Parts[:i]}).saw(s.Part) {
			return &InputError{"part named twice", float64(s.Part)}
		}
	}
	return valid(chance("cure", e.Cure))
}
