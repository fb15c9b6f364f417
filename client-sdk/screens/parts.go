package screens

import (
	"strconv"
	"strings"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// Named is something to choose or to link to.
type Named struct{ ID, Name string }

// Photo is a picture on this phone or in the household, by its SHA-256 in hex.
type Photo struct {
	Sum string
	Alt string // what it shows and when, for people who do not see it
}

// The sizes, in pixels of the longer side, that screens ask for. 0 is the photo
// as it was kept.
const (
	thumbnail = 320
	fullSize  = 0
)

func class(c string) h.Node { return h.Class(c) }

// act is the attributes of an action: its name, then pairs of field and value.
func act(name string, fields ...string) h.Node {
	attrs := h.Group{h.Data("do", name)}
	for i := 0; i+1 < len(fields); i += 2 {
		attrs = append(attrs, h.Data(fields[i], fields[i+1]))
	}
	return attrs
}

// button is a button outside a form; kind is main, plain, quiet or stern.
func button(kind, label string, action h.Node, more ...h.Node) h.Node {
	return h.Button(h.Type("button"), class("btn "+kind), action, h.Group(more), h.Text(label))
}

// submit is the button that sends the form around it.
func submit(kind, label string, more ...h.Node) h.Node {
	return h.Button(h.Type("submit"), class("btn "+kind), h.Group(more), h.Text(label))
}

// goTo is a link that looks like a button.
func goTo(kind, route, label string, more ...h.Node) h.Node {
	return h.A(to(route), class("btn "+kind), h.Group(more), h.Text(label))
}

// to is the address of a link. A view's route must lead inside the app; whatever
// else it holds leads to Today, so that no data can smuggle in a script.
func to(route string) h.Node {
	if !strings.HasPrefix(route, "#/") {
		route = RouteToday
	}
	return h.Href(route)
}

// dock holds the main action in the lower third, where a thumb reaches it.
func dock(children ...h.Node) h.Node { return h.Div(class("dock"), h.Group(children)) }

func form(action string, children ...h.Node) h.Node {
	return h.Form(h.Data("do", action), h.Flag("novalidate"), h.Group(children))
}

func hidden(name, value string) h.Node {
	return h.Input(h.Type("hidden"), h.Name(name), h.Value(value))
}

// screen is a whole screen: a heading, then its parts.
func screen(name string, children ...h.Node) h.Node {
	return h.Div(class("screen s-"+name), h.Group(children))
}

// heading opens a screen. The h1 takes the focus when the screen changes.
func heading(title, under string, back h.Node) h.Node {
	return h.Header(class("top"), back,
		h.H1(h.ID("title"), h.TabIndex("-1"), h.Text(title)),
		h.If(under != "", h.P(class("under"), h.Text(under))))
}

func backTo(route, label string) h.Node {
	return h.A(to(route), class("back"), icon("back"), h.Span(h.Text(label)))
}

// section is a titled part of a screen.
func section(title string, children ...h.Node) h.Node {
	return h.Section(class("part"), h.H2(h.Text(title)), h.Group(children))
}

func cards(nodes ...h.Node) h.Node { return h.Div(class("cards"), h.Group(nodes)) }

// empty teaches the next step where there is nothing to show yet.
func empty(drawing, title, words string, next ...h.Node) h.Node {
	return h.Div(class("empty"), icon(drawing), h.P(class("strong"), h.Text(title)), h.P(h.Text(words)), h.Group(next))
}

// fold keeps what not everybody needs at once behind one tap.
func fold(id, kind, title string, children ...h.Node) h.Node {
	return h.Details(h.ID(id), class("fold "+kind), h.Summary(icon(kind), h.Span(h.Text(title))), h.Div(class("in"), h.Group(children)))
}

func bullets(lines []string) h.Node {
	return h.Ul(class("bullets"), h.Map(lines, func(s string) h.Node { return h.Li(h.Text(s)) }))
}

// pair is a row of a definition list; a pair without a value is left out.
func pair(name, value string) h.Node {
	if value == "" {
		return nil
	}
	return h.Div(h.Dt(h.Text(name)), h.Dd(h.Text(value)))
}

// standing says how a plant stands by shape, word and colour.
func standing(t *texts.Catalogue, s texts.Standing) h.Node {
	if s == "" {
		return nil
	}
	return h.Span(class("state st-"+string(s)), icon("st-"+string(s)), h.Span(h.Text(t.Words.Standing[s])))
}

// dueState says how something stands in time by shape, word and colour.
func dueState(s texts.DueState, words string) h.Node {
	return h.Span(class("state due-"+string(s)), icon("due-"+string(s)), h.Span(h.Text(words)))
}

// notice is words that must be seen; kind is info, care or stop.
func notice(kind string, children ...h.Node) h.Node {
	return h.Div(class("notice "+kind), icon(kind), h.Div(h.Group(children)))
}

// problem shows what went wrong with a form, where it was sent from.
func problem(words string) h.Node {
	return h.If(words != "", h.Div(h.Role("alert"), notice("stop", h.P(h.Text(words)))))
}

// picture is a photo that the shell asks the worker for once it comes into view.
func picture(p Photo, size int) h.Node {
	return h.Img(h.Data("photo", p.Sum), h.Data("size", strconv.Itoa(size)), h.Alt(p.Alt))
}

// thumbs is a strip of small photos, each a link to the photo at full size.
func thumbs(photos []Photo) h.Node {
	if len(photos) == 0 {
		return nil
	}
	return h.Div(class("thumbs"), h.Map(photos, func(p Photo) h.Node {
		return h.A(h.Href(PhotoRoute(p.Sum)), class("thumb"), picture(p, thumbnail))
	}))
}
