package screens

import (
	"strings"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// Poison is what to do when someone may be poisoned. It gives no advice on doses. A
// number stands there only with its country, because a wrong one costs time.
func Poison(t *texts.Catalogue) h.Node {
	p := t.Poison
	return screen("poisoned",
		heading(p.Title, "", backTo(RouteHousehold, t.Bar.Household)),
		notice("stop", h.P(class("strong"), h.Text(p.Emergency))),
		h.Ol(class("steps-list"), h.Map(p.Steps, func(s string) h.Node { return h.Li(h.Text(s)) })),
		section(p.NumbersTitle, h.P(h.Text(p.NumbersWords)), h.Ul(class("rows"), h.Map(p.Numbers, func(n texts.PoisonNumber) h.Node {
			return h.Li(h.A(h.Href("tel:"+strings.ReplaceAll(n.Number, " ", "")), class("row"), h.Span(class("kind"), icon("phone")), h.Span(class("grow"),
				h.Span(class("strong"), h.Text(n.Country)), h.Span(h.Text(n.Number)), h.Span(class("small"), h.Text(n.Source)))))
		}))),
		h.P(class("muted"), h.Text(p.Limits)))
}
