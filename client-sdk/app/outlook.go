package app

import (
	"errors"

	"leafturn/model"
	"leafturn/model/population"
)

// outlook is what the computation found.
type outlook struct {
	ahead *population.Outlook
	clear float64
	looks []cleanLook
}

// cleanLook is the chance after one more clean look on a day.
type cleanLook struct {
	day    model.Date
	chance float64
}

// compute lets many possible courses of the outbreak live from before it was found,
// keeps those that fit what was seen, and lets them live on.
func (in *history) compute(stop func() bool) (*outlook, error) {
	m, err := population.New(in.species)
	if err != nil {
		return nil, err
	}
	now := in.today.Sub(in.start)
	to := now + aheadDays
	days := make([]population.Day, to)
	for i := range days {
		days[i] = population.Day{Low: float64(in.coldest) / 10, High: float64(in.warmest) / 10}
	}
	climate, err := m.Climate(days)
	if err != nil {
		return nil, err
	}
	kills, err := m.Kills(to, in.acts)
	if err != nil {
		return nil, err
	}
	cloud, err := m.Begun(2*runs, in.seed, population.Beginning{From: 0, To: in.opened, Founders: 2})
	if err != nil {
		return nil, err
	}
	for _, look := range in.looks {
		if stop() {
			return nil, population.ErrStopped
		}
		if err := errors.Join(cloud.Live(climate, look.Day, kills, arrivals), take(cloud, look)); err != nil {
			return nil, err
		}
	}
	if err := cloud.Live(climate, now, kills, arrivals); err != nil {
		return nil, err
	}
	out := &outlook{clear: 1 - cloud.Present()}
	if out.ahead, err = population.Forecast(population.Plant{Cloud: cloud, Climate: climate, Kills: kills, Arrivals: arrivals}, to, runs, in.seed, stop); err != nil {
		return nil, err
	}
	return out, in.cleanLooks(cloud, climate, kills, stop, out)
}

// arrivals is how many adults come in from outside in a day: about one in three
// months. Our judgement.
const arrivals = 0.01

func take(c *population.Cloud, l population.Look) error {
	_, err := c.Take(l)
	return err
}

// target is the chance at which an outbreak counts as over.
const target = 0.95

// cleanLooks tells what the chance would be after one, two, three more looks that
// find nothing, a week apart and after the last treatment.
func (in *history) cleanLooks(c *population.Cloud, w *population.Climate, k *population.Kills, stop func() bool, out *outlook) error {
	const every, most = 7, 5
	c = c.Clone()
	for n := 1; n <= most && out.chance() < target; n++ {
		if stop() {
			return population.ErrStopped
		}
		day := c.Day() + every
		if day >= w.Len() {
			return nil
		}
		if err := errors.Join(c.Live(w, day, k, 0), take(c, population.LookOf(&model.Inspection{}, day))); err != nil {
			return err
		}
		out.looks = append(out.looks, cleanLook{day: in.start.Add(day), chance: 1 - c.Present()})
	}
	return nil
}

// chance is the chance of being over after all looks so far and proposed.
func (o *outlook) chance() float64 {
	if n := len(o.looks); n > 0 {
		return o.looks[n-1].chance
	}
	return o.clear
}
