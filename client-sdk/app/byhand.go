package app

import (
	"context"
	"image"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/photo/align"
)

// Where two photos cannot be laid over each other, or were laid wrongly, a person points
// out two places of the leaf on both. That says how far the newer photo is turned, scaled
// and moved. It holds until other photos are compared and is not kept: it is done again
// in a few taps.

// byHand is what a person has pointed out so far.
type byHand struct {
	points  [2][2]*model.Point // on the older and on the newer photo, the first and the second place
	at      int                // the place that is being pointed out
	problem string
}

// handIt is which photo a field means, 0 the older and 1 the newer one.
func handIt(d Data) int {
	if d.Get("photo") == screens.NewerPhoto {
		return 1
	}
	return 0
}

// layByHand lets a person lay the photos over each other, step by step.
func (a *App) layByHand(_ context.Context, e Event) Answer {
	x := a.pair
	if x == nil || x.plant.String() != e.Data.Get("plant") || x.working || x.problem != "" {
		return Answer{}
	}
	switch e.Data.Get("how") {
	case "begin":
		x.hand = &byHand{}
		return a.showPair(x)
	case "stop":
		x.hand = nil
		return a.showPair(x)
	}
	if x.hand == nil {
		return Answer{}
	}
	if e.Data.Get("how") == "next" {
		a.nextByHand(x)
	} else {
		x.hand.move(handIt(e.Data), e.Data)
	}
	if x.hand == nil {
		return a.showPair(x)
	}
	// The photos stay where they are, or they would flicker at each tap.
	v := x.hand.view(x)
	return Answer{Swaps: []Swap{
		a.swap(screens.IDOlderMarks, screens.HandMarks(v, 0)), a.swap(screens.IDNewerMarks, screens.HandMarks(v, 1)),
		a.swap(screens.IDFigure, screens.HandSteps(a.t, v)),
	}}
}

// move sets the place on a photo to where it was tapped, or moves it by a step; by steps
// it begins in the middle.
func (h *byHand) move(photo int, d Data) {
	h.problem = ""
	p := &h.points[photo][h.at]
	if *p == nil {
		*p = &model.Point{X: whole / 2, Y: whole / 2}
	}
	by := map[string]image.Point{"left": {X: -nudge}, "right": {X: nudge}, "up": {Y: -nudge}, "down": {Y: nudge}}[d.Get("how")]
	(*p).X, (*p).Y = uint16(min(max(int((*p).X)+by.X, 0), whole)), uint16(min(max(int((*p).Y)+by.Y, 0), whole))
	if px, py, ok := tapped(d); ok {
		**p = pointAt(px, py)
	}
}

// nextByHand goes on to the second place, and from there to the photos over each other.
func (a *App) nextByHand(x *comparing) {
	h := x.hand
	h.problem = ""
	switch {
	case h.points[0][h.at] == nil || h.points[1][h.at] == nil:
		h.problem = a.t.Recovery.HandBoth
	case h.at == 0:
		h.at = 1
	default:
		at := func(photo, n int) align.Point { return onLonger(*h.points[photo][n], x.sizes[photo]) }
		s, err := align.FromPoints(at(0, 0), at(0, 1), at(1, 0), at(1, 1))
		if err != nil {
			h.problem = a.words(err)
			return
		}
		x.found, x.hand, x.byHand = align.Result{Similarity: s}, nil, true
	}
}

// onLonger is a place on a photo in units of its longer side.
func onLonger(p model.Point, size image.Point) align.Point {
	long := float64(whole * max(size.X, size.Y, 1))
	return align.Point{X: float64(p.X) * float64(size.X) / long, Y: float64(p.Y) * float64(size.Y) / long}
}

func (h *byHand) view(x *comparing) screens.HandView {
	v := screens.HandView{Plant: x.plant.String(), At: h.at, Points: h.points, Problem: h.problem}
	for i, size := range x.sizes {
		v.Wide[i] = float64(size.X) / float64(max(size.Y, 1))
	}
	return v
}
