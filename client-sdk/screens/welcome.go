package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// WelcomeView is the first screen of a phone that belongs to no household yet.
type WelcomeView struct {
	Setup         string // the one-time token of the set-up link, "" if opened without
	HouseholdName string
	OwnName       string
	PhoneName     string
	Problem       string // why the last try failed
}

// Welcome names the household, or explains how to get in.
func Welcome(t *texts.Catalogue, v WelcomeView) h.Node {
	w := t.Welcome
	first := h.Node(section(w.NoLinkTitle, h.P(h.Text(w.NoLink)), bullets(w.NoLinkSteps)))
	if v.Setup != "" {
		first = foundForm(t, v)
	}
	return screen("welcome",
		h.Header(class("hero"), icon("turned"), h.H1(h.ID("title"), h.TabIndex("-1"), h.Text(w.Title)), h.P(h.Text(w.Lead))),
		problem(v.Problem),
		first,
		section(w.JoinTitle, h.P(h.Text(w.Join)),
			form(ActOpenLink, textField("welcome-link", "link", w.LinkLabel, "", "", h.Required(), h.Attr("inputmode", "url")), submit("plain", w.OpenLink))),
		section(w.SampleTitle, h.P(h.Text(w.Sample)), button("plain", w.OpenSample, act(ActSample))),
	)
}

func foundForm(t *texts.Catalogue, v WelcomeView) h.Node {
	w := t.Welcome
	return h.Section(class("part"), h.H2(h.Text(w.FoundTitle)),
		form(ActFound, hidden("setup", v.Setup),
			textField("found-household", "household", w.HouseholdLabel, w.HouseholdHint, v.HouseholdName, h.Required()),
			textField("found-name", "name", w.NameLabel, w.NameHint, v.OwnName, h.Required()),
			textField("found-phone", "phone", w.PhoneLabel, w.PhoneHint, v.PhoneName, h.Required()),
			submit("main", w.Found)))
}

// JoinView is the screen that an invitation opens.
type JoinView struct {
	Invitation string
	Household  string // as the invitation names it, may be ""
	Role       string // in words
	RoleHint   string
	OwnName    string
	PhoneName  string
	Problem    string
}

// Join asks for the two names that a new phone needs.
func Join(t *texts.Catalogue, v JoinView) h.Node {
	j := t.Join
	return screen("join",
		h.Header(class("hero"), icon("turned"), h.H1(h.ID("title"), h.TabIndex("-1"), h.Text(j.Title(v.Household))), h.P(h.Text(j.Lead))),
		problem(v.Problem),
		h.If(v.Role != "", notice("info", h.P(class("strong"), h.Text(j.Role(v.Role))), h.P(h.Text(v.RoleHint)))),
		form(ActJoin, hidden("invitation", v.Invitation),
			textField("join-name", "name", t.Welcome.NameLabel, t.Welcome.NameHint, v.OwnName, h.Required()),
			textField("join-phone", "phone", t.Welcome.PhoneLabel, t.Welcome.PhoneHint, v.PhoneName, h.Required()),
			dock(submit("main", j.Join))))
}

// FirstView is the screen after founding: the first plants.
type FirstView struct {
	Household string
	Places    []Named
	Added     []PlantRow
	Wanted    int // how many plants make a good start
	Problem   string
}

// First adds the first plants and then shows the next two steps.
func First(t *texts.Catalogue, v FirstView) h.Node {
	f := t.First
	return screen("first",
		heading(f.Title, f.Lead(v.Household), nil),
		problem(v.Problem),
		h.Div(class("cols"),
			form(ActAddPlant, hidden("first", "1"),
				textField("first-name", "name", t.PlantForm.NameLabel, t.PlantForm.NameHint, "", h.Required()),
				placeField(t, "first", v.Places, ""),
				submit("main", f.Add)),
			section(f.AddedTitle(t.Format.Progress(len(v.Added), v.Wanted)),
				h.If(len(v.Added) == 0, h.P(class("muted"), h.Text(f.NoneYet))),
				plantRows(t, v.Added))),
		h.Nav(class("next"), h.Aria("label", f.NextLabel),
			goTo("plain", RouteInvite, f.Invite), goTo("plain", RouteRound, f.Round), goTo("quiet", RouteToday, f.Later)))
}
