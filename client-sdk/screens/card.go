package screens

import (
	"math"
	"strconv"
	"strings"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// CardView is the form for what sticks to the card of a place.
type CardView struct {
	Place, Name string
	Working     bool
	Problem     string
	Photo       *Photo
	Rings       []Ring
	Taking      bool // a tap takes a ring away, and does not add one
	Turn        int  // how often the rings were changed: what was typed before is out of date
	Count       int
	Counted     string // what the picture was measured to hold, "" if nobody measured
	Cannot      string // why it cannot be counted
	Colour      model.CardColour
	Before      []string // earlier readings, the newest first
}

// Ring is around a speck, in shares of the photo's width and height.
type Ring struct{ X, Y, RX, RY float64 }

// Card asks for a photo of the card and for the number that the person confirms.
func Card(t *texts.Catalogue, v CardView) h.Node {
	c := t.Card
	colours := []option{{intText(int(model.YellowCard)), c.Yellow, v.Colour != model.BlueCard}, {intText(int(model.BlueCard)), c.Blue, v.Colour == model.BlueCard}}
	return screen("card", heading(c.Title, v.Name, backTo(RouteToday, t.Bar.Today)), problem(v.Problem),
		// The shell reads files out of forms only.
		h.Form(class("camera"),
			h.Input(h.ID("cd-photo"), class("unseen"), h.Type("file"), h.Name("photo"), h.Accept("image/*"), h.Attr("capture", "environment"), h.Data("change", ActCardPhoto), h.Data("place", v.Place)),
			h.Label(h.For("cd-photo"), icon("camera"), h.Span(h.Strong(h.Text(c.Photo)), h.Span(class("hint"), h.Text(c.PhotoHint)))),
			gallery(t, "cd-photo", h.Data("change", ActCardPhoto), h.Data("place", v.Place))),
		h.If(v.Working, h.P(class("withicon"), icon("later"), h.Span(h.Text(c.Working)))),
		h.Iff(v.Photo != nil, func() h.Node { return marked(*v.Photo, IDMarks, Rings(t, v)) }),
		form(ActSaveCard, hidden("place", v.Place),
			h.Div(h.ID(IDFigure), class("col"), h.Aria("live", "polite"), CardCount(t, v)),
			selectField("cd-pest", "pest", c.Pest, c.PestHint, pestOptions(t), ""),
			pills("radio", "cd-colour", "colour", c.Colour, colours),
			tick("cd-new", "replaced", c.Replaced, c.ReplacedHint, false),
			areaField("cd-note", "note", t.Common.Note, "", ""),
			h.If(len(v.Before) > 0, section(c.Before, bullets(v.Before))),
			dock(submit("main", t.Common.Save))))
}

// CardCount is the content of the element IDFigure on the form of a card: what was
// counted, and the number that counts.
func CardCount(t *texts.Catalogue, v CardView) h.Node {
	c := t.Card
	does := func(words, how string, on bool) h.Node {
		return button("plain", words, act(ActCardRing, "place", v.Place, "how", how), h.Aria("pressed", strconv.FormatBool(on)))
	}
	return h.Group{
		h.If(v.Cannot != "", notice("care", h.P(h.Text(v.Cannot)))),
		h.If(v.Counted != "", notice("info", h.P(class("strong"), h.Text(v.Counted)), h.P(h.Text(c.Unproven)))),
		h.If(v.Photo != nil, h.Section(class("card"), h.H2(h.Text(c.Right)), h.P(class("small"), h.Text(c.RightHint)),
			h.Div(class("acts"), does(c.Add, "add", !v.Taking), does(c.Take, "take", v.Taking)))),
		// Another id, so that a number typed for earlier rings gives way.
		stepper(t, "cd-count-"+intText(v.Turn), "count", c.Count, c.CountHint, v.Count, 0, 9999),
	}
}

// pestOptions are the pests with nobody's word before them.
func pestOptions(t *texts.Catalogue) []Named {
	options := []Named{{Name: t.Card.AnyPest}}
	for _, p := range model.Pests {
		options = append(options, Named{ID: intText(int(p)), Name: t.Words.Pest[p]})
	}
	return options
}

// Rings is the content of the element IDMarks over the photo of a card.
func Rings(_ *texts.Catalogue, v CardView) h.Node {
	var b strings.Builder
	for _, r := range v.Rings {
		const corners = 12
		var ring []point
		for i := range corners {
			at := 2 * math.Pi * float64(i) / corners
			ring = append(ring, point{10000 * (r.X + r.RX*math.Cos(at)), 10000 * (r.Y + r.RY*math.Sin(at))})
		}
		b.WriteString(trail(ring) + "Z")
	}
	tap := h.Group{h.Data("tap", ActCardRing), h.Data("place", v.Place), h.Data("how", "tap")}
	return marks(tap, stroke("ring rim", b.String()), stroke("ring", b.String()))
}
