package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// CourseFormView is a course that may be accepted for an outbreak.
type CourseFormView struct {
	Outbreak     string
	Name         string
	Plants       int
	Products     []Named // from the shelf, only those whose label facts suffice
	Product      string
	Interval     int
	Least, Most  int // the band of common practice, narrowed by the label
	Applications int
	First        string // 2006-01-02
	Today        string // 2006-01-02, the earliest first day
	Check        int    // days from an application to its look
	Isolate      bool
	Preview      PreviewView
	Problem      string
}

// PreviewView is what the course would come to.
type PreviewView struct {
	Dates    []CourseDay
	Total    string // product needed for all applications
	Stock    string // what is on the shelf
	Short    string // in words, if the shelf does not hold enough
	Limits   []string
	Cautions []string
	Blocked  string // why it cannot be accepted as it stands
}

// CourseForm asks for a product from the shelf and the rhythm, and shows at once
// what that comes to.
func CourseForm(t *texts.Catalogue, v CourseFormView) h.Node {
	c := t.Course
	back := backTo(OutbreakRoute(v.Outbreak), v.Name)
	if len(v.Products) == 0 {
		return screen("course", heading(c.Title, v.Name, back), empty("bottle", c.NoProductTitle, c.NoProduct, goTo("main", RouteNewProduct, t.Product.NewTitle)))
	}
	change := h.Data("change", ActPreviewCourse)
	return screen("course",
		heading(c.Title, t.Common.Dotted(v.Name, t.Format.Plants(v.Plants)), back),
		problem(v.Problem),
		form(ActAcceptCourse, hidden("outbreak", v.Outbreak),
			h.Div(class("cols"),
				h.Div(class("col"),
					selectField("co-product", "product", c.Product, c.ProductHint, v.Products, v.Product, change),
					stepper(t, "co-interval", "interval", c.Interval, "", v.Interval, v.Least, v.Most, change),
					h.P(class("tag"), icon("info"), h.Span(h.Text(c.Practice))),
					stepper(t, "co-count", "applications", c.Applications, "", v.Applications, 1, 12, change),
					stepper(t, "co-check", "check", c.Check, c.CheckHint, v.Check, 2, 3, change),
					dateField("co-first", "first", c.First, "", v.First, v.Today, change),
					tick("co-isolate", "isolate", c.Isolate, c.IsolateHint, v.Isolate, change)),
				h.Div(class("col"), h.Div(h.ID(IDCoursePreview), h.Aria("live", "polite"), CoursePreview(t, v.Preview)))),
			dock(submit("main", c.Accept))))
}

// CoursePreview is the part of the form that follows the choices.
func CoursePreview(t *texts.Catalogue, v PreviewView) h.Node {
	c := t.Course
	return h.Div(class("preview"),
		h.H2(h.Text(c.Preview)),
		h.If(v.Blocked != "", notice("stop", h.P(h.Text(v.Blocked)))),
		h.Dl(class("facts big"), pair(c.Total, v.Total), pair(c.Stock, v.Stock)),
		h.If(v.Short != "", notice("care", h.P(h.Text(v.Short)))),
		h.Ol(class("calendar"), h.Map(v.Dates, func(d CourseDay) h.Node {
			return h.Li(class("when"), h.Div(class("line"), h.Span(class("kind k-"+string(d.Kind)), icon(string(d.Kind))),
				h.Div(class("grow"), h.P(class("date"), h.Text(d.Date)), h.P(class("strong"), h.Text(d.What)), h.If(d.Why != "", h.P(class("small"), h.Text(d.Why))))))
		})),
		h.If(len(v.Limits) > 0, h.Group{h.H3(h.Text(c.Limits)), bullets(v.Limits)}),
		h.If(len(v.Cautions) > 0, h.Group{h.H3(h.Text(t.Confirm.CautionsTitle)), bullets(v.Cautions)}))
}
