package screens

import (
	"math"
	"strings"

	g "maragu.dev/gomponents"

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
	Count       int
	Counted     string // what the picture was measured to hold, "" if nobody measured
	Cannot      string // why it cannot be counted
	Colour      model.CardColour
}

// Ring is around a speck, in shares of the photo's width and height.
type Ring struct{ X, Y, RX, RY float64 }

// Card asks for a photo of the card and for the number that the person confirms.
func Card(t *texts.Catalogue, v CardView) g.Node {
	c := t.Card
	colours := []option{{intText(int(model.YellowCard)), c.Yellow, v.Colour != model.BlueCard}, {intText(int(model.BlueCard)), c.Blue, v.Colour == model.BlueCard}}
	return screen("card", heading(c.Title, v.Name, backTo(RouteToday, t.Bar.Today)), problem(v.Problem),
		h.Div(class("camera"),
			h.Input(h.ID("cd-photo"), class("unseen"), h.Type("file"), h.Name("photo"), h.Accept("image/*"), h.Attr("capture", "environment"), h.Data("change", ActCardPhoto), h.Data("place", v.Place)),
			h.Label(h.For("cd-photo"), icon("camera"), h.Span(h.Strong(h.Text(c.Photo)), h.Span(class("hint"), h.Text(c.PhotoHint))))),
		g.If(v.Working, h.P(class("withicon"), icon("later"), h.Span(h.Text(c.Working)))),
		g.Iff(v.Photo != nil, func() g.Node { return marked(*v.Photo, rings(v.Rings)) }),
		g.If(v.Cannot != "", notice("care", h.P(h.Text(v.Cannot)))),
		g.If(v.Counted != "", notice("info", h.P(class("strong"), h.Text(v.Counted)), h.P(h.Text(c.Unproven)))),
		form(ActSaveCard, hidden("place", v.Place),
			stepper(t, "cd-count", "count", c.Count, c.CountHint, v.Count, 0, 9999),
			pills("radio", "cd-colour", "colour", c.Colour, colours),
			tick("cd-new", "replaced", c.Replaced, c.ReplacedHint, false),
			areaField("cd-note", "note", t.Common.Note, "", ""),
			dock(submit("main", t.Common.Save))))
}

func rings(list []Ring) g.Node {
	if len(list) == 0 {
		return nil
	}
	var b strings.Builder
	for _, r := range list {
		const corners = 12
		var ring []point
		for i := range corners {
			at := 2 * math.Pi * float64(i) / corners
			ring = append(ring, point{10000 * (r.X + r.RX*math.Cos(at)), 10000 * (r.Y + r.RY*math.Sin(at))})
		}
		b.WriteString(trail(ring) + "Z")
	}
	return marks(nil, stroke("ring rim", b.String()), stroke("ring", b.String()))
}
