package app

import (
	"context"
	"encoding/json"
	"errors"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// WordsPath is where the service worker finds the words of messages: it runs while
// the app does not, and has no catalogue.
const WordsPath = "/words.json"

// keptMute is under what name a phone remembers that the server still sends it messages
// that nobody wants any more.
const keptMute = "mute"

// readMute takes up what the server has not heard yet.
func (a *App) readMute(ctx context.Context, v replica.Vault) {
	kept, err := v.Kept(ctx, keptMute)
	a.syncs.mute = err == nil && kept != nil
}

// setMute remembers whether the server still has to hear that no messages go to this
// phone. If that cannot be kept it holds until the app is closed; a push service tells
// the server as well, sooner or later.
func (a *App) setMute(ctx context.Context, mute bool) {
	if a.syncs.mute == mute {
		return
	}
	a.syncs.mute = mute
	var kept []byte
	if mute {
		kept = []byte{1}
	}
	_ = a.vault().Keep(ctx, keptMute, kept)
}

// unsubscribed tells the server to send no messages here. It reports whether that is
// settled; a server that cannot be reached or is in trouble is told again.
func unsubscribed(ctx context.Context, server *replica.Server) bool {
	err := server.Unsubscribe(ctx)
	return !errors.Is(err, replica.ErrOffline) && !errors.Is(err, replica.ErrServer)
}

// pushed takes what the browser says about messages on this phone, when it was asked
// or after a tap. What it has is told to the server each time, which may have lost or
// forgotten it. What it has no longer is told with the next sync, which follows at once
// or when there is a network again.
func (a *App) pushed(ctx context.Context, e Event) Answer {
	subscription, server := e.Data.Get("subscription"), a.server
	if server == nil {
		return Answer{}
	}
	if subscription == "" {
		state := texts.PushState(e.Data.Get("state"))
		if _, known := a.t.Reminders.Push[state]; !known {
			return Answer{}
		}
		if e.Data.Get("how") == "off" {
			a.setMute(ctx, true)
		}
		return Answer{Swaps: []Swap{a.pushSwap(screens.PushView{State: state})}}
	}
	a.setMute(ctx, false)
	return Answer{Work: func(tell func(func(context.Context) Answer)) {
		err := server.Subscribe(context.Background(), subscription)
		tell(func(context.Context) Answer { return a.subscribed(err) })
	}}
}

func (a *App) subscribed(err error) Answer {
	v := screens.PushView{State: texts.PushOn}
	if err != nil {
		v = screens.PushView{State: texts.PushUnknown, Words: a.words(err)}
	}
	return Answer{Swaps: []Swap{a.pushSwap(v)}}
}

func (a *App) pushSwap(v screens.PushView) Swap {
	return a.swap(screens.IDPush, screens.PushPanel(a.t, v))
}

// notes are the words of messages, for the service worker.
func (a *App) notes() *Keepsake {
	body, err := json.Marshal(a.t.Notes)
	if err != nil {
		panic(err) // texts can all be written
	}
	return &Keepsake{Path: WordsPath, Type: "application/json", Body: string(body)}
}

func (a *App) makeCalendar(_ context.Context, _ Event) Answer {
	server, origin := a.server, a.env.Origin
	if server == nil {
		return Answer{}
	}
	return Answer{Work: func(tell func(func(context.Context) Answer)) {
		path, err := server.OpenCalendar(context.Background())
		tell(func(context.Context) Answer { return a.calendarAnswer(origin+path, "", err) })
	}}
}

func (a *App) endCalendar(_ context.Context, _ Event) Answer {
	server := a.server
	if server == nil {
		return Answer{}
	}
	return Answer{Work: func(tell func(func(context.Context) Answer)) {
		err := server.CloseCalendar(context.Background())
		tell(func(context.Context) Answer { return a.calendarAnswer("", a.t.Reminders.CalendarEnded, err) })
	}}
}

func (a *App) calendarAnswer(link, say string, err error) Answer {
	if err != nil {
		return Answer{Say: a.words(err)}
	}
	return Answer{Say: say, Swaps: []Swap{a.swap(screens.IDCalendar, screens.CalendarPanel(a.t, screens.CalendarView{Link: link}))}}
}

// Due is how many tasks of today the person who owns this phone is to be told of.
func (a *App) Due() (n int) {
	if a.house == nil || a.house.Local() {
		return 0
	}
	a.house.Read(func(b *model.Book) {
		all := a.agenda(b)
		if m := b.Members[a.me(b)]; m != nil {
			for _, t := range all.For(m, all.Today.Tasks) {
				if !t.Projected {
					n++
				}
			}
		}
	})
	return n
}
