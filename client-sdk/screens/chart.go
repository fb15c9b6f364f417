package screens

import (
	"math"
	"strconv"
	"strings"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// A chart is drawn on a grid 300 wide, which is what a card leaves on a phone of
// 360 px, so that a unit is about a pixel there.
const (
	chartWidth = 300.0
	plotLeft   = 34.0
	plotRight  = chartWidth - 20
)

// span is the days of a picture from its left edge to its right one.
type span struct{ from, to model.Date }

func (s span) days() int { return max(s.to.Sub(s.from), 1) }

func (s span) has(d model.Date) bool { return d.Sub(s.from) >= 0 && s.to.Sub(d) >= 0 }

func (s span) x(d model.Date) float64 {
	return plotLeft + (plotRight-plotLeft)*float64(d.Sub(s.from))/float64(s.days())
}

// mostLabels is how many days have room for their name beneath a picture.
const mostLabels = 6

// ticks are the days that the axis names: every day, or every so many weeks.
func (s span) ticks() []model.Date {
	every := 1
	for _, every = range []int{1, 2, 7, 14, 28, 56, 112, 182, 364} {
		if s.days()/every <= mostLabels {
			break
		}
	}
	every = max(every, s.days()/mostLabels)
	var out []model.Date
	for d := s.from; s.has(d); d = d.Add(every) {
		out = append(out, d)
	}
	return out
}

// daysAxis is the days along the lower edge, each with its weekday.
func daysAxis(t *texts.Catalogue, s span, y float64) h.Node {
	return h.G(class("axis"), segment("base", plotLeft, y, plotRight, y), h.Map(s.ticks(), func(d model.Date) h.Node {
		x := s.x(d)
		return h.Group{
			segment("notch", x, y, x, y+4),
			label("day", "middle", x, y+16, t.Ahead.Weekday(int(d.Weekday()))),
			label("day", "middle", x, y+29, dayMonth(t, d)),
		}
	}))
}

func dayMonth(t *texts.Catalogue, d model.Date) string {
	u := d.UTC()
	return t.Ahead.DayMonth(u.Day(), int(u.Month()))
}

// steps is a scale from 0 in round steps, at least four of them if there is room
// for whole animals, that ends at or above most.
func steps(most float64) (step, top float64) {
	if most = finite(most); most <= 4 {
		return 1, max(math.Ceil(most), 1)
	}
	size := math.Pow(10, math.Floor(math.Log10(most/4)))
	for _, times := range []float64{1, 2, 5, 10} {
		if step = times * size; step*4 >= most {
			break
		}
	}
	return step, math.Ceil(most/step) * step
}

// finite guards a picture against a number that cannot be drawn.
func finite(n float64) float64 {
	if math.IsNaN(n) || math.IsInf(n, 0) || n < 0 {
		return 0
	}
	return n
}

// chance guards a picture against a chance outside 0 to 1.
func chance(p float64) float64 { return min(finite(p), 1) }

// pt is a coordinate to a tenth of a unit.
func pt(f float64) string { return num(math.Round(f*10) / 10) }

// point is a place in a picture.
type point struct{ x, y float64 }

// trail is path data through points.
func trail(points []point) string {
	var b strings.Builder
	for i, p := range points {
		b.WriteString([]string{"M", "L"}[min(i, 1)] + pt(p.x) + " " + pt(p.y))
	}
	return b.String()
}

// between is path data of the area between two trails that run the same way.
func between(upper, lower []point) string {
	around := append([]point{}, upper...)
	for i := len(lower) - 1; i >= 0; i-- {
		around = append(around, lower[i])
	}
	return trail(around) + "Z"
}

func segment(kind string, x1, y1, x2, y2 float64) h.Node {
	return path(kind, trail([]point{{x1, y1}, {x2, y2}}))
}

// label is words in a picture; at is start, middle or end.
func label(kind, at string, x, y float64, words string) h.Node {
	return h.SvgText(class(kind), h.Attr("text-anchor", at), h.Attr("x", pt(x)), h.Attr("y", pt(y)), h.Text(words))
}

func box(kind string, x, y, width, height, round float64) h.Node {
	return h.Rect(class(kind), h.Attr("x", pt(x)), h.Attr("y", pt(y)), h.Attr("width", pt(width)), h.Attr("height", pt(height)),
		h.If(round > 0, h.Attr("rx", pt(round))))
}

// chart is a picture with a name and a description, so that it says the same to
// people who do not see it.
func chart(kind, id, title, desc string, height float64, children ...h.Node) h.Node {
	return h.Svg(class("chart "+kind), h.Attr("viewBox", "0 0 "+pt(chartWidth)+" "+pt(height)), h.Role("img"),
		h.Aria("labelledby", id+"-title"), h.Aria("describedby", id+"-desc"), h.Attr("focusable", "false"),
		h.Title(h.ID(id+"-title"), h.Text(title)), h.Desc(h.ID(id+"-desc"), h.Text(desc)), h.Group(children))
}

// level is a small bar of a chance, with the line of its aim if there is one. The
// words beside it say the same, so it is hidden from people who do not see it.
func level(kind string, p, aim float64) h.Node {
	return h.Svg(class("level "+kind), h.Attr("viewBox", "0 0 100 8"), h.Attr("preserveAspectRatio", "none"),
		h.Attr("aria-hidden", "true"), h.Attr("focusable", "false"),
		box("filled", 0, 0, 100*chance(p), 8, 0),
		h.If(aim > 0, box("aimed", min(100*chance(aim), 99.2)-.4, 0, .8, 8, 0)))
}

// table is the data of a picture. The first column names the row.
func table(id, title string, head []string, body []h.Node) h.Node {
	return h.Div(class("scroll"), h.TabIndex("0"), h.Role("region"), h.Aria("label", title), h.Table(h.ID(id),
		h.Thead(h.Tr(h.Map(head, func(words string) h.Node { return h.Th(h.Attr("scope", "col"), h.Text(words)) }))),
		h.Tbody(h.Group(body))))
}

// numbered makes a node of each element, with its place in the list.
func numbered[T any](list []T, draw func(int, T) h.Node) h.Group {
	nodes := make(h.Group, len(list))
	for i, one := range list {
		nodes[i] = draw(i, one)
	}
	return nodes
}

// ordinal is the number of a mark in a picture, the first is 1.
func ordinal(i int) string { return strconv.Itoa(i + 1) }

// ProgressView is a piece of work that takes a while. It always says how far it
// is, and it can always be stopped.
type ProgressView struct{ Done, Of int }

// working shows how far the work for an outbreak is.
func working(t *texts.Catalogue, outbreak, words string, p ProgressView) h.Node {
	return h.Div(class("card working"),
		h.Div(h.ID(IDWork), class("col"), Work(t, words, p)),
		button("plain", t.Ahead.Stop, act(ActStopPlans, "outbreak", outbreak)))
}

// Work is how far a piece of work is. It is swapped on its own while the work goes on.
func Work(t *texts.Catalogue, words string, p ProgressView) h.Node {
	return h.Group{
		h.Div(class("line"), h.P(class("strong grow"), h.Text(words)), h.P(class("small"), h.Text(t.Ahead.Tried(p.Done, p.Of)))),
		h.Progress(h.Max(intText(max(p.Of, 1))), h.Value(intText(p.Done)), h.Aria("label", words)),
	}
}

// grounds says what a number rests on: how it can be repeated and what was taken
// for granted.
func grounds(t *texts.Catalogue, id, basis string, assumptions []string) h.Node {
	return h.Group{
		h.If(len(assumptions) > 0, fold(id, "why", t.Ahead.Assumptions, bullets(assumptions), h.If(basis != "", h.P(class("small"), h.Text(basis))))),
		h.If(len(assumptions) == 0 && basis != "", h.P(class("small"), h.Text(basis))),
	}
}
