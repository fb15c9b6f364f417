package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

// HandView is two photos on which a person points out the same two places. Of each
// pair the older photo comes first.
type HandView struct {
	Plant         string
	Before, After Photo
	At            int                // the place that is being pointed out, 0 or 1
	Points        [2][2]*model.Point // on a photo, the first and the second place
	Wide          [2]float64         // how many times a photo is wider than high
	Problem       string
}

// The photos, as fields name them.
const (
	OlderPhoto = "before"
	NewerPhoto = "after"
)

var handPhotos = [2]string{OlderPhoto, NewerPhoto}

// byHand asks for the places, one photo below the other so that a thumb can aim.
func byHand(t *texts.Catalogue, v HandView) h.Node {
	r := t.Recovery
	photo := func(title string, p Photo, i int, id string) h.Node {
		return h.Div(class("col"), h.H3(h.Text(title)), marked(p, id, HandMarks(v, i)))
	}
	return h.Group{
		h.P(h.Text(r.HandHow)),
		photo(r.Before, v.Before, 0, IDOlderMarks), photo(r.After, v.After, 1, IDNewerMarks),
		h.Div(h.ID(IDFigure), class("col"), h.Aria("live", "polite"), HandSteps(t, v)),
	}
}

// HandSteps is the content of the element IDFigure: what to do next, and buttons for
// those who cannot tap a photo.
func HandSteps(t *texts.Catalogue, v HandView) h.Node {
	r, m := t.Recovery, t.Measure
	do := func(kind, words, how string, more ...string) h.Node {
		return button(kind, words, act(ActByHand, append([]string{"plant", v.Plant, "how", how}, more...)...))
	}
	steps := func(i int, title string) h.Node {
		to := func(words, how string) h.Node { return do("plain", words, how, "photo", handPhotos[i]) }
		return h.Div(h.Role("group"), h.Aria("label", title), h.P(class("small strong"), h.Text(title)),
			h.Div(class("acts"), to(m.Left, "left"), to(m.Right, "right"), to(m.Up, "up"), to(m.Down, "down")))
	}
	next := r.HandNext
	if v.At == 1 {
		next = r.HandLay
	}
	return h.Section(class("card"), h.H2(h.Text(r.HandPlace[min(v.At, 1)])), problem(v.Problem),
		do("main", next, "next"),
		fold("bh-steps", "more", r.HandSteps, steps(0, r.Before), steps(1, r.After)),
		h.Div(class("acts"), do("plain", r.HandAgain, "begin"), do("plain", r.HandStop, "stop")))
}

// HandMarks is the content of the element IDOlderMarks (0) or IDNewerMarks (1): the first
// place is a dot, the second one a cross.
func HandMarks(v HandView, photo int) h.Node {
	tap := h.Group{h.Data("tap", ActByHand), h.Data("plant", v.Plant), h.Data("how", "tap"), h.Data("photo", handPhotos[photo])}
	var drawn h.Group
	for n, p := range v.Points[photo] {
		if p == nil {
			continue
		}
		x, y := float64(p.X), float64(p.Y)
		kind, data := "dot", dotAt(point{x, y})
		if n == 1 {
			const arm = 250
			tall := arm * max(v.Wide[photo], 0.1)
			kind, data = "cross", trail([]point{{x - arm, y - tall}, {x + arm, y + tall}})+trail([]point{{x - arm, y + tall}, {x + arm, y - tall}})
		}
		now := ""
		if n == v.At {
			now = " on"
		}
		drawn = append(drawn, stroke(kind+" rim", data), stroke(kind+now, data))
	}
	return marks(tap, drawn)
}
