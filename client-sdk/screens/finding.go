package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// FindingView is the form for something that was found.
type FindingView struct {
	Plant   string
	Name    string
	Place   string // of the round it belongs to, "" outside a round
	Where   string // the place's name
	Problem string
	Shots   ShotsView

	Identify *IdentifyView // what it may be, as far as it is noted; nil leaves it out
}

// Finding asks for a photo, where it was, what it looks like and how many.
// With a photo it takes four taps besides the camera's own: photo, sign, save,
// and the one that opened the form; the underside is chosen already.
func Finding(t *texts.Catalogue, v FindingView) h.Node {
	f := t.Finding
	back := backTo(PlantRoute(v.Plant), v.Name)
	if v.Place != "" {
		back = backTo(RoundRoute(v.Place), f.BackToRound)
	}
	return screen("finding",
		heading(f.Title, t.Common.Dotted(v.Name, v.Where), back),
		problem(v.Problem),
		form(ActSaveFinding, hidden("plant", v.Plant), hidden("place", v.Place),
			h.Div(class("cols"),
				h.Div(class("col"), photoField(t, v.Shots), partField(t, v.Plant), signTiles(t, v),
					h.Iff(v.Identify != nil, func() h.Node {
						return h.Div(h.ID(IDIdentify), h.Aria("live", "polite"), Identify(t, *v.Identify))
					})),
				h.Div(class("col"), countFields(t, v.Plant), howField(t, v), damageField(t, v.Plant),
					areaField("fn-"+v.Plant, "note", t.Common.Note, f.NoteHint, ""))),
			dock(submit("main", f.Save))))
}

func partField(t *texts.Catalogue, plant string) h.Node {
	options := make([]option, len(model.Parts))
	for i, p := range model.Parts {
		options[i] = option{value: intText(int(p)), label: t.Words.Part[p], on: i == 0}
	}
	return pills("radio", "fw-"+plant, "part", t.Finding.Where, options)
}

func signTiles(t *texts.Catalogue, v FindingView) h.Node {
	return h.FieldSet(class("tiles"), h.Legend(h.Text(t.Finding.Signs)), h.Div(class("grid"), h.Map(texts.Signs, func(s model.Signs) h.Node {
		id := "fs-" + v.Plant + "-" + intText(int(s))
		return h.Label(class("tile"), h.For(id),
			h.Input(h.ID(id), h.Type("checkbox"), h.Name("sign"), h.Value(intText(int(s))), h.If(v.Identify != nil, h.Data("change", ActIdentify))),
			h.Span(class("face"), signDrawing(s), h.Span(h.Text(t.Words.Sign[s]))))
	})))
}

// howField asks where else somebody looked, and how. Nothing is chosen beforehand:
// what nobody says is not noted.
func howField(t *texts.Catalogue, v FindingView) h.Node {
	f := t.Finding
	parts, aids := make([]option, len(model.Parts)), make([]option, len(texts.Aids))
	for i, p := range model.Parts {
		parts[i] = option{value: intText(int(p)), label: t.Words.Part[p]}
	}
	for i, x := range texts.Aids {
		aids[i] = option{value: intText(int(x)), label: t.Words.Aid[x], on: i == 0}
	}
	return fold("fh-"+v.Plant, "look", f.How, h.P(class("hint"), h.Text(f.HowHint)),
		pills("checkbox", "fl-"+v.Plant, "looked", f.LookedAt, parts),
		pills("radio", "fa-"+v.Plant, "aid", f.Aid, aids),
		tick("fg-"+v.Plant, "growing", f.Growing, f.GrowingHint, false))
}

func countFields(t *texts.Catalogue, plant string) h.Node {
	return h.FieldSet(class("counts"), h.Legend(h.Text(t.Finding.Counts)), h.P(class("hint"), h.Text(t.Finding.CountsHint)),
		h.Map(texts.Stages, func(s model.Stage) h.Node {
			n := intText(int(s))
			return stepper(t, "fc-"+plant+"-"+n, "count"+n, t.Words.Stage[s], t.Words.StageHint[s], 0, 0, 9999)
		}))
}

