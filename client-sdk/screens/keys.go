package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// IdentifyView is what a finding may be, and what to look at to tell it apart.
type IdentifyView struct {
	Plant    string
	Finding  string    // the saved look; "" while it is being noted
	Suspects []Suspect // the likeliest first; empty before any sign is known
	None     float64   // the chance that it is none of them, or no pest at all
	Ask      []Question
}

// Suspect is a pest that it may be.
type Suspect struct {
	Name   string
	Chance float64
	Why    string // what speaks for it, and what against
}

// Question is a sign that nobody has looked for yet and that would tell the
// suspects apart.
type Question struct {
	Sign   model.Signs
	Words  string // the question
	Why    string // what each answer would mean
	Answer string // "seen" or "absent" where it was chosen in the form already
}

// The answers to a question, as ActLookedFor and the finding form send them.
const (
	AnswerSeen   = "seen"
	AnswerAbsent = "absent"
)

// AskedName is the name of a question's field in the finding form; the field
// holds an answer, or nothing if nobody has looked.
func AskedName(s model.Signs) string { return "asked" + intText(int(s)) }

// Identify is the content of the element IDIdentify, on the screen after a
// finding and, swapped as signs are chosen, in the finding form.
func Identify(t *texts.Catalogue, v IdentifyView) h.Node {
	i := t.Identify
	if len(v.Suspects) == 0 {
		return h.If(v.Finding == "", h.P(class("hint"), h.Text(i.Waiting)))
	}
	return h.Section(class("card keys"), h.H2(h.Text(i.Title)),
		h.Ul(class("suspects"), h.Map(v.Suspects, func(s Suspect) h.Node { return suspect(t, "", s) }),
			suspect(t, "none", Suspect{Name: i.None, Chance: v.None, Why: i.NoneWords})),
		h.P(class("tag"), icon("info"), h.Span(h.Text(i.Note))),
		h.Div(class("asks"), h.H3(h.Text(i.LookNext)),
			h.If(len(v.Ask) == 0, h.P(class("muted"), h.Text(i.Open))),
			h.If(len(v.Ask) > 0, h.P(class("hint"), h.Text(i.LookNextHint))),
			h.Map(v.Ask, func(q Question) h.Node { return question(t, v, q) })))
}

func suspect(t *texts.Catalogue, kind string, s Suspect) h.Node {
	return h.Li(h.P(class("line"), h.Span(class("strong grow"), h.Text(s.Name)), h.Span(class("strong"), h.Text(t.Ahead.Percent(chance(s.Chance))))),
		level(kind, s.Chance, 0), h.If(s.Why != "", h.P(class("small"), h.Text(s.Why))))
}

// question shows the sign's drawing beside the words. In the form its answer is a
// field, so that it is saved with the rest; later it is an action of its own.
func question(t *texts.Catalogue, v IdentifyView, q Question) h.Node {
	i, id := t.Identify, "qu-"+intText(int(q.Sign))
	words := h.Div(class("line"), signDrawing(q.Sign), h.Div(class("grow"), h.P(class("strong"), h.ID(id), h.Text(q.Words)), h.If(q.Why != "", h.P(class("small"), h.Text(q.Why)))))
	if v.Finding == "" {
		return h.Div(class("ask"), words, askField(t, id, q))
	}
	answer := func(words, answer string) h.Node {
		return button("plain", words, act(ActLookedFor, "plant", v.Plant, "finding", v.Finding, "sign", intText(int(q.Sign)), "answer", answer), h.Aria("describedby", id))
	}
	return h.Div(class("ask"), words, h.Div(class("pairrow"), answer(i.Seen, AnswerSeen), answer(i.NotSeen, AnswerAbsent)))
}

func askField(t *texts.Catalogue, id string, q Question) h.Node {
	i := t.Identify
	choice := func(n, words, answer string) h.Node {
		return h.Label(class("pill"), h.For(id+n), h.Input(h.ID(id+n), h.Type("radio"), h.Name(AskedName(q.Sign)), h.Value(answer),
			h.If(q.Answer == answer, h.Checked()), h.Data("change", ActIdentify)), h.Span(h.Text(words)))
	}
	return h.FieldSet(class("pills"), h.Legend(class("unseen"), h.Text(q.Words)), h.Div(class("row"),
		choice("-0", i.Seen, AnswerSeen), choice("-1", i.NotSeen, AnswerAbsent), choice("-2", i.NotAsked, "")))
}
