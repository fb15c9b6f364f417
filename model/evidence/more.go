package evidence

import (
	"fmt"

	"leafturn/model"
)

// MoreLooks asks how many more clean looks it takes.
type MoreLooks struct {
	Target float64        // the chance of being clear that is wanted
	First  model.Date     // the first day on which somebody can look
	Last   model.Date     // the last
	Every  int            // days between looks; 0 leaves it open
	Who    model.MemberID // who will look
	Parts  []Seen         // at what
}

// Schedule is the answer: on these days, and with this chance after each.
type Schedule struct {
	Days    []model.Date
	Chances []float64
}

// mostLooks is how many looks a schedule has at most.
const mostLooks = 60

// More tells on which days clean looks bring the plant to the target. With Every 0
// it tries every rhythm from a day to four weeks and takes the fewest looks, and
// of those the soonest done. ErrUnreachable means that no such looks up to Last
// get there: arrivals may outweigh them, or the pest was found and not treated.
func (h *History) More(ask MoreLooks) (Schedule, error) {
	now, err := h.Chance(max(ask.First, h.From))
	if err != nil {
		return Schedule{}, fmt.Errorf("more looks: %w", err)
	}
	look := Event{Day: ask.First, Who: ask.Who, Parts: ask.Parts}
	if err := valid(sure("target", ask.Target), whole("every", ask.Every, 0, 365),
		whole("last day", int(ask.Last), int(ask.First), int(ask.First)+3650), whole("parts", len(ask.Parts), 1, len(model.Parts))); err != nil {
		return Schedule{}, fmt.Errorf("more looks: %w", err)
	}
	if err := look.check(); err != nil {
		return Schedule{}, fmt.Errorf("more looks: %w", err)
	}
	if now.Chance >= ask.Target {
		return Schedule{}, nil
	}
	best, found := Schedule{}, false
	from, to := ask.Every, ask.Every
	if ask.Every == 0 {
		from, to = 1, 28
	}
	plan := h.extended()
	for every := from; every <= to; every++ {
		if s, ok := plan.try(ask, every); ok && (!found || s.better(best)) {
			best, found = s, true
		}
	}
	if !found {
		return Schedule{}, fmt.Errorf("more looks: %w", ErrUnreachable)
	}
	return best, nil
}

func (s Schedule) better(t Schedule) bool {
	n, m := len(s.Days), len(t.Days)
	return n < m || n == m && s.Days[n-1] < t.Days[m-1]
}

// extended is a copy with room for the looks of a schedule.
func (h *History) extended() *History {
	c := *h
	c.Events = append(make([]Event, 0, len(h.Events)+mostLooks), h.Events...)
	return &c
}

// try adds clean looks in a rhythm until the target is reached, and takes them out
// again.
func (h *History) try(ask MoreLooks, every int) (Schedule, bool) {
	known := len(h.Events)
	defer func() { h.Events = h.Events[:known] }()
	q, day := h.upTo(known)
	var s Schedule
	for on := ask.First; on <= ask.Last && len(s.Days) < mostLooks; on = on.Add(every) {
		h.Events = append(h.Events, Event{Day: on, Who: ask.Who, Parts: ask.Parts})
		q = afterClean(q*h.stay(on.Sub(day)), h.sensitivity(len(h.Events)-1))
		day = on
		s.Days, s.Chances = append(s.Days, on), append(s.Chances, q)
		if q >= ask.Target {
			return s, true
		}
	}
	return Schedule{}, false
}

// upTo is the chance after the first n events, and the day of the last.
func (h *History) upTo(n int) (float64, model.Date) {
	q, day := h.Prior, h.From
	for i := range h.Events[:n] {
		e := &h.Events[i]
		q = e.update(q*h.stay(e.Day.Sub(day)), h.sensitivity(i))
		day = e.Day
	}
	return q, day
}
