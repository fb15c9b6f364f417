package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// TaskByHand is rinsing, wiping, cutting: what needs no product.
const TaskByHand TaskKind = "hand"

// PlansView is the plans for an outbreak, side by side.
type PlansView struct {
	Outbreak    string
	Name        string
	Plants      int
	Aim         string // what every plan aims at, in one sentence
	Target      float64
	Choices     PlanChoices
	Progress    *ProgressView // while plans are being tried
	Stopped     bool
	Plans       []PlanCard
	Held        []string // labels that are slower than the pest
	Refused     []string // products that are not used, and why
	Cautions    []string
	Basis       string // runs and repeat number
	Assumptions []string
	Problem     string
}

// PlanChoices are what the household said that every plan must keep in mind.
type PlanChoices struct{ Children, Pets, NoChemicals bool }

// PlanCard is one plan. One that is not possible has Blocked, and no dates.
type PlanCard struct {
	Option   string   // travels back when it is accepted
	Title    string   // fewest treatments, soonest over, nothing from a bottle
	Lead     string   // what speaks for it, in one sentence
	Chance   float64  // that it ends the outbreak in time
	Count    string   // how many treatments of each kind
	Last     string   // the last day
	Needed   string   // product for the whole plan, "" if it takes none
	Shelf    string   // what is there of it
	BuyBy    []string // how much is missing and by when
	Over     string   // when it is likely over, "" if the aim is not reached
	Dates    []CourseDay
	Limits   []string // what kept it from being shorter
	Blocked  string   // the limit that makes it impossible
	Relax    []string // what could be relaxed, what the household could change
	Accepted bool
}

// Plans compares the plans and lets the household take one.
func Plans(t *texts.Catalogue, v PlansView) h.Node {
	p := t.Plans
	return screen("plans",
		heading(p.Title, t.Common.Dotted(v.Name, t.Format.Plants(v.Plants)), backTo(OutbreakRoute(v.Outbreak), v.Name)),
		problem(v.Problem),
		h.If(v.Aim != "", h.P(h.Text(v.Aim))),
		planChoices(t, v),
		h.Div(h.ID(IDPlans), PlanCards(t, v)),
		goTo("plain", CourseRoute(v.Outbreak), p.OwnCourse))
}

func planChoices(t *texts.Catalogue, v PlansView) h.Node {
	p := t.Plans
	change := h.Data("change", ActPlanChoices)
	return form(ActPlanChoices, class("card choices"), hidden("outbreak", v.Outbreak),
		h.FieldSet(h.Legend(h.Text(p.Choices)), h.P(class("hint"), h.Text(p.ChoicesHint)),
			tick("pc-children", "children", p.Children, p.ChildrenHint, v.Choices.Children, change),
			tick("pc-pets", "pets", p.Pets, p.PetsHint, v.Choices.Pets, change),
			tick("pc-chemicals", "nochemicals", p.NoChemicals, p.NoChemHint, v.Choices.NoChemicals, change)))
}

// PlanCards is the part that follows the choices and the work that goes on.
func PlanCards(t *texts.Catalogue, v PlansView) h.Node {
	p := t.Plans
	return h.Div(class("col"),
		h.Iff(v.Progress != nil, func() h.Node { return working(t, v.Outbreak, p.Working, *v.Progress) }),
		h.If(v.Stopped, h.Div(class("card"), h.P(h.Text(p.Stopped)), button("plain", t.Ahead.GoOn, act(ActWorkOut, "outbreak", v.Outbreak)))),
		h.If(len(v.Plans) == 0 && v.Progress == nil && !v.Stopped,
			empty("course", p.NoneTitle, p.None, button("main", t.Ahead.GoOn, act(ActWorkOut, "outbreak", v.Outbreak)))),
		h.If(len(v.Held) > 0, notice("info", h.Map(v.Held, func(s string) h.Node { return h.P(h.Text(s)) }))),
		h.Div(class("cards three"), h.Map(v.Plans, func(c PlanCard) h.Node { return planCard(t, v, c) })),
		h.If(len(v.Cautions) > 0, section(t.Confirm.CautionsTitle, bullets(v.Cautions))),
		h.Div(class("folds"),
			h.If(len(v.Refused) > 0, fold("pn-refused", "bottle", p.RefusedTitle, bullets(v.Refused))),
			h.If(len(v.Assumptions) > 0, grounds(t, "pn-why", v.Basis, v.Assumptions))))
}

