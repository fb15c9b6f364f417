package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// MeasureView is how much of a leaf in a photo is damaged.
type MeasureView struct {
	Sum        string
	Photo      Photo
	Working    bool
	Problem    string
	CannotTell string // why there is no figure
	Share      string // the figure with its interval, "" if there is none
	Method     string // version, and how far to trust it
	Noted      string // what was noted about this photo before
	Outline    []model.Point
	Correcting bool
	Chosen     int // the point of the outline that moves
}

// Measure shows the leaf's outline over the photo, and what was measured within it.
func Measure(t *texts.Catalogue, v MeasureView) h.Node {
	return screen("measure",
		heading(t.Measure.Title, v.Photo.Alt, backTo(PhotoRoute(v.Sum), t.Plant.PhotoTitle)),
		h.Div(class("cols"),
			marked(v.Photo, IDMarks, Outline(t, v)),
			h.Div(h.ID(IDFigure), class("col"), h.Aria("live", "polite"), Figure(t, v))))
}

// marked is a photo with marks over it, which are swapped on their own by their id.
func marked(p Photo, id string, marks h.Node) h.Node {
	return h.Div(class("onphoto"), picture(p, fullSize), h.Div(h.ID(id), marks))
}

// marks is a drawing over a photo, in ten-thousandths of its width and height. What it
// shows is said in words beside the photo too.
func marks(tap h.Node, children ...h.Node) h.Node {
	return h.Div(class("over"), tap, h.Svg(h.Attr("viewBox", "0 0 10000 10000"), h.Attr("preserveAspectRatio", "none"),
		h.Aria("hidden", "true"), h.Attr("focusable", "false"), h.Group(children)))
}

// stroke is a line or a dot whose width does not depend on the photo's size.
func stroke(kind, data string) h.Node {
	return h.Path(class(kind), h.Attr("d", data), h.Attr("vector-effect", "non-scaling-stroke"))
}

// Outline is the leaf's outline, with its points while a person corrects it.
func Outline(_ *texts.Catalogue, v MeasureView) h.Node {
	if len(v.Outline) < 3 {
		return nil
	}
	points := make([]point, len(v.Outline))
	for i, p := range v.Outline {
		points[i] = point{float64(p.X), float64(p.Y)}
	}
	line := trail(points) + "Z"
	var tap, dots h.Node
	if v.Correcting {
		tap = h.Group{h.Data("tap", ActOutline), h.Data("sum", v.Sum), h.Data("how", "tap")}
		dots = numbered(points, func(i int, p point) h.Node {
			return h.Group{stroke("dot rim", dotAt(p)), stroke([]string{"dot", "dot on"}[b2i(i == v.Chosen)], dotAt(p))}
		})
	}
	return marks(tap, stroke("rind rim", line), stroke("rind", line), dots)
}

func dotAt(p point) string { return trail([]point{p, p}) }

func b2i(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// Figure is the content of the element IDFigure: the figure, what it is worth, and what
// the person says of it.
func Figure(t *texts.Catalogue, v MeasureView) h.Node {
	m := t.Measure
	return h.Group{
		problem(v.Problem),
		h.If(v.Working, h.P(class("withicon"), icon("later"), h.Span(h.Text(m.Working)))),
		h.If(v.CannotTell != "", notice("care", h.P(class("strong"), h.Text(m.CannotTitle)), h.P(h.Text(v.CannotTell)))),
		h.If(v.Share != "", h.Div(class("card"), h.P(class("amount"), h.Text(v.Share)), h.P(h.Text(m.Damaged)),
			h.P(class("small"), h.Text(v.Method)), fold("ms-worth", "why", m.Worth, bullets(m.Unproven)))),
		h.If(v.Noted != "", h.P(class("withicon"), icon("due-done"), h.Span(h.Text(v.Noted)))),
		h.If(v.Correcting && !v.Working, correcting(t, v)),
		h.If(v.Share != "" && !v.Working, h.Div(class("pairrow"),
			button("main", m.Agree, act(ActNoteMeasure, "sum", v.Sum, "agree", "1")),
			button("plain", m.Reject, act(ActNoteMeasure, "sum", v.Sum)))),
		h.If(!v.Correcting && !v.Working && v.Problem == "", button("plain", m.Correct, act(ActOutline, "sum", v.Sum))),
	}
}

// correcting moves the outline's points, by taps on the photo or by buttons.
func correcting(t *texts.Catalogue, v MeasureView) h.Node {
	m := t.Measure
	do := func(words, how string) h.Node {
		return button("plain", words, act(ActOutline, "sum", v.Sum, "how", how))
	}
	return h.Section(class("card"), h.H2(h.Text(m.Correct)), h.P(h.Text(m.HowTo)), h.P(class("small"), h.Text(m.Point(v.Chosen+1, len(v.Outline)))),
		h.Div(class("acts"), do(m.Next, "next"), do(m.Left, "left"), do(m.Right, "right"), do(m.Up, "up"), do(m.Down, "down"), do(m.More, "more"), do(m.Fewer, "fewer")),
		button("main", m.Again, act(ActMeasureAgain, "sum", v.Sum)))
}
