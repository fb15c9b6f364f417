package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// PlantView is one plant's page.
type PlantView struct {
	ID        string
	Name      string
	Species   string
	Place     Named
	Standing  texts.Standing
	Why       string // why it stands so, and what ends it
	Photo     *Photo
	Note      string
	Edible    bool
	Sensitive bool
	Isolated  bool
	Parts     model.PartSet
	Confirms  string // which parts "nothing found" says were looked at
	Outdoors  bool   // it went out and is not back yet
	Gone      bool
	Guest     bool // this phone may not change the plant
	Outbreaks []Named
	Places    []Named // where it could move to
	Tasks     []TaskView
	Held      []string // why it must not be touched or watered through now
	Conflicts []Conflict
	Timeline  []TimelineDay
	Older     bool // there is more of it
}

// TimelineDay is what happened on one day, the newest day first.
type TimelineDay struct {
	Date    string
	Entries []TimelineEntry
}

// TimelineEntry is one look, treatment or handling.
type TimelineEntry struct {
	Fact      string // "" if this phone may not take it back
	Kind      EntryKind
	Title     string
	Detail    string
	Note      string
	By        string // who and at what time
	Photos    []Photo
	Doubled   bool   // two people noted the same treatment
	Withdrawn string // by whom it was taken back, "" while it counts
}

// EntryKind picks the drawing of an entry.
type EntryKind string

// The kinds of entries.
const (
	EntryClean   EntryKind = "st-clear" // a look that found nothing
	EntryFinding EntryKind = "look"
	EntrySpray   EntryKind = "spray"
	EntryHandled EntryKind = "hand"
)

// Plant is everything known about one plant, by date.
func Plant(t *texts.Catalogue, v PlantView) h.Node {
	p := t.Plant
	return screen("plant",
		heading(v.Name, v.Species, backTo(RoutePlants, t.Bar.Plants)),
		h.Div(class("cols"),
			h.Div(class("col"), plantHead(t, v),
				h.If(len(v.Held) > 0, notice("stop", bullets(v.Held))),
				h.If(!v.Gone, h.Div(class("pairrow"),
					button("plain", p.LookedClean, act(ActNothingFound, "plant", v.ID, "looked", intText(int(v.Parts))), h.If(v.Confirms != "", h.Aria("describedby", "confirms"))),
					button("plain", p.FoundSomething, act(ActFoundSomething, "plant", v.ID)),
					button("plain", t.Tasks.Watered, act(ActWater, "plant", v.ID)))),
				h.If(!v.Gone && v.Confirms != "", h.P(h.ID("confirms"), class("small"), h.Text(t.Round.Confirms(v.Confirms)))),
				h.Map(v.Tasks, func(x TaskView) h.Node { return TaskCard(t, x) }),
				conflicts(t, v.Conflicts),
				h.Div(class("folds"), h.If(!v.Gone, plantHandling(t, v)))),
			section(p.Timeline, goTo("plain", RecoveryRoute(v.ID), t.Recovery.Open),
				h.If(len(v.Timeline) == 0, h.P(class("muted"), h.Text(p.TimelineEmpty))),
				Days(t, v.ID, v.Timeline, v.Older))))
}

// Days is a part of a plant's past and, if there are older entries, the button IDOlder
// that asks for them and which they replace. The shell taps it when it comes near.
func Days(t *texts.Catalogue, plant string, days []TimelineDay, older bool) h.Node {
	return h.Group{
		h.Map(days, func(d TimelineDay) h.Node { return timelineDay(t, d) }),
		h.If(older, button("plain", t.Plant.Older, act(ActOlder, "plant", plant), h.ID(IDOlder), h.Data("near", ""))),
	}
}

func plantHead(t *texts.Catalogue, v PlantView) h.Node {
	p := t.Plant
	return h.Div(class("card head"),
		h.Iff(v.Photo != nil, func() h.Node {
			return h.A(h.Href(PhotoRoute(v.Photo.Sum)), class("shot"), picture(*v.Photo, thumbnail))
		}),
		h.Div(class("line wrap"), standing(t, v.Standing), h.Span(class("small"), h.Text(v.Place.Name))),
		h.If(v.Why != "", h.P(h.Text(v.Why))),
		h.Map(v.Outbreaks, func(o Named) h.Node {
			return h.P(h.A(h.Href(OutbreakRoute(o.ID)), class("alone"), h.Text(p.InOutbreak(o.Name))))
		}),
		h.If(v.Edible, h.P(class("tag"), icon("info"), h.Span(h.Text(p.Edible)))),
		h.If(v.Sensitive, h.P(class("tag"), icon("care"), h.Span(h.Text(p.Sensitive)))),
		h.If(v.Note != "", h.P(class("note"), h.Text(v.Note))))
}

