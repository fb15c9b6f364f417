package app

import (
	"context"
	"image"
	"math"
	"slices"

	"leafturn/client-sdk/screens"
	"leafturn/photo/card"
)

// A person sets the count right by tapping: on a speck that was missed, or on a ring
// that holds none. Where nothing could be counted, taps count all of it.

// thumb is how near to a ring a tap must be to mean it, as a share of the photo's
// width: half of 48 px on the narrowest screen.
const thumb = 24.0 / 320

// usualRing is the radius of a ring by hand where there are no others, as a share of the
// photo's longer side.
const usualRing = 0.012

// long is the photo's longer side in shares of its width and height.
func (x *carding) long() (w, h float64) {
	long := float64(max(x.size.X, x.size.Y))
	return long / float64(max(x.size.X, 1)), long / float64(max(x.size.Y, 1))
}

// count takes over what was read from a photo.
func (x *carding) counted(read card.Reading, size image.Point) {
	x.read, x.size = &read, size
	x.rings, x.turn = slices.Clone(read.Specks), x.turn+1
}

// total is how many specks the rings hold: in a clump there are several.
func (x *carding) total() int {
	n := 0
	for _, s := range x.rings {
		n += s.Count
	}
	return n
}

// tapRing adds a ring, or takes away the nearest one.
func (x *carding) tapRing(px, py float64) {
	w, h := x.long()
	at := card.Point{X: px / w, Y: py / h}
	x.turn++
	if !x.taking {
		x.rings = append(x.rings, card.Speck{At: at, Radius: x.usual(), Count: 1})
		return
	}
	best, nearest := -1, math.Inf(1)
	for i, s := range x.rings {
		d := math.Hypot(s.At.X-at.X, s.At.Y-at.Y)
		if d <= max(s.Radius, thumb/w) && d < nearest {
			best, nearest = i, d
		}
	}
	if best >= 0 {
		x.rings = slices.Delete(x.rings, best, best+1)
	}
}

func (x *carding) usual() float64 {
	if len(x.rings) == 0 {
		return usualRing
	}
	radii := make([]float64, len(x.rings))
	for i, s := range x.rings {
		radii[i] = s.Radius
	}
	slices.Sort(radii)
	return radii[len(radii)/2]
}

// ring corrects the rings, or says what a tap does.
func (a *App) ring(_ context.Context, e Event) Answer {
	x := a.card
	if x == nil || x.place.String() != e.Data.Get("place") || x.working || x.read == nil {
		return Answer{}
	}
	switch e.Data.Get("how") {
	case "add":
		x.taking = false
	case "take":
		x.taking = true
	case "tap":
		if px, py, ok := tapped(e.Data); ok {
			x.tapRing(px, py)
		}
	}
	v := a.cardView(x)
	return Answer{Swaps: []Swap{a.swap(screens.IDMarks, screens.Rings(a.t, v)), a.swap(screens.IDFigure, screens.CardCount(a.t, v))}}
}
