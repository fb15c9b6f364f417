package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// RecoveryView is how a plant's leaves came on.
type RecoveryView struct {
	Plant, Name string
	Shots       []RecoveryShot // the oldest first
	Trend       []TrendPoint   // of the newest method
	Older       int            // figures of older methods, which are not in the trend
	Marks       []RecoveryMark // by date
	Compare     CompareView
	Packing     PackingView
	Today       string
}

// RecoveryShot is a photo on the strip.
type RecoveryShot struct {
	Photo Photo
	Date  string
	Share string // how much of the leaf is damaged, "" if nobody has measured it
}

// TrendPoint is a measured leaf, in ten-thousandths.
type TrendPoint struct {
	Date             model.Date
	Share, Low, High int
	Words            string
}

// RecoveryMark is something that bears on the trend.
type RecoveryMark struct {
	Date model.Date
	What string
	Good bool // clean new growth, and not a treatment
}

// CompareView is an older and a newer photo of a leaf. Sizes are in thousandths of the
// longer side.
type CompareView struct {
	Before, After           Photo
	Working                 bool
	Problem, Cannot         string
	Width, Height           int // of the older photo; 0 if they cannot be laid over each other
	AfterWidth, AfterHeight int
	Matrix                  string // that takes the newer photo onto the older one
	ByHand                  bool   // a person has laid them
	Hand                    *HandView
}

// Recovery is the strip of dated photos, two of them over each other, and the trend.
func Recovery(t *texts.Catalogue, v RecoveryView) h.Node {
	r := t.Recovery
	back := backTo(PlantRoute(v.Plant), v.Name)
	if len(v.Shots) == 0 {
		return screen("recovery", heading(r.Title, v.Name, back), empty("camera", r.NoneTitle, r.None, goTo("main", FindingRoute(v.Plant, ""), t.Plant.FoundSomething)))
	}
	return screen("recovery", heading(r.Title, v.Name, back),
		section(r.Strip, h.Ol(class("photostrip"), h.TabIndex("0"), h.Aria("label", r.Strip), h.Map(v.Shots, func(s RecoveryShot) h.Node {
			return h.Li(h.A(h.Href(PhotoRoute(s.Photo.Sum)), picture(s.Photo, thumbnail)), h.P(class("strong"), h.Text(s.Date)), h.P(class("small"), h.Text(orElse(s.Share, r.Unmeasured))))
		}))),
		h.If(len(v.Shots) > 1, section(r.BeforeAfter, pairForm(t, v), h.Div(h.ID(IDCompare), class("col"), h.Aria("live", "polite"), Compare(t, v.Plant, v.Compare)))),
		section(r.Trend, trendPart(t, v)), takeAlong(t, v))
}

func orElse(words, otherwise string) string {
	if words == "" {
		return otherwise
	}
	return words
}

func pairForm(t *texts.Catalogue, v RecoveryView) h.Node {
	options := make([]Named, len(v.Shots))
	for i, s := range v.Shots {
		options[i] = Named{ID: s.Photo.Sum, Name: t.Common.Dotted(ordinal(i), s.Date)}
	}
	change := h.Data("change", ActCompare)
	return h.Form(hidden("plant", v.Plant), h.Div(class("pairrow"),
		selectField("cp-before", "before", t.Recovery.Before, "", options, v.Compare.Before.Sum, change),
		selectField("cp-after", "after", t.Recovery.After, "", options, v.Compare.After.Sum, change)))
}

