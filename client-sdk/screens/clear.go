package screens

import (
	"math"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// ClearView is the chance that the pest is gone, and what would make it surer.
type ClearView struct {
	Chance  float64
	Target  float64
	Looks   []ClearLook // the clean looks that are missing
	RestsOn []string    // who looked where and when
	Notes   []string    // what it cannot know
	Trend   *TrendView
}

// ClearLook is a clean look that would help: when, and what the chance would be
// after it.
type ClearLook struct {
	Date string
	Then float64
}

// TrendView is the change since treatment, as a factor on the counts before: 1
// is as before, 0.5 is half. Low and High are the ends of its interval.
type TrendView struct {
	Since             string // in words, since which treatment
	Words             string // the change with its interval
	Factor, Low, High float64
}

// Clear answers whether it works and whether it is over.
func Clear(t *texts.Catalogue, v ClearView) h.Node {
	c := t.Clear
	return h.Group{
		h.Iff(v.Trend != nil, func() h.Node { return trend(t, *v.Trend) }),
		section(c.Title, h.Div(class("card"),
			h.Div(class("chance"),
				chanceWords(t, v.Chance, c.ChanceOf),
				gauge(t, v)),
			clearNext(t, v),
			h.If(len(v.RestsOn) == 0, h.P(class("muted"), h.Text(c.NoLooks))),
			h.P(class("tag"), icon("info"), h.Span(h.Text(c.Honest))),
			h.Div(class("folds"), h.If(len(v.RestsOn) > 0, fold("cl-why", "why", c.RestsOn, bullets(v.RestsOn),
				h.If(len(v.Notes) > 0, h.Div(class("small"), bullets(v.Notes)))))))),
	}
}

// gauge is the chance on a scale from 0 to 100 per cent, with the line to reach.
func gauge(t *texts.Catalogue, v ClearView) h.Node {
	const left, right, top, thick = 2.0, chartWidth - 2, 20.0, 16.0
	at := func(p float64) float64 { return left + (right-left)*chance(p) }
	p, aim := t.Ahead.Percent(chance(v.Chance)), t.Ahead.Percent(chance(v.Target))
	scale := func(anchor string, p float64) h.Node {
		return label("", anchor, at(p), top+thick+16, t.Ahead.Percent(p))
	}
	return chart("gauge", "cl", t.Clear.ChartTitle, t.Clear.Drawn(p, aim), 56,
		box("track", left, top, right-left, thick, 4),
		h.If(v.Chance > 0, box("filled", left, top, max(at(v.Chance)-left, 4), thick, 4)),
		segment("aimed", at(v.Target), top-4, at(v.Target), top+thick+4),
		label("aim", "end", at(v.Target)+2, top-8, t.Clear.Aim(aim)),
		h.G(class("axis"), scale("start", 0), scale("middle", .5), scale("end", 1)))
}

func clearNext(t *texts.Catalogue, v ClearView) h.Node {
	c := t.Clear
	if v.Chance >= v.Target {
		return h.P(class("reach due-done"), icon("due-done"), h.Span(h.Strong(h.Text(c.Enough)), h.Span(class("small"), h.Text(c.EnoughDo))))
	}
	if len(v.Looks) == 0 {
		return nil
	}
	return h.Div(class("cleanlooks"), h.H3(h.Text(c.More(len(v.Looks)))), h.Ol(h.Map(v.Looks, func(l ClearLook) h.Node {
		return h.Li(icon("look"), h.Span(class("strong grow"), h.Text(l.Date)), h.Span(class("small"), h.Text(c.Then(t.Ahead.Percent(chance(l.Then))))))
	})))
}

func trend(t *texts.Catalogue, v TrendView) h.Node {
	c := t.Clear
	return section(c.TrendTitle, h.Div(class("card"),
		h.P(h.Text(v.Words)), h.P(class("small"), h.Text(v.Since)),
		trendChart(t, v),
		h.P(class("tag"), icon("info"), h.Span(h.Text(c.TrendNote)))))
}

// trendChart is the factor with its interval on a scale of halves and doubles, on
// which a fall to a half is as far from no change as a rise to the double.
func trendChart(t *texts.Catalogue, v TrendView) h.Node {
	const left, right, y = 20.0, chartWidth - 20, 22.0
	first, last := texts.TrendSteps[0], texts.TrendSteps[len(texts.TrendSteps)-1]
	at := func(factor float64) float64 {
		step := min(max(math.Log2(max(finite(factor), 1e-9)), float64(first)), float64(last))
		return left + (right-left)*(step-float64(first))/float64(last-first)
	}
	return chart("trend", "tr", t.Clear.TrendChart, v.Words, 54,
		box("span", at(v.Low), y-6, max(at(v.High)-at(v.Low), 2), 12, 6),
		segment("same", at(1), 4, at(1), y+14),
		path("factor", diamond(at(v.Factor), y)),
		h.G(class("axis"), segment("base", left, y+14, right, y+14), h.Map(texts.TrendSteps, func(s int) h.Node {
			x := at(math.Pow(2, float64(s)))
			return h.Group{segment("notch", x, y+14, x, y+18), label("", "middle", x, y+30, t.Clear.TrendStep[s])}
		})))
}
