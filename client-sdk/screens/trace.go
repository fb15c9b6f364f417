package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// TraceView is where a pest may have come from, and where it may have gone.
type TraceView struct {
	From, To model.Date // the likely time in which it came in
	Why      string     // what that time rests on
	Found    model.Date // when it was first found
	Fits     []TraceFit // the best fit first
	LookAt   []TracePlant
	Warn     []TraceWarning
	Basis    string
}

// TraceFit is an event of the household that fits the time.
type TraceFit struct {
	Date  model.Date
	Title string
	Why   string
	Plant Named // "" for the ID where there is nothing to link to
}

// TracePlant is a plant to look at because of what fits.
type TracePlant struct {
	Plant Named
	Place string
	Why   string
}

// TraceWarning is somebody outside who would want to know.
type TraceWarning struct{ Who, Why string }

// TraceBack is when the pest came in, and with what.
func TraceBack(t *texts.Catalogue, v TraceView) h.Node {
	c := t.Trace
	return h.Group{
		h.P(class("strong"), h.Text(c.Window(t.Format.Day(v.From), t.Format.Day(v.To)))),
		h.If(v.Why != "", h.P(class("small"), h.Text(v.Why))),
		h.Figure(class("picture"), traceChart(t, v), h.Ul(class("legend trace"), legendKey(t.Trace.WindowShort, box("window", 1, 1, 20, 12, 2)))),
		h.H3(h.Text(c.Fits)),
		h.If(len(v.Fits) == 0, h.P(class("muted"), h.Text(c.NoFits))),
		h.If(len(v.Fits) > 0, h.Ol(class("fits"), numbered(v.Fits, func(i int, f TraceFit) h.Node { return traceFit(t, i, f) }))),
		h.If(len(v.Fits) > 0, h.P(class("tag"), icon("info"), h.Span(h.Text(c.Note)))),
		h.If(v.Basis != "", h.P(class("small"), h.Text(v.Basis))),
	}
}

// TraceOn is the plants and people that may have it from here.
func TraceOn(t *texts.Catalogue, v TraceView) h.Node {
	c := t.Trace
	return h.Group{
		h.If(len(v.LookAt) > 0, section(c.LookAt, h.Ul(class("rows"), h.Map(v.LookAt, func(p TracePlant) h.Node {
			return plantToSee(t, p.Plant, p.Place, p.Why)
		})))),
		h.If(len(v.Warn) > 0, section(c.Warn, h.Ul(class("rows"), h.Map(v.Warn, func(w TraceWarning) h.Node {
			return h.Li(class("row"), h.Span(class("kind"), icon("person")), h.Div(class("grow"), h.P(class("strong"), h.Text(w.Who)), h.P(class("small"), h.Text(w.Why))))
		})))),
	}
}

func traceFit(t *texts.Catalogue, i int, f TraceFit) h.Node {
	title := h.Text(f.Title)
	if f.Plant.ID != "" {
		title = h.A(h.Href(PlantRoute(f.Plant.ID)), class("alone"), h.Text(f.Title))
	}
	return h.Li(drawing("swatch badge", "0 0 20 20", eventBadge(10, 10, i)),
		h.Div(class("grow"), h.P(class("strong"), title), h.P(class("small"), h.Text(t.Common.Dotted(t.Format.Day(f.Date), f.Why)))))
}

// plantToSee is a row that leads to a plant and says why.
func plantToSee(t *texts.Catalogue, p Named, place, why string) h.Node {
	return h.Li(h.A(h.Href(PlantRoute(p.ID)), class("row"), h.Span(class("kind k-look"), icon("look")),
		h.Span(class("grow"), h.Span(class("strong"), h.Text(p.Name)), h.If(place != "", h.Span(class("small"), h.Text(place))), h.Span(class("small"), h.Text(why))), icon("next")))
}

// span is the days that the picture shows: the likely time, all that fits it and
// the day it was found, with some days around them.
func (v TraceView) span() span {
	s := span{v.From, max(v.To, v.Found)}
	for _, f := range v.Fits {
		s.from, s.to = min(s.from, f.Date), max(s.to, f.Date)
	}
	around := max(s.days()/12, 1)
	return span{s.from.Add(-around), s.to.Add(around)}
}

// traceChart is the likely time as a band on a line of days, with the events that
// fit it and the day of the finding.
func traceChart(t *texts.Catalogue, v TraceView) h.Node {
	s := v.span()
	marks := make([]ForecastMark, len(v.Fits))
	for i, f := range v.Fits {
		marks[i].Date = f.Date
	}
	rows, used := markRows(s, marks)
	top := todayRow + badgeRow*float64(used) + 3
	base := top + 26
	return chart("trace", "tc", t.Trace.ChartTitle, t.Trace.Drawn(t.Format.Day(v.From), t.Format.Day(v.To), len(v.Fits)), base+axisHeight,
		box("window", s.x(v.From), top, max(s.x(v.To)-s.x(v.From), 2), base-top, 3),
		h.G(class("today"), segment("", s.x(v.Found), todayRow-4, s.x(v.Found), base), label("", "middle", s.x(v.Found), todayRow-7, t.Trace.Found)),
		numbered(v.Fits, func(i int, f TraceFit) h.Node {
			x, y := s.x(f.Date), top-3-badgeRow*(float64(rows[i])+.5)
			return h.Group{segment("mark past", x, y+8, x, base), eventBadge(x, y, i)}
		}),
		daysAxis(t, s, base))
}

func eventBadge(x, y float64, i int) h.Node {
	return badge(x, y, i, ForecastMark{Done: true})
}
