package app

import (
	"context"
	"errors"

	"leafturn/client-sdk/replica"
	"leafturn/model/fault"
)

// Checked takes in what replica.CheckSnapshot found, which runs beside the App a while
// after Start. Where the household had to be read anew, the screen is drawn anew, unless
// a person is filling in a form.
func (a *App) Checked(ctx context.Context, house *replica.Replica, err error) Answer {
	f, told := fault.From(err)
	switch {
	case a.house != house || !told:
		return Answer{}
	case errors.Is(err, replica.ErrOldLog):
		return Answer{Say: f.Words}
	case !errors.Is(err, replica.ErrSnapshot):
		return Answer{} // nothing is known to be wrong; the next start looks again
	}
	a.derived, a.aheads, a.plannings = derived{}, nil, nil
	answer := Answer{Status: a.statusLine()}
	if !a.still && !formRoute(a.route) {
		answer = a.Go(ctx, a.route)
		answer.Top, answer.Focus, answer.Go = false, "", ""
	}
	answer.Say = f.Words
	return answer
}
