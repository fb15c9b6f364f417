package app

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

const day = 24 * time.Hour

// stockOf is what the form of the only product says is left.
func (p *phone) stockOf() string {
	p.open(screens.ProductRoute(p.product()))
	return p.value(`name="stock" value="([^"]*)"`)
}

func (p *phone) label(stock string) []string {
	return []string{"name", "Soap", "means", strconv.Itoa(int(model.MeansSoap)), "unit", strconv.Itoa(int(model.RateMlPerLitre)), "rate", "20", "perplant", "100", "stock", stock}
}

// What runs out is to be bought by a day, and what was used is not on the shelf any more.
func TestTheShelfRunsOut(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	product, task := ada.course("perplant", "100", "stock", "5") // 2 ml for each of three sprays
	words := ada.App.t
	buy := words.Tasks.Buy("Soap")
	ada.do(screens.ActApply, "task", task, "part", "1", "amount", "100")
	require.Equal(t, "3", ada.stockOf())
	w.pass(7 * day)
	require.Contains(t, ada.open(screens.RouteToday), buy, "the week says so")
	ada.do(screens.ActApply, "task", ada.spray(2), "part", "1", "amount", "100")
	w.pass(6 * day)
	page := ada.open(screens.RouteToday)
	require.Contains(t, page, buy)
	require.Contains(t, page, "The shelf holds 1 ml.")
	require.Contains(t, page, words.Tasks.By("")[:len(words.Tasks.By(""))-1], "by when")

	var key model.TaskKey
	ada.house.Read(func(b *model.Book) {
		for _, x := range ada.agenda(b).Open() {
			if x.Key.Rule == model.RuleBuy {
				key = x.Key
			}
		}
	})
	require.Equal(t, words.Tasks.Bought, ada.do(screens.ActTaskDone, "task", taskText(key)).Say)
	require.Contains(t, ada.main(), `name="stock" value="1"`, "the shelf asks how much there is now")
	ada.do(screens.ActSaveProduct, append(ada.label("5"), "product", product)...)
	require.Equal(t, "5", ada.stockOf(), "as much as there was at first is more than there was lately")
	before := ada.digest()
	ada.do(screens.ActSaveProduct, append(ada.label("5"), "product", product)...)
	require.Equal(t, before, ada.digest(), "nothing new was said")
}

// A plant that came in is looked at after three weeks; set apart, it is set back then.
func TestATimeApartEnds(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	ada.do(screens.ActAddPlant, "name", "Newcomer", "place", ada.standsIn("Fern"), "arrived", "1")
	plant := ada.plant("Newcomer")
	ada.do(screens.ActIsolate, "plant", plant)
	words := ada.App.t.Tasks
	ends := ada.App.t.Format.Day(ada.today().Add(21))
	require.Contains(t, ada.open(screens.PlantRoute(plant)), ends, "the page says when")
	look := words.Quarantine("Newcomer")
	require.NotContains(t, ada.open(screens.RouteToday), look)
	w.pass(21 * day)
	require.Contains(t, ada.open(screens.RouteToday), look)
	var key model.TaskKey
	ada.house.Read(func(b *model.Book) {
		for _, x := range ada.agenda(b).Open() {
			if x.Key.Rule == model.RuleQuarantine {
				key = x.Key
			}
		}
	})
	walk := taskText(key)
	ada.open(screens.RoundRoute(walk))
	ada.do(screens.ActHandsWashed, "place", walk)
	ada.do(screens.ActNothingFound, "plant", plant, "place", walk)
	require.Contains(t, ada.main(), words.EndApart)
	ada.do(screens.ActRelease, "plant", plant)
	require.NotContains(t, ada.open(screens.RouteToday), `href="`+screens.RoundRoute(walk)+`"`)
	require.Contains(t, ada.open(screens.PlantRoute(plant)), ada.App.t.Words.Standing["clear"])
}

// Cut flowers come to a place, not into the collection: no plant is added, and the look
// at what stands there comes sooner.
func TestCutFlowersAreNoPlants(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	ada.do(screens.ActNothingFound, "plant", ada.plant("Fern"), "place", ada.standsIn("Fern"))
	due := func() (d model.Date) {
		ada.house.Read(func(b *model.Book) {
			for _, x := range ada.agenda(b).Open() {
				if x.Key.Rule == model.RuleRound {
					d = x.When()
				}
			}
		})
		return d
	}
	require.Equal(t, ada.today().Add(7), due())
	require.Contains(t, ada.open(screens.PlaceRoute(ada.standsIn("Fern"))), "Keep them in another room")
	answer := ada.do(screens.ActCutCameIn, "place", ada.standsIn("Fern"))
	require.Equal(t, ada.today().Add(4), due())
	require.Contains(t, ada.open(screens.RoutePlants), ada.App.t.Format.Plants(1))
	ada.do(screens.ActUndo, "id", answer.Undo.ID)
	require.Equal(t, ada.today().Add(7), due())
}

// A reading of the temperature moves dates and says so.
func TestHeatMovesARound(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	ada.do(screens.ActOpenOutbreak, "plant", ada.plant("Fern"), "pest", strconv.Itoa(int(model.PestSpiderMite)))
	ada.do(screens.ActNothingFound, "plant", ada.plant("Fern"), "place", ada.standsIn("Fern"))
	require.NotContains(t, ada.open(screens.RouteToday), "breed fast at")
	before := ada.digest()
	ada.open(screens.PlaceRoute(ada.standsIn("Fern")))
	require.Equal(t, ada.App.t.Say.NeedNumber, ada.do(screens.ActNoteHeat, "place", ada.standsIn("Fern"), "coldest", "30", "warmest", "20").Say)
	require.Equal(t, ada.App.t.Say.NeedNumber, ada.do(screens.ActNoteHeat, "place", ada.standsIn("Fern"), "coldest", "", "warmest", "20").Say)
	require.Equal(t, before, ada.digest())
	ada.do(screens.ActNoteHeat, "place", ada.standsIn("Fern"), "coldest", "21", "warmest", "26.5")
	require.Contains(t, ada.open(screens.RouteToday), "Spider mites breed fast at 26.5 °C: a look every 4 days.")
}
