package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// HouseholdView is the people, the phones, the shelf and the places.
type HouseholdView struct {
	Name      string
	Sample    bool
	Members   []MemberRow
	CanInvite bool // only keepers invite
	Guest     bool // this phone may not change records
	Removals  []Removal
	Products  []ProductRow
	Places    []PlaceRow
	Data      DataView
}

// MemberRow is a member and the phones.
type MemberRow struct {
	ID     string
	Name   string
	Role   string
	Phones []string // each with when it was last heard of
	Me     bool
}

// ProductRow is a product on the shelf.
type ProductRow struct {
	ID    string
	Name  string
	Means string
	Stock string
}

// PlaceRow is a place and its rhythm.
type PlaceRow struct {
	ID     string
	Name   string
	Rhythm string
	Plants int
	Warmth string // from the coldest to the warmest of a day, "" if nobody has said
}

// Household is the fifth of the five places.
func Household(t *texts.Catalogue, v HouseholdView) h.Node {
	o := t.Household
	return screen("household",
		heading(v.Name, o.Under, nil),
		sampleNotice(t, v.Sample),
		notices(t, v.Data.Notices),
		removals(t, v.Removals),
		h.A(h.Href(RoutePoison), class("poison"), icon("stop"), h.Span(class("grow"), h.Text(t.Poison.Title)), icon("next")),
		h.Div(class("cols"),
			h.Div(class("col"), membersPart(t, v), shelfPart(t, v.Products, v.Guest)),
			h.Div(class("col"), section(t.Reminders.Title, h.P(class("small"), h.Text(t.Reminders.OpenHint)), goTo("plain", RouteReminders, t.Reminders.Open)), placesPart(t, v.Places, v.Guest), section(o.Data, h.Div(h.ID(IDData), DataPanel(t, v.Data))))))
}

func membersPart(t *texts.Catalogue, v HouseholdView) h.Node {
	o := t.Household
	return section(o.Members, h.If(len(v.Members) > 0, h.Ul(class("rows"), h.Map(v.Members, func(m MemberRow) h.Node {
		name := m.Name
		if m.Me {
			name = o.Me(m.Name)
		}
		return h.Li(h.A(to(MemberRoute(m.ID)), class("row"), h.Span(class("kind"), icon("person")), h.Span(class("grow"),
			h.Span(class("strong"), h.Text(name)), h.Span(class("small"), h.Text(m.Role)),
			h.Map(m.Phones, func(p string) h.Node { return h.Span(class("small withicon"), icon("phone"), h.Span(h.Text(p))) })), icon("next")))
	}))),
		h.If(v.CanInvite, goTo("plain", RouteInvite, o.Invite)),
		h.If(!v.CanInvite, h.P(class("muted"), h.Text(o.KeepersInvite))))
}

func shelfPart(t *texts.Catalogue, products []ProductRow, guest bool) h.Node {
	o := t.Household
	return section(o.Shelf,
		h.If(len(products) == 0, h.P(class("muted"), h.Text(o.ShelfEmpty))),
		h.If(len(products) > 0, h.Ul(class("rows"), h.Map(products, func(p ProductRow) h.Node {
			return h.Li(h.A(h.Href(ProductRoute(p.ID)), class("row"), h.Span(class("kind"), icon("bottle")),
				h.Span(class("grow"), h.Span(class("strong"), h.Text(p.Name)), h.Span(class("small"), h.Text(t.Common.Dotted(p.Means, p.Stock)))), icon("next")))
		}))),
		h.If(!guest, goTo("plain", RouteNewProduct, t.Product.NewTitle)))
}

func placesPart(t *texts.Catalogue, places []PlaceRow, guest bool) h.Node {
	o := t.Household
	return section(o.Places,
		h.If(len(places) == 0, h.P(class("muted"), h.Text(o.PlacesEmpty))),
		h.If(len(places) > 0, h.Ul(class("rows"), h.Map(places, func(p PlaceRow) h.Node {
			return h.Li(h.A(h.Href(PlaceRoute(p.ID)), class("row"), h.Span(class("kind"), icon("place")),
				h.Span(class("grow"), h.Span(class("strong"), h.Text(p.Name)), h.Span(class("small"), h.Text(t.Common.Dotted(t.Common.Dotted(t.Format.Plants(p.Plants), p.Rhythm), p.Warmth)))), icon("next")))
		}))),
		h.If(!guest, goTo("plain", RouteNewPlace, t.Place.NewTitle)))
}

// InviteView makes an invitation, or shows the one that was made.
type InviteView struct {
	Household string
	Link      string // "" before one was made
	Role      model.Role
	Expires   string // until when, in words
	OnlyHere  bool   // the link's address is that of this machine, which no other phone can open
	Problem   string
}

// Invite chooses a role, then shows the link as a code to scan.
func Invite(t *texts.Catalogue, v InviteView) h.Node {
	i := t.Invite
	back := backTo(RouteHousehold, t.Bar.Household)
	if v.Link == "" {
		return screen("invite", heading(i.Title, v.Household, back), problem(v.Problem), form(ActInvite, roleField(t, v.Role), dock(submit("main", i.Make))))
	}
	return screen("invite",
		heading(i.ReadyTitle, t.Common.Dotted(v.Household, t.Words.Role[v.Role]), back),
		h.Div(class("cols"),
			h.Div(class("code"), QRCode(v.Link, i.CodeTitle)),
			h.Div(class("col"), h.P(h.Text(i.Scan)), h.P(class("strong"), h.Text(v.Expires)),
				h.If(v.OnlyHere, notice("info", h.P(h.Text(i.OnlyHere)))),
				h.P(class("link"), h.Text(v.Link)), notice("care", h.P(h.Text(i.Secret))))),
		dock(button("main", i.Copy, act(ActCopyLink, "link", v.Link))))
}

