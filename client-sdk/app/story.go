package app

import (
	"context"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/h"
	"leafturn/model"
)

// storyPage is about how many entries of a plant's past come at a time. A plant that is
// looked at every week has five hundred of them in ten years, and hardly anybody scrolls
// to the first.
const storyPage = 30

// story is how much of a plant's past its page shows.
type story struct {
	plant   model.PlantID
	entries int
}

// told tells a plant's past as far as its page shows it, and whether there is more.
func (a *App) told(b *model.Book, plant model.PlantID) (days []screens.TimelineDay, older bool) {
	if a.story.plant != plant {
		a.story = story{plant, storyPage}
	}
	return a.page(b, b.PlantFacts(plant), func(*model.Fact) bool { return true }, a.story.entries)
}

// older answers with what comes before the entries that a plant's page shows.
func (a *App) older(_ context.Context, e Event) Answer {
	plant, err := model.ParseID[model.Plant](e.Data.Get("plant"))
	if err != nil || plant != a.story.plant {
		return Answer{}
	}
	var days []screens.TimelineDay
	var more bool
	a.house.Read(func(b *model.Book) {
		before, _ := a.told(b, plant)
		a.story.entries += storyPage
		days, more = a.told(b, plant)
		days = days[len(before):]
	})
	return Answer{Swaps: []Swap{{Target: screens.IDOlder, HTML: h.Render(screens.Days(a.t, plant.String(), days, more)), Outer: true}}}
}
