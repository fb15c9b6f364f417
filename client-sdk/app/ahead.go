package app

import (
	"context"
	"errors"
	"sync/atomic"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/population"
	"leafturn/sync/oplog"
)

// Work is a computation that takes its time. It may run beside the App, on another
// goroutine; what it gives must be run on the App's own, and gives the answer.
type Work func() func(ctx context.Context) Answer

// How a forecast is made. More runs make it steadier and slower.
const (
	aheadDays = 42
	runs      = 500
	// before is how long before the first finding the pest may have come in: about
	// two generations of the slowest common pest in a room. Our judgement.
	before = 42
)

// A room without a known temperature is taken as this, tenths of a degree Celsius.
const (
	usualColdest = 180
	usualWarmest = 230
)

// ahead is what lies ahead of one outbreak, worked out or being worked out.
type ahead struct {
	seen    oplog.Vector // what was known when it was worked out
	day     model.Date
	view    screens.ForecastView
	clear   *screens.ClearView
	working bool
	stop    *atomic.Bool
}

// lookAhead gives what is known to lie ahead of an outbreak, and the work that
// brings it up to date if something has changed since.
func (a *App) lookAhead(b *model.Book, o *model.Outbreak, vector oplog.Vector) (*ahead, Work) {
	if a.aheads == nil {
		a.aheads = map[model.OutbreakID]*ahead{}
	}
	old := a.aheads[o.ID]
	if old != nil && (old.working || old.day == a.today() && old.seen.Equal(vector)) {
		return old, nil
	}
	in, ok := a.gather(b, o)
	if !ok {
		return nil, nil
	}
	now := &ahead{seen: vector, day: a.today(), working: true, stop: &atomic.Bool{}}
	now.view = screens.ForecastView{Outbreak: o.ID.String(), Today: a.today(), Progress: &screens.ProgressView{Done: 0, Of: 1}}
	if old != nil { // the last picture stays until the new one is ready
		now.view, now.clear = old.view, old.clear
	}
	a.aheads[o.ID] = now
	return now, func() func(context.Context) Answer {
		result, err := in.compute(func() bool {
			a.o.breathe()
			return now.stop.Load()
		})
		return func(ctx context.Context) Answer { return a.tookAhead(ctx, now, in, result, err) }
	}
}

// breathe lets others run during a long computation.
func (o *Options) breathe() {
	if o.Breathe != nil {
		o.Breathe()
	}
}

// tookAhead puts what was worked out on the page.
func (a *App) tookAhead(ctx context.Context, x *ahead, in history, out *outlook, err error) Answer {
	x.working = false
	x.view.Progress = nil
	switch {
	case errors.Is(err, population.ErrStopped):
		x.view.Stopped = true
	case err != nil:
		x.view.Problem = a.words(err)
	default:
		x.view, x.clear = a.forecastView(in, out), a.clearView(in, out)
	}
	if a.route != screens.OutbreakRoute(in.outbreak.String()) {
		return Answer{}
	}
	answer := a.Go(ctx, a.route)
	answer.Top, answer.Focus, answer.Go = false, "", ""
	return answer
}

// workOut works out again what was stopped.
func (a *App) workOut(ctx context.Context, e Event) Answer {
	delete(a.aheads, id[model.Outbreak](e.Data, "outbreak"))
	return a.Go(ctx, a.route)
}

// stopWork stops the work for an outbreak; its answer says so.
func (a *App) stopWork(_ context.Context, e Event) Answer {
	if x := a.aheads[id[model.Outbreak](e.Data, "outbreak")]; x != nil && x.stop != nil {
		x.stop.Store(true)
	}
	return Answer{}
}
