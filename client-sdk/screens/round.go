package screens

import (
	"strconv"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// RoundsView chooses a place to walk through.
type RoundsView struct {
	Sample bool
	First  []AtRisk // the plants at most risk, the highest first
	Guest  bool     // this phone may not add a plant
	Places []RoundPlace
}

// RoundPlace is a place and how its round stands.
type RoundPlace struct {
	ID       string
	Name     string
	State    texts.DueState
	DueWords string
	Plants   int
	Rhythm   string // how often, in words
	Last     string // who walked it last and when
	Done     int    // plants looked at in a round that was begun
	Running  bool
}

// Rounds is the second of the five places.
func Rounds(t *texts.Catalogue, v RoundsView) h.Node {
	r := t.Round
	return screen("rounds",
		heading(r.Title, r.Lead, nil),
		sampleNotice(t, v.Sample),
		h.If(len(v.Places) == 0, empty("round", r.NoPlacesTitle, r.NoPlaces, h.If(!v.Guest, goTo("main", RouteNewPlant, t.Today.AddPlant)))),
		lookFirst(t, v.First),
		h.Ul(class("cards two"), h.Map(v.Places, func(p RoundPlace) h.Node { return roundPlace(t, p) })))
}

func roundPlace(t *texts.Catalogue, p RoundPlace) h.Node {
	kind, label := "plain", t.Round.Start
	if p.State == texts.Overdue || p.State == texts.Due {
		kind = "main"
	}
	if p.Running {
		label = t.Round.GoOn(t.Format.Progress(p.Done, p.Plants))
	}
	return h.Li(class("card"),
		h.Div(h.Div(class("under-title wide"), h.Div(class("grow"), h.H2(h.ID("rp-"+p.ID), h.Text(p.Name))), dueState(p.State, p.DueWords)),
			h.P(class("small"), h.Text(t.Common.Dotted(t.Format.Plants(p.Plants), p.Rhythm))),
			h.If(p.Last != "", h.P(class("small"), h.Text(p.Last)))),
		h.If(p.Plants > 0, button(kind, label, act(ActStartRound, "place", p.ID), h.Aria("describedby", "rp-"+p.ID))),
		h.If(p.Plants == 0, h.P(class("muted"), h.Text(t.Round.NoPlantsHere))))
}

// StepView is one plant of a walk.
type StepView struct {
	Place     string
	PlaceName string
	N, Of     int
	Plant     string
	Name      string
	Species   string
	Standing  texts.Standing
	Photo     *Photo
	Last      string   // the last finding or look, with its date
	LookAt    []string // where this plant's pests would sit
	Parts     model.PartSet
	Confirms  string   // which parts the tap says were looked at
	Risk      string   // why it should be looked at closely, "" if nothing speaks for that
	Affected  string   // why it comes late in the walk, "" for clean plants
	Held      []string // why it must not be touched or watered through now
}

// Step is one plant at a time: a clean one takes one tap.
func Step(t *texts.Catalogue, v StepView) h.Node {
	r := t.Round
	return screen("step",
		h.Header(class("walk"),
			h.Div(class("line"), h.P(class("small grow"), h.Text(r.At(v.PlaceName, t.Format.Progress(v.N, v.Of)))),
				button("quiet", r.Stop, act(ActStopRound, "place", v.Place))),
			h.Progress(h.Max(strconv.Itoa(v.Of)), h.Value(strconv.Itoa(v.N-1)), h.Aria("label", r.Progress))),
		h.Div(class("cols"),
			stepPicture(v),
			h.Div(class("col"),
				h.H1(h.ID("title"), h.TabIndex("-1"), h.Text(v.Name)),
				h.P(class("line wrap"), h.If(v.Species != "", h.Span(class("species"), h.Text(v.Species))), standing(t, v.Standing)),
				h.If(len(v.Held) > 0, notice("stop", bullets(v.Held))),
				h.If(v.Affected != "", notice("care", h.P(h.Text(v.Affected)))),
				h.If(v.Risk != "", h.P(class("last"), icon("look"), h.Span(h.Text(v.Risk)))),
				h.If(v.Last != "", h.P(class("last"), icon("later"), h.Span(h.Text(v.Last)))),
				h.If(len(v.LookAt) > 0, h.Div(class("lookat"), h.H2(h.Text(r.LookAt)), bullets(v.LookAt))),
				h.If(v.Confirms != "", h.P(h.ID("confirms"), class("small"), h.Text(r.Confirms(v.Confirms)))))),
		dock(
			button("main tall", r.Nothing, act(ActNothingFound, "plant", v.Plant, "place", v.Place, "looked", intText(int(v.Parts))), h.If(v.Confirms != "", h.Aria("describedby", "confirms"))),
			h.Div(class("pairrow"),
				button("plain", r.Found, act(ActFoundSomething, "plant", v.Plant, "place", v.Place)),
				button("plain", r.Skip, act(ActSkip, "plant", v.Plant, "place", v.Place)))))
}

func stepPicture(v StepView) h.Node {
	if v.Photo == nil {
		return h.Div(class("shot none"), leafDrawing())
	}
	return h.A(h.Href(PhotoRoute(v.Photo.Sum)), class("shot"), picture(*v.Photo, thumbnail))
}

// WashView stands between the clean plants and the affected ones.
type WashView struct {
	Place     string
	PlaceName string
	N, Of     int
	Next      []string // the plants that come now
}

// Wash asks for clean hands before the affected plants.
func Wash(t *texts.Catalogue, v WashView) h.Node {
	r := t.Round
	return screen("wash",
		h.Header(class("walk"), h.P(class("small"), h.Text(r.At(v.PlaceName, t.Format.Progress(v.N, v.Of)))),
			h.Progress(h.Max(strconv.Itoa(v.Of)), h.Value(strconv.Itoa(v.N-1)), h.Aria("label", r.Progress))),
		h.Div(class("still"), icon("wash"), h.H1(h.ID("title"), h.TabIndex("-1"), h.Text(r.WashTitle)), h.P(h.Text(r.Wash)),
			h.H2(h.Text(r.WashNext)), bullets(v.Next)),
		dock(button("main tall", r.Washed, act(ActHandsWashed, "place", v.Place)),
			button("plain", r.Stop, act(ActStopRound, "place", v.Place))))
}

// RoundDoneView ends a walk.
type RoundDoneView struct {
	PlaceName string
	Looked    int
	Found     []Named // plants with a finding
	Skipped   []Named
	Apart     []Named // clean plants whose time apart is over
	Next      string  // when the next round falls due
	Other     []Named
}

// RoundDone says what the walk found and when the next one is due.
func RoundDone(t *texts.Catalogue, v RoundDoneView) h.Node {
	r := t.Round
	return screen("rounddone",
		h.Div(class("still"), icon("st-clear"), h.H1(h.ID("title"), h.TabIndex("-1"), h.Text(r.DoneTitle(v.PlaceName))),
			h.P(h.Text(r.Looked(v.Looked))), h.If(v.Next != "", h.P(h.Text(v.Next)))),
		h.If(len(v.Found) > 0, section(r.FoundOn, plantChips(v.Found))),
		h.Map(v.Apart, func(p Named) h.Node {
			return section(p.Name, h.P(h.Text(t.Tasks.EndApart)), button("plain", t.Plant.Release, act(ActRelease, "plant", p.ID)))
		}),
		h.If(len(v.Skipped) > 0, section(r.Skipped, h.P(h.Text(r.SkippedWords)), plantChips(v.Skipped))),
		h.If(len(v.Other) > 0, section(r.AlsoDue, h.Div(class("acts stack"), h.Map(v.Other, func(p Named) h.Node {
			return button("plain", r.StartAt(p.Name), act(ActStartRound, "place", p.ID))
		})))),
		dock(goTo("main", RouteToday, r.BackToToday)))
}
