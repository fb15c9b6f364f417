package app

import (
	"errors"
	"slices"

	"leafturn/model"
	"leafturn/model/plan"
	"leafturn/model/population"
	"leafturn/model/trace"
)

// How a forecast is made. More runs make it steadier and slower.
const (
	aheadDays = 42
	runs      = 500
	courses   = 2 * runs // that are held against what was seen
)

// outlook is what the computation found.
type outlook struct {
	ahead   *population.Outlook
	clear   float64
	looks   []cleanLook
	window  *trace.Window
	verdict *plan.Verdict // on the plan that rules, nil if nobody computed it
	beyond  bool          // what was counted last is far more than that plan was made for
}

// cleanLook is the chance after one more clean look on a day.
type cleanLook struct {
	day    model.Date
	chance float64
}

// present is the outbreak as it is today: many possible courses of it that fit what
// was seen.
type present struct {
	model   *population.Model
	days    []population.Day
	climate *population.Climate
	cloud   *population.Cloud // at the start of today
	last    float64           // how likely the last count was, or a greater one, before it was made
}

// work is how many pieces the computation has.
func (in *history) work() int { return len(in.looks) + 4 }

// compute lets many possible courses of the outbreak live from before it was found,
// keeps those that fit what was seen, and lets them live on.
func (in *history) compute(w *watch) (*outlook, error) {
	now, err := in.reach(w)
	if err != nil {
		return nil, err
	}
	kills, err := now.model.Kills(len(now.days), append(in.done[:len(in.done):len(in.done)], in.planned...))
	if err != nil {
		return nil, err
	}
	out := &outlook{clear: 1 - now.cloud.Present()}
	subject := population.Plant{Cloud: now.cloud, Climate: now.climate, Kills: kills, Arrivals: arrivals}
	if out.ahead, err = population.Forecast(subject, now.cloud.Day()+aheadDays, runs, in.seed, w.stopped); err != nil {
		return nil, err
	}
	if err = w.step(); err != nil {
		return nil, err
	}
	for _, more := range []func(*present, *population.Kills, *watch, *outlook) error{in.cleanLooks, in.traceBack, in.recheck} {
		if err = errors.Join(more(now, kills, w, out), w.step()); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// reach lets the outbreak live up to today.
func (in *history) reach(w *watch) (*present, error) {
	m, err := population.New(in.species)
	if err != nil {
		return nil, err
	}
	p := &present{model: m, days: make([]population.Day, in.today.Sub(in.start)+after)}
	for i := range p.days {
		p.days[i] = population.Day{Low: float64(in.coldest) / 10, High: float64(in.warmest) / 10}
	}
	if p.climate, err = m.Climate(p.days); err != nil {
		return nil, err
	}
	if err := in.follow(p, courses, w); err != nil || p.cloud.Effective() >= enough {
		return p, err
	}
	err = in.follow(p, many*courses, &watch{tell: func(int, int) {}, stopped: w.stopped})
	if err == nil {
		p.cloud = p.cloud.Sample(courses)
	}
	return p, err
}

// Few courses fit counts that nobody would have expected, and then those few would stand
// for all. If fewer than enough are left in effect, as many times more are begun; our
// judgement. With 130 counted where 15 were to be expected, 8 to 38 of 1,000 are left,
// and the chance of a plan by them goes from 0.67 to 0.95 with the seed.
const (
	enough = 50
	many   = 4
)

// follow lets a number of courses live up to today, and keeps those that fit each look.
func (in *history) follow(p *present, number int, w *watch) error {
	kills, err := p.model.Kills(len(p.days), in.done)
	if err != nil {
		return err
	}
	if p.cloud, err = p.model.Begun(number, in.seed, population.Beginning{From: 0, To: before, Founders: 2}); err != nil {
		return err
	}
	for _, look := range in.looks {
		if err = live(p.cloud, p.climate, look.Day, kills, arrivals, w); err != nil {
			return err
		}
		if p.last, err = p.cloud.AtLeast(look); err != nil {
			return err
		}
		if err = errors.Join(take(p.cloud, look), w.step()); err != nil {
			return err
		}
	}
	return live(p.cloud, p.climate, in.today.Sub(in.start), kills, arrivals, w)
}

// live lets days pass a few at a time, so that others can run in between and a stop
// is soon heard.
func live(c *population.Cloud, w *population.Climate, to int, kills *population.Kills, arrivals float64, at *watch) error {
	const few = 4
	for c.Day() < to {
		if at.stopped() {
			return population.ErrStopped
		}
		if err := c.Live(w, min(c.Day()+few, to), kills, arrivals); err != nil {
			return err
		}
	}
	return nil
}

// arrivals is how many adults come in from outside in a day, for a plant that is kept
// apart: about one in a year and a half. Our judgement. It bounds how sure anybody can
// be: what came in lately has not been found yet. With one in three months no outbreak
// was ever over, and a clean plant was treated on and on.
const arrivals = 0.002

func take(c *population.Cloud, l population.Look) error {
	_, err := c.Take(l)
	return err
}

// target is the chance at which an outbreak counts as over.
const target = 0.95

// cleanLooks tells what the chance would be after one, two, three more looks all over
// the plant that find nothing, a week apart. They are taken as made by the person
// who looked last, so that each is only as new as a week makes it.
func (in *history) cleanLooks(now *present, kills *population.Kills, w *watch, out *outlook) error {
	const every, most = 7, 5
	c := now.cloud.Clone()
	seen, eyes := in.seen, model.MemberID{}
	seen.Events = slices.Clone(in.seen.Events)
	if n := len(seen.Events); n > 0 {
		eyes = seen.Events[n-1].Who
	}
	for n := 1; n <= most && out.chance() < target; n++ {
		day := c.Day() + every
		look := population.LookOf(&model.Inspection{}, day)
		seen.Events = append(seen.Events, lookAt(&model.Inspection{}, eyes, in.start.Add(day)))
		look.Effort *= seen.Fresh(len(seen.Events) - 1)
		if err := errors.Join(live(c, now.climate, day, kills, arrivals, w), take(c, look)); err != nil {
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

// traceBack asks when the pest came in.
func (in *history) traceBack(now *present, _ *population.Kills, w *watch, out *outlook) error {
	var err error
	out.window, err = trace.Back(trace.Question{Model: now.model, First: in.start, Days: now.days, Acts: in.done, Looks: in.looks, Seed: in.seed, Stop: w.stopped})
	if errors.Is(err, trace.ErrNothingFound) {
		return nil // the plant that stands for all has no finding of its own
	}
	return err
}

// planCase is the outbreak as the search for plans takes it.
func (in *history) planCase(now *present, horizon int) plan.Case {
	return plan.Case{Pest: in.pest, Model: now.model, Cloud: now.cloud, Days: now.days, Today: in.today, Plants: in.plants, Shelf: in.shelf,
		History: in.past, Wishes: in.wishes, Target: target, Horizon: horizon}
}

// leastHorizon keeps a plan that is nearly at its end from being asked to end it by
// tomorrow.
const leastHorizon = 7

// surprising is how unlikely a count must be for the plan to be asked about, whatever its
// chance is now: one look in fifty. Our judgement.
const surprising = 0.02

// recheck holds what is left of a computed plan against what is known now.
func (in *history) recheck(now *present, _ *population.Kills, _ *watch, out *outlook) error {
	if in.accepted == nil || in.accepted.Target == 0 {
		return nil
	}
	horizon := max(leastHorizon, plan.DefaultHorizon-in.today.Sub(in.since))
	if n := len(in.looks); n > 0 && in.start.Add(in.looks[n-1].Day) > in.since {
		out.beyond = now.last < surprising
	}
	c := in.planCase(now, horizon)
	c.Target = float64(in.accepted.Target) / 1000
	v, err := plan.Recheck(c, in.left)
	out.verdict = &v
	return err
}