func roleField(t *texts.Catalogue, chosen model.Role) h.Node {
	return h.FieldSet(class("roles"), h.Legend(h.Text(t.Invite.Role)), h.Map(texts.Roles, func(r model.Role) h.Node {
		id := "in-role-" + intText(int(r))
		return h.Label(class("tick"), h.For(id),
			h.Input(h.ID(id), h.Type("radio"), h.Name("role"), h.Value(intText(int(r))), h.If(r == chosen, h.Checked()), h.Aria("describedby", id+"-hint")),
			h.Span(class("grow"), h.Text(t.Words.Role[r]), h.Span(class("hint"), h.ID(id+"-hint"), h.Text(t.Words.RoleHint[r]))))
	}))
}

// PlaceFormView adds or changes a place.
type PlaceFormView struct {
	Place   string // "" for a new one
	Name    string
	Rhythm  int
	Coldest string // °C as typed, "" if nobody has said
	Warmest string
	Card    model.CardColour
	Guest   bool    // this phone may not change the place
	Turns   []Named // the ways in which turns go
	Turn    string  // the one that holds here
	Problem string
}

// PlaceForm asks for a name and how often somebody looks there.
func PlaceForm(t *texts.Catalogue, v PlaceFormView) h.Node {
	p := t.Place
	if v.Guest {
		return placeFacts(t, v)
	}
	title, action := p.NewTitle, ActAddPlace
	if v.Place != "" {
		title, action = p.EditTitle, ActSavePlace
	}
	rhythms := make([]option, len(texts.Rhythms))
	for i, r := range texts.Rhythms {
		rhythms[i] = option{value: intText(r), label: t.Words.Rhythm[r], on: r == v.Rhythm || v.Rhythm == 0 && i == 0}
	}
	return screen("placeform",
		heading(title, "", backTo(RouteHousehold, t.Bar.Household)),
		problem(v.Problem),
		form(action, h.If(v.Place != "", hidden("place", v.Place)),
			textField("lf-name"+v.Place, "name", p.NameLabel, p.NameHint, v.Name, h.Required()),
			pills("radio", "lf-rhythm"+v.Place, "rhythm", p.RhythmLabel, rhythms),
			h.P(class("hint"), h.Text(p.RhythmHint)),
			placeWarmth(t, v),
			placeCard(t, v),
			h.If(len(v.Turns) > 0, selectField("lf-turn"+v.Place, "turn", t.Reminders.WhosePlace, t.Reminders.WhosePlaceHint, v.Turns, v.Turn)),
			dock(submit("main", t.Common.Save))),
		placeDeeds(t, v.Place))
}

// placeFacts is what a guest needs of a place.
func placeFacts(t *texts.Catalogue, v PlaceFormView) h.Node {
	return screen("placeform",
		heading(v.Name, t.Words.Rhythm[v.Rhythm], backTo(RouteHousehold, t.Bar.Household)),
		placeDeeds(t, v.Place))
}

// placeDeeds is what can be noted of a place that is there.
func placeDeeds(t *texts.Catalogue, place string) h.Node {
	p := t.Place
	if place == "" {
		return nil
	}
	return h.Group{
		h.Div(class("acts"), goTo("plain", CardRoute(place), t.Card.Open), button("plain", t.Tasks.Watered, act(ActWater, "place", place))),
		h.Div(class("folds"),
			fold("lf-cut", "plants", p.CutTitle, h.P(h.Text(p.CutWords)), button("plain", p.Cut, act(ActCutCameIn, "place", place))),
			fold("lf-heat", "due-soon", t.Tasks.HeatTitle, h.P(h.Text(t.Tasks.HeatWords)), form(ActNoteHeat, hidden("place", place),
				h.Div(class("pairrow"), numberField("lf-read-cold", "coldest", t.Tasks.Coldest, "", "", p.Celsius), numberField("lf-read-warm", "warmest", t.Tasks.Warmest, "", "", p.Celsius)),
				submit("plain", t.Common.Save)))),
	}
}

// placeCard asks whether a sticky card hangs at the place: if so, its readings become
// tasks.
func placeCard(t *texts.Catalogue, v PlaceFormView) h.Node {
	var options []option
	for _, c := range []struct {
		colour model.CardColour
		name   string
	}{{model.NoCard, t.Tasks.NoCard}, {model.YellowCard, t.Card.Yellow}, {model.BlueCard, t.Card.Blue}} {
		options = append(options, option{value: intText(int(c.colour)), label: c.name, on: c.colour == v.Card})
	}
	return pills("radio", "lf-card"+v.Place, "card", t.Tasks.CardHere, options)
}

// placeWarmth asks how warm it is, which is all the biology needs to know.
func placeWarmth(t *texts.Catalogue, v PlaceFormView) h.Node {
	p := t.Place
	return h.FieldSet(class("warmth"), h.Legend(h.Text(p.Warmth)), h.P(class("hint"), h.Text(p.WarmthHint)),
		h.Div(class("pairrow"),
			numberField("lf-cold"+v.Place, "coldest", p.ColdestLabel, "", v.Coldest, p.Celsius),
			numberField("lf-warm"+v.Place, "warmest", p.WarmestLabel, "", v.Warmest, p.Celsius)))
}
