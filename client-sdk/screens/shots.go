package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// ShotsView is the photos that were taken for a form. They are kept on this phone.
type ShotsView struct {
	Plant   string
	Taken   []Shot
	Working int    // photos that are being made ready
	Problem string // why the last one was not kept
}

// Shot is a photo that was just taken.
type Shot struct {
	Photo Photo
	Doubt string // why it had better be taken again, "" if nothing speaks against it
}

// photoField opens the camera. What was taken goes to the core at once, so that it is
// kept whatever becomes of the form.
func photoField(t *texts.Catalogue, v ShotsView) h.Node {
	id := "fp-" + v.Plant
	return h.Div(class("camera"),
		cameraInput(id, v.Plant, "", h.Flag("multiple")),
		h.Label(h.For(id), icon("camera"), h.Span(h.Strong(h.Text(t.Finding.Photo)), h.Span(class("hint"), h.Text(t.Finding.PhotoHint)))),
		gallery(t, id, h.Data("change", ActAddPhoto), h.Data("plant", v.Plant), h.Flag("multiple")),
		fold("fz-"+v.Plant, "more", t.Photos.Size, tick("ff-"+v.Plant, "full", t.Photos.Full, t.Photos.FullHint, false)),
		h.Div(h.ID(IDShots), class("shots"), h.Aria("live", "polite"), Shots(t, v)))
}

// gallery chooses photos that were taken before: the input that opens the camera offers
// no others on many phones.
func gallery(t *texts.Catalogue, id string, more ...h.Node) h.Node {
	id += "-gallery"
	return h.Span(class("again"), h.Input(h.ID(id), class("unseen"), h.Type("file"), h.Name("photo"), h.Accept("image/*"), h.Group(more)),
		h.Label(h.For(id), class("btn quiet"), h.Text(t.Photos.Gallery)))
}

func cameraInput(id, plant, again string, more ...h.Node) h.Node {
	return h.Input(h.ID(id), class("unseen"), h.Type("file"), h.Name("photo"), h.Accept("image/*"), h.Attr("capture", "environment"),
		h.Data("change", ActAddPhoto), h.Data("plant", plant), h.If(again != "", h.Data("shot", again)), h.Group(more))
}

// Shots is the content of the element IDShots.
func Shots(t *texts.Catalogue, v ShotsView) h.Node {
	return h.Group{
		problem(v.Problem),
		h.If(len(v.Taken) > 0, h.Ul(class("rows"), numbered(v.Taken, func(i int, s Shot) h.Node { return shotRow(t, v.Plant, i, s) }))),
		h.If(v.Working > 0, h.P(class("withicon small"), icon("later"), h.Span(h.Text(t.Photos.Working(v.Working))))),
	}
}

func shotRow(t *texts.Catalogue, plant string, i int, s Shot) h.Node {
	id := "sh-" + ordinal(i)
	words := t.Photos.Kept
	if s.Doubt != "" {
		words = s.Doubt
	}
	about := h.Aria("describedby", id)
	return h.Li(class("row wrap"), h.Span(class("thumb"), picture(s.Photo, thumbnail)),
		h.P(h.ID(id), class("grow withicon"), icon(shotIcon(s)), h.Span(h.Text(words))),
		h.Div(class("acts"),
			h.If(s.Doubt != "", h.Span(class("again"), cameraInput(id+"-again", plant, s.Photo.Sum), h.Label(h.For(id+"-again"), class("btn plain"), h.Text(t.Photos.Again)))),
			button("plain", t.Photos.Remove, act(ActRemovePhoto, "plant", plant, "shot", s.Photo.Sum), about)))
}

func shotIcon(s Shot) string {
	if s.Doubt != "" {
		return "care"
	}
	return "due-done"
}
