package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// MemberView is one member: the phones, and what may be changed. What this phone may
// not do is not offered.
type MemberView struct {
	ID         string
	Name       string
	Role       model.Role
	Me         bool
	Phones     []MemberPhone
	Appoint    bool // the role may be changed
	Remove     bool
	Leave      bool
	LastKeeper bool   // the household would be left without one
	Stay       string // a guest's last day, in words
	Reminders  bool   // this phone may change when the member is told, and the last day
}

// MemberPhone is one of a member's phones.
type MemberPhone struct {
	ID     string
	Name   string // with when it was last heard of
	This   bool
	Revoke bool // it may be signed off
}

// Member shows a member, and what a keeper or the member can change.
func Member(t *texts.Catalogue, v MemberView) h.Node {
	m := t.Members
	return screen("member",
		heading(v.Name, t.Words.Role[v.Role], backTo(RouteHousehold, t.Bar.Household)),
		h.If(v.Stay != "", h.P(class("withicon"), icon("later"), h.Span(h.Text(v.Stay)))),
		section(m.Phones, h.Ul(class("rows"), h.Map(v.Phones, func(p MemberPhone) h.Node { return memberPhone(t, p) }))),
		h.If(v.LastKeeper && v.Me, notice("info", h.P(h.Text(m.LastKeeper)))),
		h.If(v.Appoint, h.Div(class("card"), form(ActAppoint, hidden("member", v.ID), roleField(t, v.Role), submit("plain", m.Appoint)))),
		h.If(v.Reminders, goTo("plain", RemindersRoute(v.ID), t.Reminders.Of(v.Name))),
		h.Div(class("folds"),
			h.If(v.Remove, fold("mb-remove", "stop", m.RemoveTitle(v.Name), bullets(m.RemoveWords), button("stern", m.Remove(v.Name), act(ActRemoveMember, "member", v.ID)))),
			h.If(v.Leave, fold("mb-leave", "stop", m.LeaveTitle, bullets(m.LeaveWords), button("stern", m.Leave, act(ActLeave))))))
}

func memberPhone(t *texts.Catalogue, p MemberPhone) h.Node {
	m, name := t.Members, p.Name
	if p.This {
		name = m.This(p.Name)
	}
	return h.Li(class("row wrap"), h.Span(class("kind"), icon("phone")), h.Div(class("grow"),
		h.P(class("strong"), h.Text(name)),
		h.If(p.Revoke, fold("mr-"+p.ID, "stop", m.RevokeTitle, bullets(m.RevokeWords), button("stern", m.Revoke, act(ActRevoke, "device", p.ID))))))
}

// Notice is something about this phone or the household that a person should read.
type Notice struct {
	Title string
	Words []string
	Route string // where something can be done about it, "" if nowhere
	Label string
	Read  string // the action that says it was read, "" if it goes by itself
}

func notices(t *texts.Catalogue, list []Notice) h.Node {
	return h.If(len(list) > 0, cards(h.Map(list, func(n Notice) h.Node {
		return h.Section(class("card"), h.H2(class("withicon"), icon("info"), h.Span(h.Text(n.Title))),
			h.Map(n.Words, func(words string) h.Node { return h.P(h.Text(words)) }),
			h.If(n.Route != "", goTo("plain", n.Route, n.Label)),
			h.If(n.Read != "", button("plain", t.Members.Read, act(n.Read))))
	})))
}

// AsideRow is an entry that does not count.
type AsideRow struct {
	ID    string
	Title string
	By    string // who and when
	Why   string
	Again bool // this phone may write it again
}

// Aside lists the entries that do not count, and why.
func Aside(t *texts.Catalogue, list []AsideRow) h.Node {
	m := t.Members
	return screen("aside",
		heading(m.AsideTitle, "", backTo(RouteHousehold, t.Bar.Household)),
		h.P(h.Text(m.AsideLead)),
		h.If(len(list) == 0, h.P(class("muted"), h.Text(m.AsideNone))),
		h.If(len(list) > 0, h.Ul(class("rows"), h.Map(list, func(r AsideRow) h.Node {
			id := "as-" + r.ID
			return h.Li(class("row wrap"), h.Div(class("grow"), h.ID(id), h.P(class("strong"), h.Text(r.Title)), h.P(class("small"), h.Text(r.By)), h.P(h.Text(r.Why))),
				h.If(r.Again, button("plain", m.WriteAgain, act(ActWriteAgain, "fact", r.ID), h.Aria("describedby", id))))
		}))))
}

// RejoinView brings a phone back that was signed off.
type RejoinView struct {
	Invitation string // "" if a link is still to be pasted
	Why        string
	Problem    string
}

// Rejoin asks for a new invitation.
func Rejoin(t *texts.Catalogue, v RejoinView) h.Node {
	m := t.Members
	link := textField("rejoin-link", "link", t.Welcome.LinkLabel, "", "", h.Required(), h.Attr("inputmode", "url"))
	if v.Invitation != "" {
		link = hidden("link", RouteJoin+v.Invitation)
	}
	return screen("rejoin",
		heading(m.RejoinTitle, "", backTo(RouteHousehold, t.Bar.Household)),
		problem(v.Problem),
		notice("info", h.P(h.Text(v.Why)), h.P(h.Text(m.RejoinWords))),
		form(ActRejoin, link, dock(submit("main", m.Rejoin))))
}

// ReturnView brings the household back to a server that does not know it any more.
type ReturnView struct {
	Setup     string // the token of the set-up link
	Household string
	Problem   string
}

// Return asks before the household is brought back.
func Return(t *texts.Catalogue, v ReturnView) h.Node {
	m := t.Members
	return screen("return",
		heading(m.ReturnTitle(v.Household), "", backTo(RouteHousehold, t.Bar.Household)),
		problem(v.Problem),
		notice("info", bullets(m.ReturnWords)),
		form(ActReturn, hidden("setup", v.Setup), dock(submit("main", m.Return))))
}

// HandOverView is what became of a file that was taken in.
type HandOverView struct {
	Done    string
	Problem string
}

// HandOver writes all entries to a file, and takes in one that another phone wrote.
func HandOver(t *texts.Catalogue, v HandOverView) h.Node {
	m := t.Members
	return screen("handover",
		heading(m.FileTitle, "", backTo(RouteData, t.Household.Data)),
		problem(v.Problem),
		h.If(v.Done != "", h.Div(h.Role("status"), notice("info", h.P(h.Text(v.Done))))),
		section(m.SaveTitle, h.P(h.Text(m.SaveWords)), button("plain", m.SaveFile, act(ActSaveFile))),
		section(m.TakeTitle, h.P(h.Text(m.TakeWords)),
			form(ActTakeFile, h.Label(class("file"), h.For("ho-file"), h.Span(h.Text(m.ChooseFile)), h.Input(h.ID("ho-file"), h.Type("file"), h.Name("file"), h.Required())), submit("plain", m.TakeFile))))
}
