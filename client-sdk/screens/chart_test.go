package screens_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
)

// pick is the elements of a screen with a name and, unless it is "", a class.
func pick(t require.TestingT, html, name, class string) (found []*element) {
	parse(t, html).walk(func(n *element) {
		if n.name == name && (class == "" || strings.Contains(" "+n.attrs["class"]+" ", " "+class+" ")) {
			found = append(found, n)
		}
	})
	return found
}

var coordinate = regexp.MustCompile(`-?[0-9.]+(?:e[+-]?[0-9]+)?|NaN|Inf`)

func numbers(t require.TestingT, words string) (out []float64) {
	for _, s := range coordinate.FindAllString(words, -1) {
		n, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		out = append(out, n)
	}
	return out
}

// inside checks that every point of every chart lies within its picture.
func inside(t require.TestingT, html string) {
	for _, svg := range pick(t, html, "svg", "chart") {
		room := numbers(t, svg.attrs["viewBox"])
		svg.walk(func(n *element) {
			if n.name == "pattern" || strings.Contains(n.attrs["class"], "hatch") {
				return // a pattern has a grid of its own
			}
			d := numbers(t, n.attrs["d"])
			for i := 0; i+1 < len(d); i += 2 {
				require.True(t, d[i] >= 0 && d[i] <= room[2] && d[i+1] >= 0 && d[i+1] <= room[3], "%v of %s lies outside %v", d[i:i+2], n.attrs["class"], room)
			}
			for a, most := range map[string]float64{"x": room[2], "y": room[3], "width": room[2], "height": room[3]} {
				for _, at := range numbers(t, n.attrs[a]) {
					require.True(t, at >= 0 && at <= most, "%s=%v of %s", a, at, n.attrs["class"])
				}
			}
		})
	}
}

// anyNumber is a number that a forecast might hold, right or wrong.
func anyNumber(t *rapid.T, name string) float64 {
	return rapid.OneOf(rapid.Float64Range(0, 60), rapid.Float64Range(0, 1e9), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), -3, 1e-12})).Draw(t, name)
}

// Whatever the numbers are, the picture stays inside its frame and says no
// nonsense.
func TestForecastStaysInsideItsPicture(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		v := screens.ForecastView{Days: make([]screens.ForecastDay, rapid.IntRange(1, 60).Draw(r, "days")), Today: wed.Add(rapid.IntRange(-9, 9).Draw(r, "today"))}
		for i := range v.Days {
			v.Days[i] = screens.ForecastDay{Date: wed.Add(i), Low: anyNumber(r, "low"), High: anyNumber(r, "high")}
			for s := range v.Days[i].Stage {
				v.Days[i].Stage[s] = anyNumber(r, "stage")
			}
		}
		for range rapid.IntRange(0, 9).Draw(r, "marks") {
			v.Marks = append(v.Marks, screens.ForecastMark{Date: wed.Add(rapid.IntRange(-3, 70).Draw(r, "mark")), What: "x", Kind: screens.TaskSpray})
			v.Counted = append(v.Counted, screens.ForecastPoint{Date: wed.Add(rapid.IntRange(-3, 70).Draw(r, "day")), Count: anyNumber(r, "count")})
		}
		html := h.Render(screens.Forecast(t0, v))
		inside(r, html)
		require.NotContains(r, html, "NaN")
		require.NotContains(r, html, "Inf")
		require.Len(r, pick(r, html, "tr", ""), len(v.Days)+1, "the table holds every day")
	})
}

func TestGaugesStayInsideTheirPictures(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		html := h.Render(screens.Clear(t0, screens.ClearView{Chance: anyNumber(r, "chance"), Target: anyNumber(r, "target"),
			Trend: &screens.TrendView{Words: "x", Factor: anyNumber(r, "factor"), Low: anyNumber(r, "low"), High: anyNumber(r, "high")}}))
		html += h.Render(screens.TraceBack(t0, screens.TraceView{From: wed, To: wed.Add(rapid.IntRange(0, 90).Draw(r, "to")), Found: wed.Add(rapid.IntRange(0, 200).Draw(r, "found")),
			Fits: []screens.TraceFit{{Date: wed.Add(rapid.IntRange(-200, 90).Draw(r, "fit")), Title: "x"}}}))
		inside(r, html)
		require.NotContains(r, html, "NaN")
	})
}

