package screens

import (
	"math"
	"slices"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

const (
	plotHeight = 150.0
	badgeRow   = 21.0 // a row of marked days above the plot
	todayRow   = 18.0
	axisHeight = 36.0
	badgeGap   = 7.0 // between them and the plot, whose scale begins there
)

// bandRoom is how many times higher than the middle and the counts the band may
// reach. A band that grows without a treatment would press all else to the floor.
const bandRoom = 3

// most is the largest number the picture has room for.
func (v ForecastView) most() float64 {
	most, band := 1.0, 0.0
	for _, d := range v.Days {
		most, band = max(most, d.all()), max(band, finite(d.High))
	}
	_, counted := v.within()
	for _, p := range counted {
		most = max(most, finite(p.Count))
	}
	return max(most, min(band, bandRoom*most))
}

// forecastPlot maps days and numbers to the picture.
type forecastPlot struct {
	span
	view        ForecastView
	step, most  float64
	upper, base float64 // y of the top and of zero
}

func (p forecastPlot) y(n float64) float64 {
	return p.base - plotHeight*min(finite(n), p.most)/p.most
}

// line is the picture's points of some number of each day.
func (p forecastPlot) line(of func(ForecastDay) float64) []point {
	points := make([]point, len(p.view.Days))
	for i, d := range p.view.Days {
		points[i] = point{p.x(d.Date), p.y(of(d))}
	}
	return points
}

// forecastChart draws, from back to front: the past, the scale, the stages, the
// band, the middle, the marked days, what was counted.
func forecastChart(t *texts.Catalogue, v ForecastView) h.Node {
	marks, counted := v.within()
	rows, used := markRows(v.span(), marks)
	p := forecastPlot{span: v.span(), view: v, upper: todayRow + float64(used)*badgeRow + badgeGap}
	p.base = p.upper + plotHeight
	p.step, p.most = steps(v.most())
	return chart("forecast", "fc", t.Forecast.ChartTitle, drawn(t, v), p.base+axisHeight,
		p.past(), p.scale(t), p.stages(), p.band(), path("middle", trail(p.line(ForecastDay.all))),
		daysAxis(t, p.span, p.base), p.today(t),
		numbered(marks, func(i int, m ForecastMark) h.Node { return p.mark(i, m, rows[i]) }),
		h.Map(counted, func(c ForecastPoint) h.Node { return path("counted", diamond(p.x(c.Date), p.y(c.Count))) }))
}

// drawn says what the picture shows in a sentence.
func drawn(t *texts.Catalogue, v ForecastView) string {
	first, last, peak := v.Days[0], v.Days[len(v.Days)-1], v.peak()
	n := func(f float64) string { return t.Ahead.Number(finite(f)) }
	return t.Forecast.Drawn(t.Format.Day(first.Date), n(first.all()), t.Format.Day(peak.Date), n(peak.all()),
		t.Format.Day(last.Date), n(last.all()), t.Ahead.Span(n(last.Low), n(last.High)))
}

func (p forecastPlot) past() h.Node {
	if !p.has(p.view.Today) || p.view.Today == p.from {
		return nil
	}
	return box("past", plotLeft, p.upper, p.x(p.view.Today)-plotLeft, plotHeight, 0)
}

func (p forecastPlot) today(t *texts.Catalogue) h.Node {
	if !p.has(p.view.Today) {
		return nil
	}
	x := p.x(p.view.Today)
	at, words := "middle", min(max(x, plotLeft), plotRight-4)
	return h.G(class("today"), segment("", x, todayRow-4, x, p.base), label("", at, words, todayRow-7, t.Forecast.Today))
}

func (p forecastPlot) scale(t *texts.Catalogue) h.Node {
	lines := h.Group{}
	for n := 0.0; n <= p.most+p.step/2; n += p.step {
		lines = append(lines, h.If(n > 0, segment("grid", plotLeft, p.y(n), plotRight, p.y(n))),
			label("", "end", plotLeft-6, p.y(n)+4, t.Ahead.Number(n)))
	}
	return h.G(class("axis"), lines)
}

// stages stacks the four stages, each with a fill and a pattern of its own.
func (p forecastPlot) stages() h.Node {
	areas := h.Group{stagePatterns()}
	for i := range texts.Stages {
		upper := p.line(func(d ForecastDay) float64 { return d.total(i + 1) })
		lower := p.line(func(d ForecastDay) float64 { return d.total(i) })
		areas = append(areas, stageFill(i, between(upper, lower)))
	}
	return areas
}

func (p forecastPlot) band() h.Node {
	low := p.line(func(d ForecastDay) float64 { return d.Low })
	high := p.line(func(d ForecastDay) float64 { return d.High })
	return h.Group{path("band", between(high, low)), path("edge", trail(high)+trail(low))}
}

// mark is a day's line, with its number in a shape above the plot if there is room.
func (p forecastPlot) mark(i int, m ForecastMark, row int) h.Node {
	x, y := p.x(m.Date), p.upper-badgeGap-badgeRow*(float64(row)+.5)
	if row == noRow {
		return segment("mark"+doneClass(m.Done), x, p.upper, x, p.base)
	}
	return h.Group{segment("mark"+doneClass(m.Done), x, y+8, x, p.base), badge(x, y, i, m)}
}

func doneClass(done bool) string {
	if done {
		return " past"
	}
	return ""
}

// badge is the number of a marked day: square for a product, round for hands and
// for looks; filled once it is done.
func badge(x, y float64, i int, m ForecastMark) h.Node {
	round := 8.5
	if m.Kind == TaskSpray {
		round = 2.5
	}
	return h.G(class("badge"+doneClass(m.Done)), box("", x-8.5, y-8.5, 17, 17, round), label("", "middle", x, y+4, ordinal(i)))
}

// noRow is for a marked day whose number has no room: it has its line, and stands in
// the list below the picture.
const noRow = -1

// markRows gives each marked day a row so that the numbers of days close to each
// other do not cover one another, products first. It returns how many rows there are.
func markRows(s span, marks []ForecastMark) (rows []int, used int) {
	rows = slices.Repeat([]int{noRow}, len(marks))
	for _, sprays := range []bool{true, false} {
		for i, m := range marks {
			if sprays == (m.Kind == TaskSpray) {
				rows[i] = freeRow(s, marks, rows, m.Date)
				used = max(used, rows[i]+1)
			}
		}
	}
	return rows, used
}

func freeRow(s span, marks []ForecastMark, rows []int, day model.Date) int {
	const most = 3
	for row := range most {
		if !crowded(s, marks, rows, day, row) {
			return row
		}
	}
	return noRow
}

// crowded reports whether a number in the row would cover a day's own.
func crowded(s span, marks []ForecastMark, rows []int, day model.Date, row int) bool {
	const apart = 19.0
	for i, r := range rows {
		if r == row && math.Abs(s.x(day)-s.x(marks[i].Date)) < apart {
			return true
		}
	}
	return false
}

// diamond is path data of the shape of a count.
func diamond(x, y float64) string {
	return trail([]point{{x, y - 5}, {x + 5, y}, {x, y + 5}, {x - 5, y}}) + "Z"
}

// stageFill is an area in a stage's colour with its pattern over it.
func stageFill(stage int, d string) h.Node {
	n := intText(stage)
	return h.Group{path("stage s"+n, d), h.If(stage < len(stageHatches), h.Path(class("pattern"), h.Attr("d", d), h.Attr("fill", "url(#fc-p"+n+")")))}
}

// stageHatches tell the stages apart in print and for any colour vision: dots,
// slanted lines, crossed lines, and none for adults.
var stageHatches = []string{dots(.9, 2, 2, 5, 5), "M-1 1L1 -1M0 6L6 0M5 7L7 5", "M0 3H6M3 0V6"}

func stagePatterns() h.Node {
	return h.Defs(numbered(stageHatches, func(i int, d string) h.Node {
		kind := "hatch"
		if i == int(model.Eggs) {
			kind = "hatch dotted"
		}
		return h.Pattern(h.ID("fc-p"+intText(i)), h.Attr("width", "6"), h.Attr("height", "6"), h.Attr("patternUnits", "userSpaceOnUse"), path(kind, d))
	}))
}
