package app

import (
	"context"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
)

// Photos are large, and on some networks each megabyte costs. When they are sent is
// a matter of this phone, so the choice is kept here and never in the household.
// Entries are small and are always sent.

const keptSending = "send-photos"

// network is what is known of the network that the phone is on.
func (a *App) network() texts.Network {
	if a.o.Network == nil {
		return texts.NetworkUnsaid
	}
	return a.o.Network()
}

// useSending reads this phone's choice. One that cannot be read sends nothing until
// somebody says so: that costs time and no money.
func (a *App) useSending(ctx context.Context, v replica.Vault) {
	kept, err := v.Kept(ctx, keptSending)
	choice := texts.Sending(kept)
	switch {
	case err != nil:
		choice = texts.SendAsked
	case !slices.Contains(texts.Sendings, choice):
		choice = texts.SendAlways
	}
	a.syncs.sending = choice
}

// mayUpload gives the question that an upload asks before each request. It is asked
// beside the App.
func (a *App) mayUpload() func() bool {
	choice, forced := a.syncs.sending, a.syncs.sendNow || a.syncs.forced
	return func() bool {
		switch {
		case forced || choice == texts.SendAlways:
			return true
		case choice == texts.SendFree:
			// A browser that says nothing may be on any network.
			return a.network() == texts.NetworkFree
		}
		return false
	}
}

// resting is how many photos wait for another network or for a person's word.
func (a *App) resting() int {
	if a.server == nil || a.mayUpload()() {
		return 0
	}
	return len(a.syncs.queue) - len(a.heldPhotos())
}

// chooseSending keeps when this phone sends photos.
func (a *App) chooseSending(ctx context.Context, e Event) Answer {
	choice := texts.Sending(e.Data.Get("sending"))
	if !slices.Contains(texts.Sendings, choice) {
		return Answer{}
	}
	if err := a.vault().Keep(ctx, keptSending, []byte(choice)); err != nil {
		return Answer{Say: a.words(err)}
	}
	a.syncs.sending = choice
	return a.showData(ctx)
}

// sendPhotos sends the waiting photos once, whatever the network costs. The sync that
// follows every action does it.
func (a *App) sendPhotos(ctx context.Context, _ Event) Answer {
	a.syncs.sendNow = true
	return a.showData(ctx)
}

// NetworkChanged takes in that the phone is on another network.
func (a *App) NetworkChanged(ctx context.Context) Answer {
	if a.house == nil {
		return Answer{}
	}
	return a.showData(ctx)
}

// showData redraws what the household's screens say about the data.
func (a *App) showData(ctx context.Context) Answer {
	answer := Answer{Status: a.statusLine()}
	if name, rest := splitRoute(a.route); name == "household" && (rest == "" || rest == "data") {
		answer.Swaps = []Swap{a.swap(screens.IDData, screens.DataPanel(a.t, a.dataView(ctx)))}
	}
	return answer
}