// The numbers of days close to each other stand in rows of their own, so that
// each can be read. Where there is no room for all, products have theirs, the other
// days only a line, and the list has every day.
func TestMarksDoNotCoverOneAnother(t *testing.T) {
	few := screens.ForecastView{Days: forecastDays(42)}
	for _, at := range []int{0, 1, 2, 4, 9, 11} {
		few.Marks = append(few.Marks, screens.ForecastMark{Date: wed.Add(at), What: "x"})
	}
	many := screens.ForecastView{Days: forecastDays(42)}
	for at := range 31 {
		kind := screens.TaskByHand
		if at%5 == 4 {
			kind = screens.TaskSpray
		}
		many.Marks = append(many.Marks, screens.ForecastMark{Date: wed.Add(at), What: "x", Kind: kind})
	}
	require.Len(t, uncovered(t, few), len(few.Marks))
	numbered := uncovered(t, many)
	require.Less(t, len(numbered), len(many.Marks))
	for at := 5; at <= 30; at += 5 {
		require.Contains(t, numbered, strconv.Itoa(at), "a spray")
	}
	chart := pick(t, h.Render(screens.Forecast(t0, many)), "svg", "forecast")[0]
	require.Len(t, chart.all("path", "mark"), len(many.Marks))
}

// uncovered gives the numbers above a forecast and demands that none covers another.
func uncovered(t *testing.T, v screens.ForecastView) (words []string) {
	var boxes [][]float64
	for _, b := range pick(t, h.Render(screens.Forecast(t0, v)), "svg", "forecast")[0].all("g", "badge") {
		boxes = append(boxes, append(numbers(t, b.children[0].attrs["x"]), numbers(t, b.children[0].attrs["y"])...))
		words = append(words, b.words())
	}
	for i, a := range boxes {
		for _, b := range boxes[:i] {
			require.True(t, math.Abs(a[0]-b[0]) >= 17 || math.Abs(a[1]-b[1]) >= 17, "%v covers %v", a, b)
		}
	}
	return words
}

// all is the elements below this one with a name and a class.
func (e *element) all(name, class string) (found []*element) {
	e.walk(func(n *element) {
		if n.name == name && strings.HasPrefix(n.attrs["class"], class) {
			found = append(found, n)
		}
	})
	return found
}

// A band that would press the rest to the floor is cut off, and the picture says
// how high it goes.
func TestForecastSaysWhereTheBandLeaves(t *testing.T) {
	v := screens.ForecastView{Days: forecastDays(20)}
	words := t0.Forecast.Beyond("9,000", t0.Format.Day(v.Days[12].Date))
	require.NotContains(t, h.Render(screens.Forecast(t0, v)), words)
	v.Days[12].High = 9000
	require.Contains(t, h.Render(screens.Forecast(t0, v)), words)
}

// What lies before the picture or after it is neither drawn nor listed.
func TestForecastLeavesOutOtherDays(t *testing.T) {
	html := h.Render(screens.Forecast(t0, *forecastView()))
	require.NotContains(t, html, "Outside the picture")
	require.Len(t, pick(t, html, "g", "badge"), 2*6, "in the picture and in the list")
}

// Each stage has a colour of its own and all but one a pattern of its own.
func TestStagesDifferWithoutColour(t *testing.T) {
	html := h.Render(screens.Forecast(t0, *forecastView()))
	seen := map[string]bool{}
	for _, p := range pick(t, html, "pattern", "") {
		d := p.children[0].attrs["d"]
		require.NotEmpty(t, d)
		require.False(t, seen[d])
		seen[d] = true
	}
	require.Len(t, seen, 3)
}

func TestGaugeShowsTheChance(t *testing.T) {
	for _, c := range []struct {
		name         string
		chance       float64
		words, other string
	}{
		{"below", .5, t0.Clear.More(2), t0.Clear.Enough},
		{"reached", .95, t0.Clear.Enough, t0.Clear.More(2)},
	} {
		t.Run(c.name, func(t *testing.T) {
			html := h.Render(screens.Clear(t0, screens.ClearView{Chance: c.chance, Target: .95, Looks: make([]screens.ClearLook, 2)}))
			require.Contains(t, html, c.words)
			require.NotContains(t, html, c.other)
			track, filled := pick(t, html, "rect", "track")[0], pick(t, html, "rect", "filled")[0]
			require.InDelta(t, c.chance, numbers(t, filled.attrs["width"])[0]/numbers(t, track.attrs["width"])[0], .01)
		})
	}
}

// A plan below the aim can be taken but is not put forward; one that is not
// possible cannot be taken.
func TestPlansThatCanBeTaken(t *testing.T) {
	kinds := map[string]string{}
	for _, b := range pick(t, h.Render(screens.Plans(t0, plansView())), "button", "") {
		if b.attrs["data-do"] == screens.ActAcceptPlan {
			kinds[b.attrs["data-option"]] = b.attrs["class"]
		}
	}
	require.Equal(t, map[string]string{"fewest": "btn main", "water": "btn plain"}, kinds)
}
