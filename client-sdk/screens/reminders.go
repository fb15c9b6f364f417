package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// RemindersView is when a member wants to hear of tasks. Times are 15:04 and dates
// 2006-01-02, as the fields take them; "" for none.
type RemindersView struct {
	Member  string
	Name    string
	Me      bool // the person looks at their own
	Problem string

	DigestAt            string
	Evening             bool
	QuietFrom, QuietTo  string
	AwayFrom, AwayUntil string
	Ends                string // a guest's last day
	MayEnd              bool   // a keeper looks at a guest's

	Push     PushView
	Calendar CalendarView
	Others   []Named // whose reminders a keeper can change
	Turns    []Named // the household's choices, if the person may change them
	Turn     string
}

// PushView is whether this phone takes messages.
type PushView struct {
	State texts.PushState
	Words string // why the server has not heard of it, "" if it has
}

// CalendarView is the calendar link, which is shown once, when it was made.
type CalendarView struct {
	Sample bool   // a sample has no server that could give one
	Link   string // "" before one was made
}

// Reminders is a member's settings. What belongs to the phone, and the calendar, are
// the person's own.
func Reminders(t *texts.Catalogue, v RemindersView) h.Node {
	r := t.Reminders
	title := r.Title
	if !v.Me {
		title = r.Of(v.Name)
	}
	return screen("reminders",
		heading(title, "", backTo(RouteHousehold, t.Bar.Household)),
		problem(v.Problem),
		h.Div(class("cols"),
			h.Div(class("col"), remindersForm(t, v)),
			h.Div(class("col"),
				h.If(v.Me, h.Div(h.ID(IDPush), PushPanel(t, v.Push))),
				h.If(v.Me, h.Div(h.ID(IDCalendar), CalendarPanel(t, v.Calendar))),
				turnsPart(t, v),
				othersPart(t, v.Others))))
}

func remindersForm(t *texts.Catalogue, v RemindersView) h.Node {
	r := t.Reminders
	return form(ActSaveReminders, hidden("member", v.Member),
		timeField("rm-digest", "digest", r.DigestAt, r.DigestHint, v.DigestAt),
		tick("rm-evening", "evening", r.Evening, r.EveningHint, v.Evening),
		h.FieldSet(class("warmth"), h.Legend(h.Text(r.Quiet)), h.P(class("hint"), h.Text(r.QuietHint)), h.Div(class("pairrow"),
			timeField("rm-quiet-from", "quietfrom", r.QuietFrom, "", v.QuietFrom),
			timeField("rm-quiet-to", "quietto", r.QuietTo, "", v.QuietTo))),
		h.FieldSet(class("warmth"), h.Legend(h.Text(r.Away)), h.P(class("hint"), h.Text(r.AwayHint)), h.Div(class("pairrow"),
			dateField("rm-away-from", "awayfrom", r.AwayFrom, "", v.AwayFrom, ""),
			dateField("rm-away-until", "awayuntil", r.AwayUntil, "", v.AwayUntil, ""))),
		h.If(v.MayEnd, dateField("rm-ends", "ends", r.Ends, r.EndsHint, v.Ends, "")),
		dock(submit("main", t.Common.Save)))
}

// timeField is a time of day; empty is none.
func timeField(id, name, label, hint, value string) h.Node {
	return labelled(id, label, hint, h.Input(h.ID(id), h.Type("time"), h.Name(name), h.Value(value), describedBy(id, hint)))
}

// PushPanel is the content of the element IDPush. The browser asks its own question
// after a tap only, so the buttons are the shell's.
func PushPanel(t *texts.Catalogue, v PushView) h.Node {
	r := t.Reminders
	shell := func(label, how string) h.Node {
		return h.Button(h.Type("button"), class("btn plain"), h.Data("shell", "push"), h.Data("how", how), h.Text(label))
	}
	return section(r.Phone,
		h.P(class("hint"), h.Text(r.PhoneHint)),
		h.P(h.Role("status"), h.Text(r.Push[v.State])),
		h.If(v.Words != "", notice("care", h.P(h.Text(v.Words)))),
		h.If(v.State == texts.PushOff || v.State == texts.PushFailed, shell(r.PushOn, "on")),
		h.If(v.State == texts.PushOn || v.State == texts.PushUnknown, shell(r.PushOff, "off")))
}

// CalendarPanel is the content of the element IDCalendar.
func CalendarPanel(t *texts.Catalogue, v CalendarView) h.Node {
	r := t.Reminders
	if v.Sample {
		return nil
	}
	return section(r.Calendar,
		h.P(class("hint"), h.Text(r.CalendarHint)),
		h.If(v.Link != "", h.Group{
			h.P(class("link"), h.ID("calendar-link"), h.Text(v.Link)), notice("care", h.P(h.Text(r.CalendarSecret))),
			button("main", r.CalendarCopy, act(ActCopyLink, "link", v.Link))}),
		h.Div(class("acts"), button("plain", r.CalendarMake, act(ActMakeCalendar)), button("quiet", r.CalendarEnd, act(ActEndCalendar))))
}

func turnsPart(t *texts.Catalogue, v RemindersView) h.Node {
	r := t.Reminders
	return h.If(len(v.Turns) > 0, section(r.Whose, form(ActSaveTurn,
		selectField("rm-turn", "turn", r.Whose, r.WhoseHint, v.Turns, v.Turn), submit("plain", t.Common.Save))))
}

func othersPart(t *texts.Catalogue, others []Named) h.Node {
	return h.If(len(others) > 0, section(t.Reminders.Others, h.Ul(class("rows"), h.Map(others, func(o Named) h.Node {
		return h.Li(h.A(h.Href(RemindersRoute(o.ID)), class("row"), h.Span(class("kind"), icon("person")), h.Span(class("grow strong"), h.Text(o.Name)), icon("next")))
	}))))
}

// The turns, as their fields send them; a member's id means always that member.
const (
	TurnHousehold = ""
	TurnAnyone    = "anyone"
	TurnRotating  = "rotating"
)