// Tended is what one tap notes as done to a plant by hand.
var Tended = []model.HandlingKind{model.Rinsed, model.Wiped, model.Pruned, model.Repotted}

func plantHandling(t *texts.Catalogue, v PlantView) h.Node {
	p := t.Plant
	apart := button("plain", p.Isolate, act(ActIsolate, "plant", v.ID))
	if v.Isolated {
		apart = button("plain", p.Release, act(ActRelease, "plant", v.ID))
	}
	out := button("plain", p.GoOut, act(ActWentOut, "plant", v.ID))
	if v.Outdoors {
		out = button("plain", p.BackIn, act(ActBackIn, "plant", v.ID))
	}
	return h.Group{
		fold("pl-apart", "apart", p.ApartTitle, h.P(h.Text(p.ApartWords)), apart),
		h.If(len(v.Places) > 0 && !v.Guest, fold("pl-move", "move", p.MoveTitle, form(ActMove, hidden("plant", v.ID),
			selectField("pl-place-"+v.ID, "place", t.PlantForm.PlaceLabel, "", v.Places, v.Place.ID), submit("plain", p.Move)))),
		fold("pl-out", "move", p.OutTitle, h.P(h.Text(p.OutWords)), out),
		fold("pl-hand", "hand", t.Tasks.ByHand, h.P(h.Text(t.Tasks.ByHandWords)), h.Div(class("acts"), h.Map(Tended, func(k model.HandlingKind) h.Node {
			return button("plain", t.Words.Handling[k], act(ActTend, "plant", v.ID, "kind", intText(int(k))))
		}))),
		h.If(!v.Guest, fold("pl-more", "more", p.MoreTitle, h.Div(class("acts stack"),
			goTo("plain", PlantEditRoute(v.ID), p.Edit),
			h.P(class("hint"), h.Text(p.GoneWords)),
			button("stern", p.Gone, act(ActGone, "plant", v.ID))))),
	}
}

func timelineDay(t *texts.Catalogue, d TimelineDay) h.Node {
	return h.Section(class("day"), h.H3(h.Text(d.Date)), h.Ol(class("line-of-time"), h.Map(d.Entries, func(e TimelineEntry) h.Node {
		return timelineEntry(t, e)
	})))
}

func timelineEntry(t *texts.Catalogue, e TimelineEntry) h.Node {
	p := t.Plant
	if e.Withdrawn != "" {
		return h.Li(class("entry off"), h.Span(class("kind"), icon("withdrawn")),
			h.Div(class("grow"), h.P(h.Del(h.Text(e.Title))), h.P(class("small"), h.Text(p.Withdrawn(e.Withdrawn)))))
	}
	return h.Li(class("entry"), h.Span(class("kind k-"+string(e.Kind)), icon(string(e.Kind))),
		h.Div(class("grow"), h.P(class("strong"), h.Text(e.Title)),
			h.If(e.Detail != "", h.P(h.Text(e.Detail))),
			h.If(e.Note != "", h.P(class("note"), h.Text(e.Note))),
			h.If(e.Doubled, h.P(class("tag"), icon("double"), h.Span(h.Text(p.Doubled)))),
			thumbs(e.Photos),
			h.P(class("small"), h.Text(e.By)),
			h.If(e.Fact != "", fold("wd-"+e.Fact, "more", p.Amend,
				form(ActWithdraw, hidden("fact", e.Fact), h.P(class("hint"), h.Text(p.WithdrawWords)),
					textField("wn-"+e.Fact, "note", p.WithdrawNote, "", ""), submit("stern", p.Withdraw))))))
}

// PhotoView is one photo at full size.
type PhotoView struct {
	Photo   Photo
	Caption string // plant, day, who took it
	Back    string // route
	BackTo  string // what the way back is called
	Noted   string // how much of the leaf is damaged, "" if nobody has measured it
}

// PhotoScreen shows a photo as large as the screen allows.
func PhotoScreen(t *texts.Catalogue, v PhotoView) h.Node {
	return screen("photo", heading(t.Plant.PhotoTitle, v.Caption, backTo(v.Back, v.BackTo)), h.Div(class("full"), picture(v.Photo, fullSize)),
		h.If(v.Noted != "", h.P(class("withicon"), icon("leaf"), h.Span(h.Text(v.Noted)))),
		dock(goTo("main", MeasureRoute(v.Photo.Sum), t.Measure.Open)))
}