func damageField(t *texts.Catalogue, plant string) h.Node {
	steps := make(h.Group, texts.MostDamage+1)
	for i := range steps {
		id := "fd-" + plant + "-" + intText(i)
		steps[i] = h.Label(class("scale"), h.For(id),
			h.Input(h.ID(id), h.Type("radio"), h.Name("damage"), h.Value(intText(i)), h.If(i == 0, h.Checked())),
			h.Span(h.Strong(h.Text(intText(i))), h.Span(class("scaleword"), h.Text(t.Words.Damage[i]))))
	}
	return h.FieldSet(class("damage"), h.Legend(h.Text(t.Finding.Damage)), h.P(class("hint"), h.Text(t.Finding.DamageHint)), h.Div(class("row"), steps))
}

// AfterView is what to do about a finding that was just saved.
type AfterView struct {
	Plant     string
	Name      string
	Place     string // of the round, "" outside one
	Finding   string // id of the saved look
	Summary   string // what was found, in one sentence
	Photos    []Photo
	Isolated  bool    // the plant stands apart already
	Outbreaks []Named // running ones that it could belong to
	Within    string  // the outbreak it belongs to already, "" if none
	Guest     bool    // this phone may not open an outbreak
	Guess     model.Pest
	Next      string // where Go on leads
	Identify  *IdentifyView
}

// After offers the three ways on: keep apart, call it an outbreak, keep watching.
func After(t *texts.Catalogue, v AfterView) h.Node {
	a := t.After
	return screen("after",
		heading(a.Title, v.Name, nil),
		h.Div(class("card saved"), icon("due-done"), h.Div(h.P(h.Text(v.Summary)), thumbs(v.Photos))),
		h.Iff(v.Identify != nil, func() h.Node {
			return h.Div(h.ID(IDIdentify), h.Aria("live", "polite"), Identify(t, *v.Identify))
		}),
		h.Div(class("cards"),
			isolateCard(t, v),
			outbreakCard(t, v),
			h.Section(class("card"), h.H2(h.Text(a.WatchTitle)), h.P(h.Text(a.Watch)),
				button("plain", a.WatchDo, act(ActKeepWatching, "plant", v.Plant, "place", v.Place)))),
		dock(goTo("main", v.Next, a.GoOn)))
}

func isolateCard(t *texts.Catalogue, v AfterView) h.Node {
	a := t.After
	if v.Isolated {
		return h.Section(class("card"), h.H2(h.Text(a.IsolateTitle)), h.P(h.Text(a.IsolatedAlready)))
	}
	return h.Section(class("card"), h.H2(h.Text(a.IsolateTitle)), h.P(h.Text(a.Isolate)),
		button("plain", a.IsolateDo, act(ActIsolate, "plant", v.Plant, "finding", v.Finding)))
}

func outbreakCard(t *texts.Catalogue, v AfterView) h.Node {
	a := t.After
	if v.Within != "" {
		return h.Section(class("card"), h.H2(h.Text(a.OutbreakTitle)), h.P(h.Text(a.Within(v.Within))))
	}
	if v.Guest {
		return h.Section(class("card"), h.H2(h.Text(a.OutbreakTitle)), h.P(h.Text(t.Tasks.GuestOutbreak)))
	}
	return h.Section(class("card"), h.H2(h.Text(a.OutbreakTitle)), h.P(h.Text(a.Outbreak)),
		h.Map(v.Outbreaks, func(o Named) h.Node {
			return button("plain", a.AddTo(o.Name), act(ActAddToOutbreak, "plant", v.Plant, "finding", v.Finding, "outbreak", o.ID))
		}),
		form(ActOpenOutbreak, hidden("plant", v.Plant), hidden("finding", v.Finding),
			pestField(t, "ao-"+v.Plant, v.Guess), submit("plain", a.OpenDo)))
}

func pestField(t *texts.Catalogue, id string, chosen model.Pest) h.Node {
	options := make([]Named, len(model.Pests))
	for i, p := range model.Pests {
		options[i] = Named{ID: intText(int(p)), Name: t.Words.Pest[p]}
	}
	return selectField(id, "pest", t.After.PestLabel, t.After.PestHint, options, intText(int(chosen)))
}
