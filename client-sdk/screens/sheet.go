package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// PackingView is how far a recovery has been put into a file.
type PackingView struct {
	Plant    string
	Working  bool
	Done, Of int // photos
}

// Packing is the content of the element IDPacking.
func Packing(t *texts.Catalogue, v PackingView) h.Node {
	r := t.Recovery
	if v.Working {
		return h.Group{h.P(class("withicon"), icon("later"), h.Span(h.Text(r.Packed(v.Done, v.Of)))), button("plain", r.PackStop, act(ActStopPacking))}
	}
	return button("plain", r.Pack, act(ActPack, "plant", v.Plant))
}

// takeAlong is what may leave the phone: a sheet of paper, or a file.
func takeAlong(t *texts.Catalogue, v RecoveryView) h.Node {
	r := t.Recovery
	return section(r.TakeAlong, h.P(class("hint"), h.Text(r.TakeAlongHint)),
		goTo("plain", RecoverySheetRoute(v.Plant), r.Sheet),
		h.Div(h.ID(IDPacking), class("col"), h.Aria("live", "polite"), Packing(t, v.Packing)))
}

// RecoverySheet is a plant's recovery on paper. Its photos are fetched at once: paper
// does not scroll.
func RecoverySheet(t *texts.Catalogue, v RecoveryView) h.Node {
	r := t.Recovery
	return screen("sheet", heading(r.SheetTitle(v.Name), v.Today, backTo(RecoveryRoute(v.Plant), r.Title)),
		section(r.Trend, trendPart(t, v), bullets(t.Measure.Unproven)),
		section(r.Strip, h.Ol(class("sheet"), h.Map(v.Shots, func(s RecoveryShot) h.Node {
			return h.Li(picture(s.Photo, thumbnail), h.P(class("strong"), h.Text(s.Date)), h.P(class("small"), h.Text(orElse(s.Share, r.Unmeasured))))
		}))),
		dock(h.Button(h.Type("button"), class("btn main"), h.Data("shell", "print"), h.Text(r.Print))))
}
