package screens

import (
	"strconv"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// TodayView is what is due, then tomorrow, then the week.
type TodayView struct {
	Date     string // in full, with its weekday
	Sample   bool
	Plants   int  // 0 shows how to begin
	Guest    bool // this phone may not add a plant
	Shown    Shown
	Hidden   int // how many tasks of today are not shown because they are others'
	Breaches []BreachView
	Flags    []FlagView
	Overdue  []Batch
	Due      []Batch
	Done     []DoneView
	Shares   []string // who did how many tasks lately; shown if there are several members
	Tomorrow []Batch
	Week     []DayView
}

// Shown is whose tasks Today shows; "" where there is no choice.
type Shown string

// The choices.
const (
	ShowMine      Shown = "mine"
	ShowEverybody Shown = "all"
)

// DayView is one later day of the week.
type DayView struct {
	Date    string
	Batches []Batch
}

// Batch is tasks that share a product and a place and so one mixing amount. A
// task that stands alone is a batch of one without Mix.
type Batch struct {
	ID      string // for ConfirmRoute
	Product string
	Place   string
	Mix     string // the whole amount to mix, "" if there is nothing to mix
	MixHow  string // how it is made up, from the label's rate
	Tasks   []TaskView
}

// TaskView is one task.
type TaskView struct {
	ID       string
	Kind     TaskKind
	Action   string // what to do, in words
	Plants   []Named
	Place    string
	Product  string
	Amount   string
	State    texts.DueState
	DueWords string // today, or since when, or when
	Claim    string // who has taken it, until when; "" if nobody
	Mine     bool   // taken by the person who looks
	Blocked  string // why it cannot be done yet, such as a re-entry time
	Open     string // where to go instead of Done, such as a round
	Cautions []string
	Why      []string // the inputs of the date and where they come from
	PutOff   []Named  // days to choose from for Not today, as dates
	Water    string   // the place that can be noted as watered, for a round
	Later    bool     // not due yet: can be looked at and taken, not done
}

// TaskKind picks the drawing and how Done works.
type TaskKind string

// The kinds of tasks. A spray, and what goes into the soil, is confirmed on its own screen.
const (
	TaskRound   TaskKind = "round"
	TaskSpray   TaskKind = "spray"
	TaskCheck   TaskKind = "look"
	TaskIsolate TaskKind = "apart"
	TaskSoil    TaskKind = "soil"
	TaskWash    TaskKind = "wash"
	TaskTryLeaf TaskKind = "leaf"
	TaskSticky  TaskKind = "card"
	TaskBuy     TaskKind = "buy"
	TaskMeasure TaskKind = "camera"
)

// DoneView is a task that was done today.
type DoneView struct {
	Action string
	Plants string
	By     string // who and when
	Mine   bool
}

// FlagView is a treatment that two people both noted.
type FlagView struct {
	Task     string
	Action   string
	Plants   string
	Times    []FlagTime
	Meaning  string // what it means for the limits
	NextDate string // when the next one may be, both counted
	Fact     string // the note to withdraw if it was one spray, "" if this phone may not
}

// FlagTime is one of the notes behind a flag.
type FlagTime struct{ By, When string }

// BreachView is a limit of a label that was not kept.
type BreachView struct {
	Product string
	Plants  string
	Words   string // which limit
	Label   string // its figure
	Times   []FlagTime
	Next    string // when the next application may be, "" if that is no question
}

// Today is the first of the five places.
func Today(t *texts.Catalogue, v TodayView) h.Node {
	d := t.Today
	nothing := len(v.Overdue)+len(v.Due) == 0
	return screen("today",
		heading(d.Title, v.Date, nil),
		glance(t, v.Tomorrow),
		sampleNotice(t, v.Sample),
		h.Map(v.Breaches, func(x BreachView) h.Node { return breach(t, x) }),
		h.Map(v.Flags, func(f FlagView) h.Node { return flag(t, f) }),
		h.If(v.Plants == 0, empty("plants", d.NoPlantsTitle, d.NoPlants, h.If(!v.Guest, goTo("main", RouteNewPlant, d.AddPlant)))),
		whoseShown(t, v.Shown),
		h.Div(class("cols"),
			h.Div(class("col"),
				taskPart(t, d.Overdue, v.Overdue),
				taskPart(t, d.Due, v.Due),
				h.If(nothing && v.Hidden > 0, empty("person", t.Reminders.Mine, t.Reminders.NoneMine)),
				h.If(nothing && v.Guest, h.P(class("muted"), h.Text(t.Reminders.NoneGuest))),
				h.If(nothing && v.Hidden == 0 && v.Plants > 0 && !v.Guest, empty("due-done", d.AllDoneTitle, d.AllDone)),
				donePart(t, v.Done),
				h.If(len(v.Shares) > 1, fold("shares", "person", t.Tasks.Shares, bullets(v.Shares)))),
			h.Div(class("col"),
				section(d.Tomorrow, h.If(len(v.Tomorrow) == 0, h.P(class("muted"), h.Text(d.TomorrowFree))), batches(t, v.Tomorrow)),
				weekPart(t, v.Week))))
}

// whoseShown chooses between a person's own tasks and everybody's.
func whoseShown(t *texts.Catalogue, shown Shown) h.Node {
	if shown == "" {
		return nil
	}
	r := t.Reminders
	choice := func(s Shown, label string) h.Node {
		return h.Button(h.Type("button"), h.ID("show-"+string(s)), class("btn plain"), act(ActShow, "whose", string(s)), h.Aria("pressed", strconv.FormatBool(s == shown)), h.Text(label))
	}
	return h.Div(class("pairrow"), h.Role("group"), h.Aria("label", r.WhoseShown), choice(ShowMine, r.Mine), choice(ShowEverybody, r.Everybody))
}

// glance says at the top what tomorrow brings, so that nobody has to scroll.
func glance(t *texts.Catalogue, tomorrow []Batch) h.Node {
	var work []string
	for _, b := range tomorrow {
		for _, v := range b.Tasks {
			work = append(work, t.Today.Brief(v.Action, v.Place))
		}
	}
	return h.If(len(work) > 0, h.P(class("glance"), icon("due-soon"), h.Span(h.Strong(h.Text(t.Today.Tomorrow)), h.Text(" "+t.Format.List(work)))))
}

func taskPart(t *texts.Catalogue, title string, list []Batch) h.Node {
	return h.If(len(list) > 0, section(title, batches(t, list)))
}

func batches(t *texts.Catalogue, list []Batch) h.Node {
	return h.If(len(list) > 0, cards(h.Map(list, func(b Batch) h.Node { return batch(t, b) })))
}

func batch(t *texts.Catalogue, b Batch) h.Node {
	if b.Mix == "" || len(b.Tasks) < 2 {
		return h.Map(b.Tasks, func(v TaskView) h.Node { return TaskCard(t, v) })
	}
	tasks := h.Map(b.Tasks, func(v TaskView) h.Node {
		v.Place, v.Product = "", "" // the batch has said them
		return TaskCard(t, v)
	})
	return h.Div(class("batch"),
		h.Div(class("mix"), icon("bottle"), h.Div(
			h.P(class("small"), h.Text(t.Today.MixOnce(b.Product, b.Place))),
			h.P(class("amount"), h.Text(b.Mix)),
			h.If(b.MixHow != "", h.P(class("small"), h.Text(b.MixHow))))),
		h.If(!b.Tasks[0].Later, goTo("main", ConfirmRoute(b.ID), t.Today.AllTogether(len(b.Tasks)))),
		tasks)
}

// TaskCard is one task. It is swapped on its own when it is claimed, put off
// or done.
func TaskCard(t *texts.Catalogue, v TaskView) h.Node {
	return h.Article(h.ID(TaskCardID(v.ID)), class("card task"), h.Aria("labelledby", "th-"+v.ID),
		h.Div(class("line"), h.Span(class("kind k-"+string(v.Kind)), icon(string(v.Kind))),
			h.Div(class("grow"), h.H3(h.ID("th-"+v.ID), h.Text(v.Action)),
				h.P(class("under-title"), h.If(v.Place != "", h.Span(class("small"), h.Text(v.Place))), dueState(v.State, v.DueWords)))),
		plantChips(v.Plants),
		h.Dl(class("facts"), pair(t.Today.Product, v.Product), pair(t.Today.Amount, v.Amount)),
		h.If(v.Claim != "", h.P(class("claim"), icon("person"), h.Span(h.Text(v.Claim)))),
		h.If(v.Blocked != "", notice("stop", h.P(h.Text(v.Blocked)))),
		taskButtons(t, v),
		h.Div(class("folds"),
			h.If(len(v.Cautions) > 0, fold("tc-"+v.ID, "care", t.Today.Cautions, bullets(v.Cautions))),
			h.If(len(v.Why) > 0, fold("tw-"+v.ID, "why", t.Today.Why, bullets(v.Why))),
			h.If(len(v.PutOff) > 0 && !v.Later, fold("tp-"+v.ID, "later", t.Today.NotToday, putOffForm(t, v)))))
}

func plantChips(plants []Named) h.Node {
	return h.If(len(plants) > 0, h.Ul(class("chips"), h.Map(plants, func(p Named) h.Node {
		return h.Li(h.A(h.Href(PlantRoute(p.ID)), h.Span(h.Text(p.Name))))
	})))
}

func taskButtons(t *texts.Catalogue, v TaskView) h.Node {
	about := h.Aria("describedby", "th-"+v.ID)
	claim := button("plain", t.Today.Claim, act(ActClaim, "task", v.ID), about)
	if v.Mine {
		claim = button("plain", t.Tasks.GiveBack, act(ActGiveBack, "task", v.ID), about)
	}
	if v.Later {
		return h.Div(class("acts"), claim)
	}
	return h.Div(class("acts"), h.If(v.Blocked == "", doneButton(t, v, about)), claim, h.If(v.Water != "", button("plain", t.Tasks.Watered, act(ActWater, "place", v.Water), about)))
}

func doneButton(t *texts.Catalogue, v TaskView, about h.Node) h.Node {
	switch {
	case v.Open != "":
		return goTo("main", v.Open, t.Today.Begin, about)
	case v.Kind == TaskSpray, v.Kind == TaskSoil:
		return goTo("main", ConfirmRoute(v.ID), t.Today.Done, about)
	}
	return button("main", t.Today.Done, act(ActTaskDone, "task", v.ID), about)
}

func putOffForm(t *texts.Catalogue, v TaskView) h.Node {
	reasons := make([]option, len(texts.Reasons))
	for i, r := range texts.Reasons {
		reasons[i] = option{value: intText(int(r)), label: t.Words.PutOffReason[r], on: i == 0}
	}
	days := make([]option, len(v.PutOff))
	for i, d := range v.PutOff {
		days[i] = option{value: d.ID, label: d.Name, on: i == 0}
	}
	return form(ActPutOff, hidden("task", v.ID),
		pills("radio", "pr-"+v.ID, "reason", t.Today.WhyNot, reasons),
		pills("radio", "pd-"+v.ID, "until", t.Today.Until, days),
		submit("plain", t.Today.PutOff))
}

func donePart(t *texts.Catalogue, list []DoneView) h.Node {
	return h.If(len(list) > 0, section(t.Today.DoneToday, h.Ul(class("rows"), h.Map(list, func(d DoneView) h.Node {
		return h.Li(class("row done"), icon("due-done"), h.Div(class("grow"),
			h.P(class("strong"), h.Text(d.Action)), h.P(class("small"), h.Text(d.Plants))), h.P(class("small by"), h.Text(d.By)))
	}))))
}

func weekPart(t *texts.Catalogue, days []DayView) h.Node {
	return section(t.Today.Week,
		h.If(len(days) == 0, h.P(class("muted"), h.Text(t.Today.WeekFree))),
		h.If(len(days) > 0, h.Ul(class("rows week"), h.Map(days, func(d DayView) h.Node {
			return h.Li(class("row"), h.P(class("date"), h.Text(d.Date)), h.Ul(class("grow"), h.Map(d.Batches, func(b Batch) h.Node {
				return h.Map(b.Tasks, func(v TaskView) h.Node {
					return h.Li(h.Details(h.ID("ww-"+v.ID), class("fold"),
						h.Summary(h.Span(class("kind k-"+string(v.Kind)), icon(string(v.Kind))), h.Span(h.Text(t.Today.Brief(v.Action, v.Place)))),
						h.Div(class("in"), bullets(v.Why))))
				})
			})))
		}))))
}

// flag asks a person to say what really happened. Until then both count.
func flag(t *texts.Catalogue, f FlagView) h.Node {
	return h.Section(class("card flag"), h.Aria("labelledby", "fh-"+f.Task),
		h.Div(class("line"), h.Span(class("kind k-double"), icon("double")), h.Div(class("grow"),
			h.H2(h.ID("fh-"+f.Task), h.Text(t.Today.FlagTitle)), h.P(class("small"), h.Text(f.Action)))),
		h.Ul(class("rows"), h.Map(f.Times, func(x FlagTime) h.Node {
			return h.Li(class("row"), icon("person"), h.Span(class("grow"), h.Text(x.By)), h.Span(class("small"), h.Text(x.When)))
		})),
		h.P(h.Text(f.Plants)),
		h.P(h.Text(f.Meaning)),
		h.If(f.NextDate != "", h.P(class("strong"), h.Text(f.NextDate))),
		h.Div(class("acts stack"),
			h.If(f.Fact != "", button("plain", t.Today.FlagOne, act(ActSettle, "task", f.Task, "how", "one", "fact", f.Fact))),
			button("plain", t.Today.FlagBoth, act(ActSettle, "task", f.Task, "how", "both"))))
}

// breach tells what was not kept and what helps now. Nothing about it can be undone.
func breach(t *texts.Catalogue, x BreachView) h.Node {
	return notice("stop",
		h.P(class("strong"), h.Text(t.Tasks.BreachTitle)),
		h.P(h.Text(t.Common.Dotted(x.Product, x.Plants))),
		h.P(h.Text(x.Words+" "+x.Label)),
		h.Ul(class("rows"), h.Map(x.Times, func(f FlagTime) h.Node {
			return h.Li(class("row"), icon("person"), h.Span(class("grow"), h.Text(f.By)), h.Span(class("small"), h.Text(f.When)))
		})),
		h.P(h.Text(t.Tasks.BreachNow)),
		h.If(x.Next != "", h.P(class("strong"), h.Text(x.Next))))
}
