package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// ForecastView is what is expected of an outbreak, day by day. It holds numbers,
// since it is drawn; the words about them are made by Forecast.
type ForecastView struct {
	Outbreak    string
	Summary     string // the picture in one or two sentences
	Unit        string // what is counted and on which plants
	Days        []ForecastDay
	Marks       []ForecastMark
	Counted     []ForecastPoint
	Today       model.Date
	Basis       string // runs and repeat number
	Assumptions []string
	Progress    *ProgressView // while it is being worked out
	Stopped     bool          // somebody stopped it; Days may hold what there was
	Problem     string        // why there is none
}

// ForecastDay is one day of a forecast, without gaps between the days. Stage is
// the middle total of all runs shared out by life stage, so that the four add up
// to it. Low and High are the 10th and 90th of a hundred runs of the total.
type ForecastDay struct {
	Date      model.Date
	Stage     [4]float64
	Low, High float64
}

// ForecastMark is a day on which something is done, or was.
type ForecastMark struct {
	Date model.Date
	What string
	Kind TaskKind
	Done bool
}

// ForecastPoint is what was counted on a day, scaled to what the picture counts.
type ForecastPoint struct {
	Date  model.Date
	Count float64
}

// total is the sum of the first n stages.
func (d ForecastDay) total(n int) (sum float64) {
	for _, f := range d.Stage[:n] {
		sum += finite(f)
	}
	return sum
}

func (d ForecastDay) all() float64 { return d.total(len(d.Stage)) }

func (v ForecastView) span() span { return span{v.Days[0].Date, v.Days[len(v.Days)-1].Date} }

// within keeps the marks and counts that lie inside the picture.
func (v ForecastView) within() (marks []ForecastMark, counted []ForecastPoint) {
	s := v.span()
	for _, m := range v.Marks {
		if s.has(m.Date) {
			marks = append(marks, m)
		}
	}
	for _, p := range v.Counted {
		if s.has(p.Date) {
			counted = append(counted, p)
		}
	}
	return marks, counted
}

// peak is the day with the most animals, the first of several.
func (v ForecastView) peak() ForecastDay {
	best := v.Days[0]
	for _, d := range v.Days {
		if d.all() > best.all() {
			best = d
		}
	}
	return best
}

// Forecast is the picture with its legend, its data as a table, and what it
// rests on. It is swapped on its own when counts come in.
func Forecast(t *texts.Catalogue, v ForecastView) h.Node {
	f := t.Forecast
	return section(f.Title,
		h.If(v.Problem != "", notice("info", h.P(h.Text(v.Problem)))),
		h.Iff(v.Progress != nil, func() h.Node { return working(t, v.Outbreak, f.Working, *v.Progress) }),
		h.If(v.Stopped, h.Div(class("card"), h.P(h.Text(f.Stopped)), button("plain", t.Ahead.GoOn, act(ActWorkOut, "outbreak", v.Outbreak)))),
		h.Iff(len(v.Days) > 0, func() h.Node { return forecastCard(t, v) }))
}

func forecastCard(t *texts.Catalogue, v ForecastView) h.Node {
	f := t.Forecast
	marks, _ := v.within()
	return h.Div(class("card"),
		h.If(v.Summary != "", h.P(h.Text(v.Summary))),
		h.Figure(class("picture"), h.P(class("small"), h.Text(v.Unit)), forecastChart(t, v), forecastLegend(t, v), beyond(t, v)),
		h.Div(class("folds"),
			h.If(len(marks) > 0, fold("fc-marks", "today", t.Outbreak.Counted(f.Marks, len(marks)),
				h.Div(class("marks"), h.Ol(numbered(marks, func(i int, m ForecastMark) h.Node { return markRow(t, i, m) }))))),
			fold("fc-table", "table", f.Table, forecastTable(t, v)),
			grounds(t, "fc-why", v.Basis, v.Assumptions)))
}

// beyond says how high the band goes where the picture had to cut it off.
func beyond(t *texts.Catalogue, v ForecastView) h.Node {
	widest := v.Days[0]
	for _, d := range v.Days {
		if finite(d.High) > finite(widest.High) {
			widest = d
		}
	}
	if _, top := steps(v.most()); finite(widest.High) <= top {
		return nil
	}
	return h.P(class("small"), h.Text(t.Forecast.Beyond(t.Ahead.Number(finite(widest.High)), t.Format.Day(widest.Date))))
}

// forecastLegend repeats each fill and shape beside its word.
func forecastLegend(t *texts.Catalogue, v ForecastView) h.Node {
	f := t.Forecast
	_, counted := v.within()
	return h.Ul(class("legend"),
		h.Map(texts.Stages, func(s model.Stage) h.Node {
			return legendKey(t.Words.Stage[s], stageFill(int(s), "M1 1H21V13H1Z"))
		}),
		legendKey(f.Middle, segment("middle", 1, 7, 21, 7)),
		legendKey(f.Band, path("band", "M1 2H21V12H1Z"), path("edge", "M1 2H21M1 12H21")),
		h.If(len(counted) > 0, legendKey(f.Counted, path("counted", diamond(11, 7)))))
}

// legendKey is a fill or a shape of a picture beside its word.
func legendKey(words string, children ...h.Node) h.Node {
	return h.Li(drawing("swatch", "0 0 22 14", children...), h.Span(h.Text(words)))
}

func markRow(t *texts.Catalogue, i int, m ForecastMark) h.Node {
	state := ""
	if m.Done {
		state = t.Forecast.Done
	}
	return h.Li(drawing("swatch badge", "0 0 20 20", badge(10, 10, i, m)), h.Span(class("day"), h.Text(t.Format.Day(m.Date))),
		h.Span(class("grow"), h.Text(t.Common.Dotted(m.What, state))))
}

// forecastTable is the data of the picture, with what was done and counted under
// the day's name.
func forecastTable(t *texts.Catalogue, v ForecastView) h.Node {
	f, w := t.Forecast, t.Words.Stage
	marks, counted := v.within()
	notes := map[model.Date][]string{}
	for _, m := range marks {
		notes[m.Date] = append(notes[m.Date], m.What)
	}
	for _, p := range counted {
		notes[p.Date] = append(notes[p.Date], f.CountedOn(t.Ahead.Number(finite(p.Count))))
	}
	cell := func(words string) h.Node { return h.Td(h.Text(words)) }
	body := make([]h.Node, len(v.Days))
	for i, d := range v.Days {
		body[i] = h.Tr(h.Th(h.Attr("scope", "row"), h.Text(t.Format.Day(d.Date)), h.Map(notes[d.Date], func(s string) h.Node { return h.Span(class("small"), h.Text(s)) })),
			cell(t.Ahead.Number(d.all())), cell(t.Ahead.Span(t.Ahead.Number(finite(d.Low)), t.Ahead.Number(finite(d.High)))),
			h.Map(d.Stage[:], func(n float64) h.Node { return cell(t.Ahead.Number(finite(n))) }))
	}
	return table("fc-data", f.ChartTitle, []string{f.Day, f.Total, f.Spread, w[model.Eggs], w[model.Young], w[model.Resting], w[model.Adults]}, body)
}
