package app

import (
	"context"
	"strings"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
	"leafturn/model"
)

// splitRoute takes the first part of an address like #/plant/…: "plant" and the rest.
func splitRoute(route string) (name, rest string) {
	return cutRoute(strings.TrimPrefix(route, "#/"))
}

func cutRoute(s string) (first, rest string) {
	first, rest, _ = strings.Cut(s, "/")
	return first, rest
}

// Go shows the screen of an address.
func (a *App) Go(ctx context.Context, hash string) Answer {
	a.still = false
	a.derived = derived{}
	if token, ok := strings.CutPrefix(hash, screens.RouteSetup); ok {
		return a.showSetup(ctx, token)
	}
	if inv, ok := strings.CutPrefix(hash, screens.RouteJoin); ok {
		return a.showJoin(ctx, inv)
	}
	if a.house == nil {
		return a.screen("", screens.Welcome(a.t, screens.WelcomeView{}))
	}
	if !strings.HasPrefix(hash, "#/") || hash == screens.RouteWelcome {
		hash = screens.RouteToday
	}
	a.route = hash
	name, rest := splitRoute(hash)
	if show, ok := pages[name]; ok {
		if answer := show(a, ctx, rest); answer.Swaps != nil || answer.Go != "" {
			return answer
		}
	}
	// An address that leads nowhere, such as that of a plant of another household.
	a.route = screens.RouteToday
	answer := a.showToday(ctx, "")
	answer.Go = screens.RouteToday
	return answer
}

// pages shows the screens by the first part of their address. A page gives the
// zero Answer if what it should show does not exist.
var pages map[string]func(a *App, ctx context.Context, rest string) Answer

func init() {
	pages = map[string]func(*App, context.Context, string) Answer{
		"today":     (*App).showToday,
		"first":     (*App).showFirst,
		"round":     (*App).showRound,
		"plants":    (*App).showPlants,
		"plant":     (*App).showPlant,
		"outbreaks": (*App).showOutbreaks,
		"outbreak":  (*App).showOutbreak,
		"household": (*App).showHousehold,
		"product":   (*App).showProduct,
		"place":     (*App).showPlace,
		"confirm":   (*App).showConfirm,
		"photo":     (*App).showPhoto,
		"reminders": (*App).showReminders,
		"card":      (*App).showCard,
	}
}

// showSetup shows what a set-up link leads to: to a new household, or, on a phone that has
// one which the server does not know any more, to bringing it back.
func (a *App) showSetup(ctx context.Context, token string) Answer {
	if a.house == nil || a.house.Local() {
		return a.screen("", screens.Welcome(a.t, screens.WelcomeView{Setup: token}))
	}
	_ = a.house.Sync(ctx, a.server) // what went wrong is what is asked for
	if a.unknownThere() {
		return a.screen(screens.SpotHousehold, screens.Return(a.t, a.returnView(token, "")))
	}
	answer := a.Go(ctx, screens.RouteToday)
	answer.Go, answer.Say = screens.RouteToday, replica.ErrTaken.Words
	if f := a.house.Status().Trouble; f != nil {
		answer.Say = f.Words
	}
	return answer
}

// showJoin shows what an invitation leads to. A phone that belongs to a household
// already goes on to that one: it has no use for the form, and no other way out of it.
func (a *App) showJoin(ctx context.Context, text string) Answer {
	if a.house != nil && !a.house.Local() {
		if why := a.askSignedOff(ctx, text); why != nil {
			return a.screen(screens.SpotHousehold, screens.Rejoin(a.t, screens.RejoinView{Invitation: text, Why: why.Words}))
		}
		answer := a.Go(ctx, screens.RouteToday)
		answer.Go, answer.Say = screens.RouteToday, replica.ErrTaken.Words
		return answer
	}
	v := screens.JoinView{Invitation: text}
	if _, err := replica.ParseInvitation(text); err != nil {
		v.Problem = a.words(err)
	}
	return a.screen("", screens.Join(a.t, v))
}

// screen puts a screen on the page, with the bar of its place and the status line.
func (a *App) screen(spot screens.Spot, n h.Node) Answer {
	a.spot = spot
	return Answer{
		Swaps:  []Swap{a.swap(screens.IDMain, n), a.barOf(spot)},
		Top:    true,
		Focus:  "title",
		Status: a.statusLine(),
		Title:  a.title(spot),
	}
}

func (a *App) title(spot screens.Spot) string {
	b := a.t.Bar
	names := map[screens.Spot]string{
		screens.SpotToday: b.Today, screens.SpotRound: b.Round, screens.SpotPlants: b.Plants,
		screens.SpotOutbreaks: b.Outbreaks, screens.SpotHousehold: b.Household,
	}
	if name := names[spot]; name != "" {
		return name + " – " + a.t.Welcome.Title
	}
	return a.t.Welcome.Title
}

func (a *App) barOf(spot screens.Spot) Swap {
	if spot == "" || a.house == nil {
		return Swap{Target: screens.IDBar}
	}
	return a.swap(screens.IDBar, screens.Bar(a.t, screens.BarView{
		Current: spot, Due: a.dueCount(), Sample: a.house.Local(), Notes: a.toRead(),
	}))
}

// bar redraws the bar of the screen that is open.
func (a *App) bar() Swap { return a.barOf(a.spot) }

// showFirst is for those who may add plants.
func (a *App) showFirst(context.Context, string) Answer {
	if !a.mayChange() {
		return Answer{}
	}
	return a.screen("", screens.First(a.t, a.firstView()))
}

func (a *App) firstView() screens.FirstView {
	v := screens.FirstView{Places: a.places(), Wanted: 3}
	a.house.Read(func(b *model.Book) { v.Household = b.Household.Name })
	for _, group := range a.groups("") {
		v.Added = append(v.Added, group.Plants...)
	}
	return v
}
