package evidence

import (
	"fmt"
	"math"
	"slices"

	"leafturn/model"
)

// Place is plants that stand together and infect each other. Those on which the
// pest was found have histories of their own; the others are a lot: either the
// pest is among them, then on at least Level of them and at least on one, or it is
// not.
type Place struct {
	From    model.Date
	Prior   float64 // chance at From that no plant of the lot has it
	Arrival float64 // chance per day that it comes to the lot
	Level   float64
	Plants  []History // of every plant; their Prior and Arrival count once the pest was found on them
}

// Chance is the chance that no plant of the place has the pest on a day.
func (p *Place) Chance(on model.Date) (float64, error) {
	if err := valid(chance("prior", p.Prior), check{"arrival", p.Arrival, 0, 1, false}, share("level", p.Level),
		whole("plants", len(p.Plants), 1, 100_000)); err != nil {
		return 0, fmt.Errorf("chance of clear, place: %w", err)
	}
	if on < p.From {
		return 0, fmt.Errorf("chance of clear, place: %w", ErrFuture)
	}
	all, looks, lot := 1.0, []lookAt(nil), 0
	for i := range p.Plants {
		h := &p.Plants[i]
		c, err := h.Chance(on)
		if err != nil {
			return 0, fmt.Errorf("chance of clear, plant %d: %w", i, err)
		}
		if slices.ContainsFunc(h.Events, func(e Event) bool { return e.Found }) {
			all *= c.Chance
			continue
		}
		lot++
		looks = h.looks(looks, p.From, c.Steps)
	}
	if lot > 0 {
		all *= p.lot(lot, looks, on)
	}
	return all, nil
}

// lookAt is the sensitivity of a day's clean looks at one plant of a lot.
type lookAt struct {
	day         model.Date
	sensitivity float64
}

func (h *History) looks(to []lookAt, from model.Date, steps []Step) []lookAt {
	mine := len(to)
	for i, s := range steps {
		day := h.Events[i].Day
		switch n := len(to); {
		case day < from || len(h.Events[i].Parts) == 0:
		case n > mine && to[n-1].day == day:
			to[n-1].sensitivity = 1 - (1-to[n-1].sensitivity)*(1-s.Sensitivity)
		default:
			to = append(to, lookAt{day, s.Sensitivity})
		}
	}
	return to
}

// lot is the chance that a lot of plants, looked at and always clean, is free: a
// round per day, each with the sensitivity of a sample of mixed efficacies.
func (p *Place) lot(plants int, looks []lookAt, on model.Date) float64 {
	slices.SortFunc(looks, func(a, b lookAt) int { return int(a.day) - int(b.day) })
	infested := float64(max(1, Infested(plants, p.Level)))
	q, day := p.Prior, p.From
	for len(looks) > 0 {
		today, hits := looks[0].day, 0.0
		for len(looks) > 0 && looks[0].day == today {
			hits += looks[0].sensitivity
			looks = looks[1:]
		}
		q *= math.Pow(1-p.Arrival, float64(today.Sub(day)))
		q = afterClean(q, 1-math.Pow(1-min(1, hits/float64(plants)), infested))
		day = today
	}
	return q * math.Pow(1-p.Arrival, float64(max(0, on.Sub(day))))
}

// Together is the chance that all of some places or plants are clear. It takes
// them as independent; pests travel, so where some are clear the others are likelier
// to be, and the true chance is at least this.
func Together(chances ...float64) (float64, error) {
	all := 1.0
	for _, c := range chances {
		if err := valid(chance("chance", c)); err != nil {
			return 0, fmt.Errorf("together: %w", err)
		}
		all *= c
	}
	return all, nil
}
