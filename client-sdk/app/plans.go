package app

import (
	"context"
	"errors"
	"reflect"
	"sync/atomic"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/plan"
	"leafturn/sync/oplog"
)

// planning is the plans for one outbreak, found or being looked for.
type planning struct {
	in       history
	found    *plan.Plan // nil until it is found
	done, of int
	working  bool
	stopped  bool
	problem  string
	stop     *atomic.Bool
}

// showPlans shows the plans side by side, and has them worked out if they are not.
func (a *App) showPlans(outbreak model.OutbreakID) Answer {
	var x *planning
	var work Work
	var v screens.PlansView
	a.house.Read(func(b *model.Book) {
		if o := b.Outbreaks[outbreak]; o != nil {
			if x, work = a.findPlans(b, o); x != nil {
				v = a.plansView(b, o, x)
			}
		}
	})
	if x == nil {
		return Answer{}
	}
	answer := a.screen(screens.SpotOutbreaks, screens.Plans(a.t, v))
	answer.Work = work
	return answer
}

// findPlans gives the plans for an outbreak, and the work that finds them if what
// they rest on has changed.
func (a *App) findPlans(b *model.Book, o *model.Outbreak) (*planning, Work) {
	in, ok := a.gather(b, o)
	if !ok {
		return nil, nil
	}
	in = in.forPlans()
	old := a.plannings[o.ID]
	if old != nil && reflect.DeepEqual(old.in, in) {
		return old, nil
	}
	if old != nil {
		old.stop.Store(true)
	}
	x := &planning{in: in, working: true, stop: &atomic.Bool{}}
	if a.plannings == nil {
		a.plannings = map[model.OutbreakID]*planning{}
	}
	a.plannings[o.ID] = x
	return x, func(tell func(func(context.Context) Answer)) {
		found, err := x.in.find(&watch{
			tell: func(done, of int) {
				tell(func(context.Context) Answer { return a.planProgress(x, done, of) })
			},
			stopped: func() bool {
				a.o.breathe()
				return x.stop.Load()
			},
		})
		tell(func(context.Context) Answer { return a.tookPlans(x, found, err) })
	}
}

// forPlans leaves out what plans do not rest on: taking one must not have all of
// them worked out anew.
func (in history) forPlans() history {
	in.planned, in.marks, in.counted, in.rests, in.counts = nil, nil, nil, nil, nil
	in.accepted, in.since, in.left, in.late = nil, 0, nil, 0
	return in
}

// find works plans out. The last part of the progress is the search's own.
func (in *history) find(w *watch) (*plan.Plan, error) {
	const parts = 100
	told := 0
	tell := w.tell
	report := func(share float64) {
		if n := int(share * parts); n > told {
			told = n
			tell(told, parts)
		}
	}
	reached := watch{of: len(in.looks), tell: func(done, of int) { report(0.2 * float64(done) / float64(of)) }, stopped: w.stopped}
	now, err := in.reach(&reached)
	if err != nil {
		return nil, err
	}
	return plan.Find(in.planCase(now, plan.DefaultHorizon), plan.Watch{
		Progress: func(done, of int) { report(0.2 + 0.8*float64(done)/float64(max(of, 1))) },
		Stop:     w.stopped,
	})
}

func (a *App) planProgress(x *planning, done, of int) Answer {
	if a.plannings[x.in.outbreak] != x || !x.working {
		return Answer{}
	}
	x.done, x.of = done, of
	if a.route != screens.PlansRoute(x.in.outbreak.String()) {
		return Answer{}
	}
	return a.progress(a.t.Plans.Working, done, of)
}

// tookPlans puts what was found on the page.
func (a *App) tookPlans(x *planning, found *plan.Plan, err error) Answer {
	if a.plannings[x.in.outbreak] != x {
		return Answer{}
	}
	x.working, x.found = false, found
	switch {
	case errors.Is(err, plan.ErrStopped):
		x.stopped = true
	case err != nil:
		x.problem = a.words(err)
	}
	if a.route != screens.PlansRoute(x.in.outbreak.String()) {
		return Answer{}
	}
	return Answer{Swaps: []Swap{a.plansSwap(x.in.outbreak, x)}}
}