// Compare is the content of the element IDCompare: the newer photo over the older one,
// cut off at the slider, or both side by side, or both to point out places on.
func Compare(t *texts.Catalogue, plant string, v CompareView) h.Node {
	r := t.Recovery
	hand := func(words string) h.Node {
		return button("plain", words, act(ActByHand, "plant", plant, "how", "begin"))
	}
	switch {
	case v.Working:
		return h.P(class("withicon"), icon("later"), h.Span(h.Text(r.Working)))
	case v.Problem != "":
		return problem(v.Problem)
	case v.Hand != nil:
		return byHand(t, *v.Hand)
	case v.Width == 0:
		return h.Group{notice("info", h.P(class("strong"), h.Text(r.CannotTitle)), h.P(h.Text(v.Cannot))), hand(r.HandLay),
			h.Div(class("pairrow"), picture(v.Before, fullSize), picture(v.After, fullSize))}
	}
	size := func(w, hi int) h.Node { return h.Group{h.Attr("width", intText(w)), h.Attr("height", intText(hi))} }
	image := func(p Photo, more ...h.Node) h.Node {
		return h.El("image", append([]h.Node{h.Data("photo", p.Sum), h.Data("size", intText(fullSize))}, more...))
	}
	return h.Group{
		h.Svg(class("beforeafter"), h.Attr("viewBox", "0 0 "+intText(v.Width)+" "+intText(v.Height)), h.Role("img"), h.Aria("label", r.Over(v.Before.Alt, v.After.Alt)),
			image(v.Before, size(v.Width, v.Height)),
			// A drawing within a drawing shows what lies inside its width.
			h.Svg(h.ID("cut"), size(v.Width/2, v.Height), image(v.After, size(v.AfterWidth, v.AfterHeight), h.Attr("transform", v.Matrix)))),
		labelled("cp-cut", r.Slider, "", h.Input(h.ID("cp-cut"), h.Type("range"), h.Name("cut"), h.Min("0"), h.Max(intText(v.Width)), h.Value(intText(v.Width/2)), h.Data("cut", "cut"))),
		h.If(v.ByHand, h.P(class("small"), h.Text(r.HandLaid))),
		hand(r.HandInstead),
	}
}

const trendHeight = 120.0

func trendPart(t *texts.Catalogue, v RecoveryView) h.Node {
	r := t.Recovery
	marks := h.If(len(v.Marks) > 0, h.Ul(class("bullets"), h.Map(v.Marks, func(m RecoveryMark) h.Node {
		return h.Li(h.Text(t.Common.Dotted(t.Format.Day(m.Date), m.What)))
	})))
	if len(v.Trend) == 0 {
		return h.Group{h.P(class("muted"), h.Text(r.NoTrend)), marks}
	}
	rows := make([]h.Node, len(v.Trend))
	for i, p := range v.Trend {
		rows[i] = h.Tr(h.Th(h.Attr("scope", "row"), h.Text(t.Format.Day(p.Date))), h.Td(h.Text(p.Words)))
	}
	return h.Div(class("card"), damageChart(t, v), h.P(class("small"), h.Text(r.TrendNote)),
		h.If(v.Older > 0, h.P(class("small"), h.Text(r.Older(v.Older)))),
		table("trend-table", r.Trend, []string{r.Day, r.Damaged}, rows), marks)
}

// damageChart draws each figure with its interval, and the days of treatments.
func damageChart(t *texts.Catalogue, v RecoveryView) h.Node {
	first, last := v.Trend[0], v.Trend[len(v.Trend)-1]
	days, most := span{from: first.Date.Add(-1), to: last.Date.Add(1)}, 0.0
	for _, p := range v.Trend {
		most = max(most, float64(p.High)/100)
	}
	step, top := steps(most)
	base := todayRow + trendHeight
	y := func(n int) float64 { return base - trendHeight*min(float64(n)/100, top)/top }
	var line []point
	for _, p := range v.Trend {
		line = append(line, point{days.x(p.Date), y(p.Share)})
	}
	var scale h.Group
	for n := 0.0; n <= top; n += step {
		at := base - trendHeight*n/top
		scale = append(scale, segment("grid", plotLeft, at, plotRight, at), label("day", "end", plotLeft-5, at+4, t.Ahead.Number(n)))
	}
	return chart("recovery", "rc", t.Recovery.Trend, t.Recovery.Drawn(t.Format.Day(first.Date), first.Words, t.Format.Day(last.Date), last.Words), base+axisHeight,
		scale, h.Map(v.Marks, func(m RecoveryMark) h.Node {
			return h.If(!m.Good && days.has(m.Date), segment("mark", days.x(m.Date), todayRow, days.x(m.Date), base))
		}),
		path("middle", trail(line)), numbered(v.Trend, func(i int, p TrendPoint) h.Node {
			return h.Group{segment("span", line[i].x, y(p.Low), line[i].x, y(p.High)), path("counted", diamond(line[i].x, line[i].y))}
		}), daysAxis(t, days, base))
}
