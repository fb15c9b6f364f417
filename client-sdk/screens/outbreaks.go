package screens

import (
	"slices"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// OutbreaksView lists the running outbreaks and the ended ones.
type OutbreaksView struct {
	Sample bool
	Open   []OutbreakRow
	Ended  []OutbreakRow
}

// OutbreakRow is an outbreak in a list.
type OutbreakRow struct {
	ID     string
	Name   string // the pest, in words
	Since  string
	Plants int
	Next   string // what comes next and when
}

// Outbreaks is the fourth of the five places.
func Outbreaks(t *texts.Catalogue, v OutbreaksView) h.Node {
	o := t.Outbreaks
	return screen("outbreaks",
		heading(o.Title, "", nil),
		sampleNotice(t, v.Sample),
		h.If(len(v.Open) == 0, empty("st-clear", o.NoneTitle, o.None, goTo("plain", RouteRound, o.ToRound))),
		h.If(len(v.Open) > 0, section(o.Running, outbreakRows(t, v.Open))),
		h.If(len(v.Ended) > 0, section(o.Ended, outbreakRows(t, v.Ended))))
}

func outbreakRows(t *texts.Catalogue, rows []OutbreakRow) h.Node {
	return h.Ul(class("rows"), h.Map(rows, func(r OutbreakRow) h.Node {
		return h.Li(h.A(h.Href(OutbreakRoute(r.ID)), class("row"), h.Span(class("kind k-outbreak"), icon("outbreaks")),
			h.Span(class("grow"), h.Span(class("strong"), h.Text(r.Name)),
				h.Span(class("small"), h.Text(t.Common.Dotted(t.Format.Plants(r.Plants), r.Since))),
				h.If(r.Next != "", h.Span(class("small"), h.Text(r.Next)))),
			icon("next")))
	}))
}

// OutbreakView is one outbreak's page.
type OutbreakView struct {
	ID           string
	Name         string
	Pest         model.Pest
	Since        string
	Ended        string // when it was closed, "" while it runs
	Plants       []PlantRow
	Course       *CourseView
	Plans        bool // plans can be compared; a course by hand is still possible
	Proposal     *ProposalView
	Forecast     *ForecastView
	Clear        *ClearView
	Trace        *TraceView
	Findings     []TimelineDay
	Applications []TimelineDay
	CanClose     bool
	Guest        bool // this phone decides nothing about it
}

// CourseView is an accepted course as a calendar.
type CourseView struct {
	Summary string // product, how many, how far apart
	Basis   string // what the interval rests on
	By      string // who accepted it and when
	Days    []CourseDay
}

// CourseDay is a day of a course.
type CourseDay struct {
	Date  string
	What  string
	Kind  TaskKind
	State texts.DueState
	Words string // the state in words: done by whom, due, later
	Why   string // why this date
}

// Outbreak answers what a worried person asks, in that order: what to do next, how bad
// it will be, whether it works, whether it is over, and who else may have it. What was
// done and found stands below, folded.
func Outbreak(t *texts.Catalogue, v OutbreakView) h.Node {
	o := t.Outbreak
	return screen("outbreak",
		heading(v.Name, t.Common.Dotted(v.Since, t.Format.Plants(len(v.Plants))), backTo(RouteOutbreaks, t.Bar.Outbreaks)),
		h.If(v.Ended != "", notice("info", h.P(h.Text(v.Ended)))),
		h.Iff(v.Proposal != nil && v.Ended == "", func() h.Node { return proposal(t, v.ID, *v.Proposal) }),
		h.Div(class("cols"),
			h.Div(class("col"),
				h.If(v.Ended == "", nextPart(t, v)),
				h.Iff(v.Forecast != nil, func() h.Node { return h.Div(h.ID(IDForecast), Forecast(t, *v.Forecast)) }),
				h.Iff(v.Clear != nil, func() h.Node { return h.Div(h.ID(IDClear), class("col"), Clear(t, *v.Clear)) })),
			h.Div(class("col"),
				section(o.Plants, plantRows(t, v.Plants)),
				h.Iff(v.Trace != nil, func() h.Node { return TraceOn(t, *v.Trace) }),
				h.Div(class("folds"),
					h.Iff(v.Course != nil, func() h.Node { return courseFold(t, *v.Course) }),
					historyFold(t, "ob-treated", "bottle", o.Applications, o.NoApplications, v.Applications),
					historyFold(t, "ob-found", "look", o.Findings, o.NoFindings, v.Findings),
					h.Iff(v.Trace != nil, func() h.Node {
						return fold("ob-trace", "why", o.Counted(t.Trace.Title, len(v.Trace.Fits)), TraceBack(t, *v.Trace))
					}),
					outbreakChange(t, v)))))
}

// nextPart is the next thing to do, or the way to a plan.
func nextPart(t *texts.Catalogue, v OutbreakView) h.Node {
	o := t.Outbreak
	if v.Course == nil {
		return section(o.Next, empty("course", o.NoCourseTitle, o.NoCourse, h.If(!v.Guest, planLinks(t, v, "main", o.PlanCourse))))
	}
	next := v.Course.next()
	return section(o.Next,
		h.If(len(next) == 0, h.P(h.Text(o.AllDone))),
		h.If(len(next) > 0, h.Ol(class("calendar"), h.Map(next, func(d CourseDay) h.Node { return courseDay(t, d) }))),
		h.If(!v.Guest, planLinks(t, v, "plain", o.ChangeCourse)))
}

// next is what is to be done on the first day that is not done.
func (v *CourseView) next() []CourseDay {
	first := slices.IndexFunc(v.Days, func(d CourseDay) bool { return d.State != texts.Done })
	if first < 0 {
		return nil
	}
	last := first
	for last < len(v.Days) && v.Days[last].Date == v.Days[first].Date && v.Days[last].State != texts.Done {
		last++
	}
	return v.Days[first:last]
}

func courseFold(t *texts.Catalogue, v CourseView) h.Node {
	return fold("ob-course", "course", t.Outbreak.Counted(t.Outbreak.Course, len(v.Days)),
		h.P(h.Text(v.Summary)), h.P(class("small"), h.Text(v.By)), h.P(class("tag"), icon("info"), h.Span(h.Text(v.Basis))),
		h.Ol(class("calendar"), h.Map(v.Days, func(d CourseDay) h.Node { return courseDay(t, d) })))
}

// planLinks lead to the plans where there are any, otherwise to the course by hand.
func planLinks(t *texts.Catalogue, v OutbreakView, kind, words string) h.Node {
	if v.Plans {
		return goTo(kind, PlansRoute(v.ID), t.Plans.Compare)
	}
	return goTo(kind, CourseRoute(v.ID), words)
}

func courseDay(t *texts.Catalogue, d CourseDay) h.Node {
	return h.Li(class("when due-"+string(d.State)),
		h.Div(class("line"), h.Span(class("kind k-"+string(d.Kind)), icon(string(d.Kind))),
			h.Div(class("grow"), h.P(class("date"), h.Text(d.Date)), h.P(class("strong"), h.Text(d.What))), dueState(d.State, d.Words)),
		h.If(d.Why != "", h.P(class("small why"), h.Text(t.Outbreak.WhyDate(d.Why)))))
}

func outbreakChange(t *texts.Catalogue, v OutbreakView) h.Node {
	o := t.Outbreak
	if v.Ended != "" || v.Guest {
		return nil
	}
	return h.Group{
		fold("ob-pest", "outbreaks", o.PestTitle, form(ActSetPest, hidden("outbreak", v.ID), pestField(t, "op-"+v.ID, v.Pest), submit("plain", t.Common.Save))),
		h.If(v.CanClose, fold("ob-close", "due-done", o.CloseTitle, h.P(h.Text(o.CloseWords)), button("plain", o.Close, act(ActCloseOutbreak, "outbreak", v.ID)))),
	}
}

func historyFold(t *texts.Catalogue, id, kind, title, none string, days []TimelineDay) h.Node {
	entries := 0
	for _, d := range days {
		entries += len(d.Entries)
	}
	return fold(id, kind, t.Outbreak.Counted(title, entries), h.If(entries == 0, h.P(class("muted"), h.Text(none))),
		h.Map(days, func(d TimelineDay) h.Node { return timelineDay(t, d) }))
}