// plansSwap draws the plans anew, and not the choices above them.
func (a *App) plansSwap(outbreak model.OutbreakID, x *planning) Swap {
	var v screens.PlansView
	a.house.Read(func(b *model.Book) { v = a.plansView(b, b.Outbreaks[outbreak], x) })
	return a.swap(screens.IDPlans, screens.PlanCards(a.t, v))
}

// planChoices keeps what the household chose. The plans follow at once.
func (a *App) planChoices(ctx context.Context, e Event) Answer {
	outbreak := id[model.Outbreak](e.Data, "outbreak")
	op := a.changed(replica.Set(model.KindHousehold, a.house.Household(), []oplog.Setting{
		replica.To(model.HouseholdChildren, model.Bool(e.Data.On("children"))),
		replica.To(model.HouseholdPets, model.Bool(e.Data.On("pets"))),
		replica.To(model.HouseholdNoChemicals, model.Bool(e.Data.On("nochemicals"))),
	}...))
	if len(op.Fields) > 0 {
		if _, failed := a.write(ctx, op); failed != nil {
			return *failed
		}
	}
	var x *planning
	var work Work
	a.house.Read(func(b *model.Book) {
		if o := b.Outbreaks[outbreak]; o != nil {
			x, work = a.findPlans(b, o)
		}
	})
	if x == nil {
		return Answer{}
	}
	return Answer{Swaps: []Swap{a.plansSwap(outbreak, x)}, Work: work}
}

// acceptPlan makes a plan the one that every phone follows.
func (a *App) acceptPlan(ctx context.Context, e Event) Answer {
	outbreak, goal := id[model.Outbreak](e.Data, "outbreak"), plan.Goal(e.Data.Int("option"))
	x := a.plannings[outbreak]
	if x == nil || x.found == nil || x.in.today != a.today() { // since midnight its days are no longer right
		delete(a.plannings, outbreak)
		return a.redraw(ctx)
	}
	for i := range x.found.Options {
		if x.found.Options[i].Goal != goal {
			continue
		}
		accepted := x.accepted(&x.found.Options[i], model.PlanID(a.house.NewID()))
		ids, failed := a.write(ctx, replica.Seen(accepted))
		if failed != nil {
			return *failed
		}
		return Answer{Go: screens.OutbreakRoute(outbreak.String()), Say: a.t.Say.PlanAccepted, Undo: a.undoFacts(ids)}
	}
	return Answer{}
}

// accepted is an option as the fact that a household follows. The plants are kept
// apart, because no search reckons with newcomers.
func (x *planning) accepted(o *plan.Option, id model.PlanID) *model.PlanAccepted {
	p := &model.PlanAccepted{Plan: id, Outbreak: x.in.outbreak, Isolate: true, Basis: model.Computed, Aim: model.Aim(o.Goal),
		Target: perMille(x.found.Target), Chance: perMille(o.Chance), Seed: x.in.seed}
	for _, plant := range x.in.plants {
		p.Plants = append(p.Plants, plant.ID)
	}
	for i := range o.Steps {
		p.Steps = append(p.Steps, stepOf(&o.Steps[i]))
	}
	return p
}

func perMille(chance float64) int { return int(chance*1000 + 0.5) }

func stepOf(s *plan.Step) model.PlanStep {
	step := model.PlanStep{Kind: model.StepKind(s.Kind), Day: s.Day, Product: s.Product}
	for i := range s.Reasons {
		step.Why = append(step.Why, whyOf(&s.Reasons[i]))
	}
	return step
}

func whyOf(r *plan.Reason) model.StepWhy {
	return model.StepWhy{Because: uint8(r.Because), Date: r.Date, Days: r.Days, Wanted: r.Wanted, Count: r.Count, Hours: r.Hours,
		TenthsCelsius: tenths(r.Celsius), TenthsDegreeDays: tenths(r.DegreeDays), TenthsLower: tenths(r.Lower), Group: r.Group, Product: r.Product}
}
