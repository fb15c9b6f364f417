package app

import (
	"context"
	"errors"
	"reflect"
	"sync/atomic"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/population"
	"leafturn/model/trace"
)

// Work is a computation that takes its time. It may run beside the App, on another
// goroutine. What it tells, on the way and at its end, must be run on the App's own
// goroutine, and gives an answer.
type Work func(tell func(func(context.Context) Answer))

// ahead is what lies ahead of one outbreak, worked out or being worked out.
type ahead struct {
	in       history // what it rests on
	view     screens.ForecastView
	clear    *screens.ClearView
	window   *trace.Window // when the pest came in, nil while nobody knows
	proposal *screens.ProposalView
	working  bool
	stop     *atomic.Bool
}

// lookAhead gives what is known to lie ahead of an outbreak, and the work that
// brings it up to date if something has changed since.
func (a *App) lookAhead(b *model.Book, o *model.Outbreak) (*ahead, Work) {
	in, ok := a.gather(b, o)
	if !ok {
		return nil, nil
	}
	old := a.aheads[o.ID]
	if old != nil && reflect.DeepEqual(old.in, in) {
		return old, nil
	}
	now := &ahead{in: in, working: true, stop: &atomic.Bool{}}
	now.view = screens.ForecastView{Outbreak: o.ID.String(), Today: in.today}
	if old != nil { // the last picture stays until the new one is ready
		old.stop.Store(true)
		now.view, now.clear, now.window, now.proposal = old.view, old.clear, old.window, old.proposal
	}
	now.view.Stopped, now.view.Problem = false, ""
	now.view.Progress = &screens.ProgressView{Of: in.work()}
	if a.aheads == nil {
		a.aheads = map[model.OutbreakID]*ahead{}
	}
	a.aheads[o.ID] = now
	return now, func(tell func(func(context.Context) Answer)) {
		w := watch{of: in.work(), stopped: func() bool {
			a.o.breathe()
			return now.stop.Load()
		}}
		w.tell = func(done, of int) {
			tell(func(context.Context) Answer { return a.aheadProgress(now, done, of) })
		}
		result, err := now.in.compute(&w)
		tell(func(ctx context.Context) Answer { return a.tookAhead(ctx, now, result, err) })
	}
}

// watch counts the pieces of a long computation, and says whether to stop it.
type watch struct {
	done, of int
	tell     func(done, of int)
	stopped  func() bool
}

// step notes that a piece is done.
func (w *watch) step() error {
	w.done++
	w.tell(w.done, w.of)
	if w.stopped() {
		return population.ErrStopped
	}
	return nil
}

// breathe lets others run during a long computation.
func (o *Options) breathe() {
	if o.Breathe != nil {
		o.Breathe()
	}
}

// current reports whether a piece of work is still the one for its outbreak.
func (a *App) current(x *ahead) bool { return a.aheads[x.in.outbreak] == x }

// aheadProgress shows how far the work is, without drawing the whole page anew.
func (a *App) aheadProgress(x *ahead, done, of int) Answer {
	if !a.current(x) || !x.working {
		return Answer{}
	}
	x.view.Progress = &screens.ProgressView{Done: done, Of: of}
	if a.route != screens.OutbreakRoute(x.in.outbreak.String()) {
		return Answer{}
	}
	return a.progress(a.t.Forecast.Working, done, of)
}

// progress changes the number and the bar of the work that goes on, and leaves the
// button that stops it alone, so that no tap on it is lost.
func (a *App) progress(words string, done, of int) Answer {
	return Answer{Swaps: []Swap{a.swap(screens.IDWork, screens.Work(a.t, words, screens.ProgressView{Done: done, Of: of}))}}
}

// tookAhead puts what was worked out on the page.
func (a *App) tookAhead(ctx context.Context, x *ahead, out *outlook, err error) Answer {
	if !a.current(x) {
		return Answer{} // something has changed meanwhile, and newer work is going on
	}
	x.working = false
	x.view.Progress = nil
	switch {
	case errors.Is(err, population.ErrStopped):
		x.view.Stopped = true
	case err != nil:
		x.view.Problem = a.words(err)
	default:
		x.view, x.clear, x.window = a.forecastView(&x.in, out), a.clearView(&x.in, out), out.window
		x.proposal = a.proposal(&x.in, out)
	}
	if a.route != screens.OutbreakRoute(x.in.outbreak.String()) {
		return Answer{}
	}
	return a.redraw(ctx)
}

// redraw shows the open screen anew, where the person is on it.
func (a *App) redraw(ctx context.Context) Answer {
	answer := a.Go(ctx, a.route)
	answer.Top, answer.Focus, answer.Go = false, "", ""
	return answer
}

// workOut works out again what was stopped.
func (a *App) workOut(ctx context.Context, e Event) Answer {
	outbreak := id[model.Outbreak](e.Data, "outbreak")
	if screens.PlansRoute(outbreak.String()) == a.route {
		delete(a.plannings, outbreak)
	} else {
		delete(a.aheads, outbreak)
	}
	return a.redraw(ctx)
}

// stopWork stops the work for an outbreak; its answer says so.
func (a *App) stopWork(_ context.Context, e Event) Answer {
	outbreak := id[model.Outbreak](e.Data, "outbreak")
	if x := a.plannings[outbreak]; x != nil && screens.PlansRoute(outbreak.String()) == a.route {
		x.stop.Store(true)
	} else if x := a.aheads[outbreak]; x != nil {
		x.stop.Store(true)
	}
	return Answer{}
}