func planCard(t *texts.Catalogue, v PlansView, c PlanCard) h.Node {
	p, id := t.Plans, "pn-"+c.Option
	if c.Blocked != "" {
		return h.Article(class("card plan off"), h.Aria("labelledby", id), h.H2(h.ID(id), h.Text(c.Title)),
			notice("stop", h.P(class("strong"), h.Text(p.Blocked)), h.P(h.Text(c.Blocked))),
			h.If(len(c.Relax) > 0, h.Group{h.H3(h.Text(p.Relax)), bullets(c.Relax)}))
	}
	return h.Article(class("card plan"), h.Aria("labelledby", id),
		h.Div(h.H2(h.ID(id), h.Text(c.Title)), h.If(c.Lead != "", h.P(class("small"), h.Text(c.Lead)))),
		planChance(t, c.Chance, v.Target),
		h.Dl(class("facts"), pair(p.Applications, c.Count), pair(p.Last, c.Last), pair(p.Over, c.Over), pair(p.Needed, c.Needed), pair(p.Shelf, c.Shelf)),
		h.If(len(c.BuyBy) > 0, notice("care", h.Map(c.BuyBy, func(s string) h.Node { return h.P(h.Text(s)) }))),
		planButton(t, v, c, id),
		h.Div(class("folds"),
			h.If(len(c.Dates) > 0, fold(id+"-dates", "today", p.Dates(len(c.Dates)), h.Ol(class("plandates"), h.Map(c.Dates, func(d CourseDay) h.Node { return planDate(t, d) })))),
			h.If(len(c.Limits) > 0, fold(id+"-limits", "stop", p.Limits, bullets(c.Limits), h.If(len(c.Relax) > 0, h.Group{h.H3(h.Text(p.Relax)), bullets(c.Relax)})))))
}

// planChance says how good the chance is by number, word, bar, and whether it
// reaches the aim.
func planChance(t *texts.Catalogue, p, aim float64) h.Node {
	shape, words := "due-done", t.Plans.Reaches(t.Ahead.Percent(aim))
	if p < aim {
		shape, words = "care", t.Plans.Misses(t.Ahead.Percent(aim))
	}
	return h.Div(class("chance"),
		chanceWords(t, p, t.Plans.ChanceOf),
		level("", p, aim),
		h.If(aim > 0, h.P(class("reach "+shape), icon(shape), h.Span(h.Text(words)))))
}

// chanceWords is a chance as a number and as a word, with what it is a chance of.
func chanceWords(t *texts.Catalogue, p float64, of string) h.Node {
	return h.Div(h.P(class("line"), h.Span(class("amount"), h.Text(t.Ahead.Percent(chance(p)))), h.Span(class("grow"), h.Text(t.Ahead.Chance(chance(p))))),
		h.P(class("small"), h.Text(of)))
}

// planButton takes a plan. One that stays below the aim can be taken too, but it
// is not put forward.
func planButton(t *texts.Catalogue, v PlansView, c PlanCard, id string) h.Node {
	if c.Accepted {
		return h.P(class("claim"), icon("due-done"), h.Span(h.Text(t.Plans.Accepted)))
	}
	kind := "main"
	if c.Chance < v.Target {
		kind = "plain"
	}
	return button(kind, t.Plans.Accept, act(ActAcceptPlan, "outbreak", v.Outbreak, "option", c.Option), h.Aria("describedby", id))
}

func planDate(t *texts.Catalogue, d CourseDay) h.Node {
	return h.Li(h.Span(class("kind k-"+string(d.Kind)), icon(string(d.Kind))),
		h.Div(class("grow"), h.P(class("strong"), h.Text(d.Date)), h.P(h.Text(d.What)), h.If(d.Why != "", h.P(class("small"), h.Text(t.Outbreak.WhyDate(d.Why))))))
}

// ProposalView says that the accepted plan no longer does what it was taken for.
type ProposalView struct {
	Title    string
	Reason   string // what changed, such as counts or a missed day
	Was, Now float64
}

func proposal(t *texts.Catalogue, outbreak string, v ProposalView) h.Node {
	p := t.Plans
	return notice("care", h.P(class("strong"), h.Text(v.Title)), h.P(h.Text(v.Reason)),
		h.P(h.Text(p.ProposalChance(t.Ahead.Percent(chance(v.Was)), t.Ahead.Percent(chance(v.Now))))),
		goTo("plain", PlansRoute(outbreak), p.SeeOthers))
}
