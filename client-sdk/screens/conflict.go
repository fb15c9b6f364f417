package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// Conflict is a field that people set without knowing of each other.
type Conflict struct {
	Record string // as the action takes it
	Key    string
	Field  string          // what it is called
	Values []ConflictValue // the first one counts
	Decide bool            // this phone may choose
}

// ConflictValue is what somebody wrote.
type ConflictValue struct {
	Write string // as the action takes it
	Value string
	By    string // who and when
}

// conflicts shows what people wrote at once, and lets one of them be chosen.
func conflicts(t *texts.Catalogue, list []Conflict) h.Node {
	c := t.Conflict
	return h.Map(list, func(x Conflict) h.Node {
		return h.Section(class("card conflict"), h.H2(class("withicon"), icon("conflict"), h.Span(h.Text(c.Title(x.Field)))), h.P(class("small"), h.Text(c.Lead)), h.If(!x.Decide, h.P(class("small"), h.Text(c.NotYours))),
			h.Ul(class("rows"), h.Map(x.Values, func(v ConflictValue) h.Node {
				return conflictValue(t, x, v)
			})))
	})
}

func conflictValue(t *texts.Catalogue, x Conflict, v ConflictValue) h.Node {
	c, id := t.Conflict, "cv-"+v.Write+"-"+x.Key
	label, counts := c.Take, v == x.Values[0]
	if counts {
		label = c.Keep
	}
	return h.Li(class("row wrap"),
		h.Div(class("grow"), h.ID(id), h.P(class("strong"), h.Text(v.Value)), h.P(class("small"), h.Text(v.By)), h.If(counts, h.P(class("small"), h.Text(c.Counts)))),
		h.If(x.Decide, button("plain", label, act(ActChoose, "record", x.Record, "field", x.Key, "write", v.Write), h.Aria("describedby", id))))
}

// Removal is something that was removed while somebody else changed it.
type Removal struct {
	Record string // as the action takes it
	Name   string
	Words  string // who did what
	Decide bool   // this phone may bring it back
}

// removals shows what was removed and changed at once, so that no change is passed over.
func removals(t *texts.Catalogue, list []Removal) h.Node {
	c := t.Conflict
	return h.If(len(list) > 0, cards(h.Map(list, func(x Removal) h.Node {
		id := "rm-" + x.Record
		return h.Section(class("card conflict"), h.H2(class("withicon"), icon("conflict"), h.Span(h.Text(x.Name))), h.P(h.ID(id), h.Text(x.Words)),
			h.If(x.Decide, h.Div(class("pairrow"),
				button("plain", c.BringBack, act(ActBringBack, "record", x.Record), h.Aria("describedby", id)),
				button("plain", c.LeaveRemoved, act(ActLeaveRemoved, "record", x.Record), h.Aria("describedby", id)))))
	})))
}
