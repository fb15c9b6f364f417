package screens

import (
	"strconv"

	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// Spot is one of the five places of the bottom bar.
type Spot string

// The five places. The empty Spot stands for screens that belong to none, such
// as the welcome: they have no bar.
const (
	SpotToday     Spot = "today"
	SpotRound     Spot = "round"
	SpotPlants    Spot = "plants"
	SpotOutbreaks Spot = "outbreaks"
	SpotHousehold Spot = "household"
)

// BarView is the bottom bar.
type BarView struct {
	Current Spot
	Due     int  // tasks due today or overdue
	Sample  bool // the sample household is open
	Notes   int  // what a person should read about the household: notices, and photos that could not be sent
}

// Bar is the content of the navigation at the bottom.
func Bar(t *texts.Catalogue, v BarView) h.Node {
	if v.Current == "" {
		return nil
	}
	spot := func(s Spot, route, label string, count int, said string) h.Node {
		return h.A(h.Href(route), h.If(s == v.Current, h.Aria("current", "page")), icon(string(s)),
			h.Span(class("word"), h.Text(label)),
			h.If(count > 0, h.Group{
				h.Span(class("count"), h.Aria("hidden", "true"), h.Text(strconv.Itoa(count))),
				h.Span(class("unseen"), h.Text(said)),
			}))
	}
	return h.Group{
		spot(SpotToday, RouteToday, t.Bar.Today, v.Due, t.Bar.DueSaid(v.Due)),
		spot(SpotRound, RouteRound, t.Bar.Round, 0, ""),
		spot(SpotPlants, RoutePlants, t.Bar.Plants, 0, ""),
		spot(SpotOutbreaks, RouteOutbreaks, t.Bar.Outbreaks, 0, ""),
		spot(SpotHousehold, RouteHousehold, t.Bar.Household, v.Notes, t.Bar.NotesSaid(v.Notes)),
	}
}

// sampleNotice reminds that nothing here is real, with the way out.
func sampleNotice(t *texts.Catalogue, sample bool) h.Node {
	if !sample {
		return nil
	}
	return h.Div(class("sample"), h.P(h.Text(t.Common.SampleHere)), button("quiet", t.Common.LeaveSample, act(ActLeaveSample)))
}
