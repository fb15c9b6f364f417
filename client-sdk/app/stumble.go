package app

import "leafturn/model/agenda"

// Stumbled is the answer to a panic, which nobody expected. It forgets what was derived
// meanwhile and may be half done; what is saved is not touched.
func (a *App) Stumbled() Answer {
	a.derived, a.tasks = derived{}, agenda.Cache{}
	return Answer{Say: a.t.Say.Stumbled}
}

// AbandonSync ends a sync that gave no Outcome, so that the next one can begin.
func (a *App) AbandonSync() { a.syncs.running, a.syncs.forced = false, false }
