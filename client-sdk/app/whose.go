package app

import (
	"context"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
)

// keptShown is under what name a phone remembers whose tasks Today shows.
const keptShown = "shown"

// readShown takes up what the person chose last. Without an answer everybody's tasks
// are shown, which hides nothing.
func (a *App) readShown(ctx context.Context, v replica.Vault) {
	kept, err := v.Kept(ctx, keptShown)
	a.mine = err == nil && screens.Shown(kept) == screens.ShowMine
}

// showWhose changes whose tasks Today shows, on this phone.
func (a *App) showWhose(ctx context.Context, e Event) Answer {
	shown := screens.Shown(e.Data.Get("whose"))
	if shown != screens.ShowMine && shown != screens.ShowEverybody {
		return Answer{}
	}
	a.mine = shown == screens.ShowMine
	err := a.vault().Keep(ctx, keptShown, []byte(shown))
	answer := a.Go(ctx, screens.RouteToday)
	answer.Top, answer.Focus = false, ""
	if err != nil { // it holds until the app is closed
		answer.Say = a.t.Say.NotSaved
	}
	return answer
}

// isGuest reports whether this phone's member is a guest.
func (a *App) isGuest(b *model.Book) bool {
	m := b.Members[a.me(b)]
	return m != nil && m.Role == model.Guest && !a.house.Local()
}

// concerns reports whether the person who owns this phone is to hear of what some members
// did: a guest only of what the guest did too.
func (a *App) concerns(b *model.Book, did []model.MemberID) bool {
	return !a.isGuest(b) || slices.Contains(did, a.me(b))
}

// mayTakeBack reports whether this phone may withdraw a fact. A guest takes back only
// what the guest's own phone wrote.
func (a *App) mayTakeBack(b *model.Book, f model.FactID) bool {
	return !a.isGuest(b) || f.Device == a.house.Device()
}

// shown is the choice that Today offers. Who lives alone has none, nor has a guest, who
// is told only of what is the guest's.
func (a *App) shown(b *model.Book) screens.Shown {
	members := 0
	for _, m := range b.Members {
		if m.Role != 0 {
			members++
		}
	}
	switch {
	case members < 2 || a.isGuest(b):
		return ""
	case a.mine:
		return screens.ShowMine
	}
	return screens.ShowEverybody
}

// toShow leaves of some tasks those that Today shows: all of them, so that nobody thinks
// that somebody else has done it, unless the person asked for less or is a guest.
func (a *App) toShow(b *model.Book, all *agenda.Agenda) func([]*agenda.Task) []*agenda.Task {
	m := b.Members[a.me(b)]
	if m == nil || a.shown(b) != screens.ShowMine && !a.isGuest(b) {
		return func(tasks []*agenda.Task) []*agenda.Task { return tasks }
	}
	return func(tasks []*agenda.Task) []*agenda.Task { return all.For(m, tasks) }
}

// shares tells who did how much lately. It is for those who take turns; a guest does
// not.
func (a *App) shares(b *model.Book, all *agenda.Agenda) (out []string) {
	if a.isGuest(b) {
		return nil
	}
	for _, s := range all.Shares {
		out = append(out, a.t.Tasks.Share(a.who(b, s.Member), s.Tasks))
	}
	return out
}

// dueCount is how many tasks Today shows for today.
func (a *App) dueCount() (n int) {
	a.house.Read(func(b *model.Book) {
		all := a.agenda(b)
		n = len(a.toShow(b, all)(all.Today.Tasks))
	})
	return n
}
