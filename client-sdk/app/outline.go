package app

import (
	"context"
	"math"
	"strconv"

	"leafturn/model"
	"leafturn/photo/leaf"
)

// A person corrects an outline with few points, one at a time: with more, a thumb could
// not tell them apart.
const (
	leastPoints = 4
	usualPoints = 8
	mostPoints  = 16
	nudge       = 150 // ten-thousandths that a step button moves a point
)

// around is the outline to begin with where none was found.
var around = []leaf.Point{{X: .2, Y: .2}, {X: .8, Y: .2}, {X: .8, Y: .8}, {X: .2, Y: .8}}

func outlineOf(m leaf.Measurement) []model.Point {
	var out []model.Point
	for _, p := range m.Outline {
		out = append(out, pointAt(p.X, p.Y))
	}
	return out
}

func pointAt(x, y float64) model.Point { return model.Point{X: uint16(parts(x)), Y: uint16(parts(y))} }

// spaced lays n points evenly along a closed line.
func spaced(line []leaf.Point, n int) []model.Point {
	length := func(i int) float64 {
		p, q := line[i], line[(i+1)%len(line)]
		return math.Hypot(q.X-p.X, q.Y-p.Y)
	}
	total := 0.0
	for i := range line {
		total += length(i)
	}
	out := make([]model.Point, 0, n)
	at, side := 0.0, 0
	for k := range n {
		want := total * float64(k) / float64(n)
		for side < len(line)-1 && at+length(side) <= want {
			at += length(side)
			side++
		}
		p, q, part := line[side], line[(side+1)%len(line)], 0.0
		if l := length(side); l > 0 {
			part = (want - at) / l
		}
		out = append(out, pointAt(p.X+part*(q.X-p.X), p.Y+part*(q.Y-p.Y)))
	}
	return out
}

func (x *measuring) lay(n int) {
	line := x.found.Outline
	if len(line) < 3 {
		line = around
	}
	x.drawn, x.chosen = spaced(line, min(max(n, leastPoints), mostPoints)), 0
	x.stale()
}

// tap moves the point that is nearest to where somebody tapped.
func (x *measuring) tap(p model.Point) {
	best := math.Inf(1)
	for i, q := range x.drawn {
		if d := math.Hypot(float64(p.X)-float64(q.X), float64(p.Y)-float64(q.Y)); d < best {
			best, x.chosen = d, i
		}
	}
	x.drawn[x.chosen] = p
	x.stale()
}

// stale takes the figure away: it is that of another outline.
func (x *measuring) stale() { x.found.Verdict, x.found.Reason = leaf.CannotTell, leaf.OK }

func (x *measuring) push(dx, dy int) {
	p := &x.drawn[x.chosen]
	x.stale()
	p.X, p.Y = uint16(min(max(int(p.X)+dx, 0), whole)), uint16(min(max(int(p.Y)+dy, 0), whole))
}

// outline lets a person correct the outline, step by step.
func (a *App) outline(_ context.Context, e Event) Answer {
	x := a.leaf
	if x == nil || x.sum.String() != e.Data.Get("sum") || x.working {
		return Answer{}
	}
	how := e.Data.Get("how")
	if x.drawn == nil {
		x.lay(usualPoints)
		how = ""
	}
	switch how {
	case "more":
		x.lay(len(x.drawn) + 2)
	case "fewer":
		x.lay(len(x.drawn) - 2)
	case "next":
		x.chosen = (x.chosen + 1) % len(x.drawn)
	case "left":
		x.push(-nudge, 0)
	case "right":
		x.push(nudge, 0)
	case "up":
		x.push(0, -nudge)
	case "down":
		x.push(0, nudge)
	case "tap":
		if px, py, ok := tapped(e.Data); ok {
			x.tap(pointAt(px, py))
		}
	}
	return a.figure(x)
}

// tapped is where on a photo somebody tapped, as shares of its width and height.
func tapped(d Data) (x, y float64, ok bool) {
	x, errX := strconv.ParseFloat(d.Get("x"), 64)
	y, errY := strconv.ParseFloat(d.Get("y"), 64)
	return x, y, errX == nil && errY == nil && x >= 0 && x <= 1 && y >= 0 && y <= 1
}

// measureAgain measures inside the outline that was drawn.
func (a *App) measureAgain(ctx context.Context, e Event) Answer {
	x := a.leaf
	if x == nil || x.sum.String() != e.Data.Get("sum") || x.working || x.drawn == nil {
		return Answer{}
	}
	work := a.measure(ctx, x)
	answer := a.figure(x)
	answer.Work = work
	return answer
}
