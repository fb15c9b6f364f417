package app

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// Two people and two places, each of which is always one person's.
func (w *world) twoPlaces() (ada, ben *phone) {
	ada, ben = w.household(model.Helper)
	ada.do(screens.ActAddPlant, "name", "Basil", "newplace", "Kitchen shelf")
	for plant, p := range map[string]*phone{"Fern": ada, "Basil": ben} {
		place := ada.standsIn(plant)
		name := map[string]string{"Fern": "Window sill", "Basil": "Kitchen shelf"}[plant]
		ada.do(screens.ActSavePlace, "place", place, "name", name, "rhythm", "7", "turn", p.house.Member().String())
	}
	ada.sync()
	ben.sync()
	return ada, ben
}

func TestTodayShowsMineOrEverybodys(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.twoPlaces()
	require.Contains(t, ada.open(screens.RouteToday), "Round: Kitchen shelf", "at first nothing is hidden")
	require.Contains(t, ada.page[screens.IDBar], ada.App.t.Bar.DueSaid(2))

	ada.do(screens.ActShow, "whose", "mine")
	for range 2 {
		require.Contains(t, ada.main(), "Round: Window sill")
		require.NotContains(t, ada.main(), "Round: Kitchen shelf")
		require.Contains(t, ada.page[screens.IDBar], ada.App.t.Bar.DueSaid(1))
		ada.restart(screens.RouteToday) // it is remembered
	}
	ada.do(screens.ActTaskDone, "task", taskText(ada.round("Fern")))
	require.Contains(t, ada.main(), ada.App.t.Reminders.NoneMine, "what is hidden is said")
	ada.do(screens.ActShow, "whose", "nonsense")
	require.NotContains(t, ada.main(), "Round: Kitchen shelf")
	ada.do(screens.ActShow, "whose", "all")
	require.Contains(t, ada.main(), "Round: Kitchen shelf")
	require.Contains(t, ben.open(screens.RouteToday), "Round: Window sill", "the choice is each phone's own")
}

func TestWhoLivesAloneHasNoChoice(t *testing.T) {
	w := newWorld(t)
	ada := w.phone()
	ada.restart(screens.RouteSetup + w.setup)
	ada.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	require.NotContains(t, ada.open(screens.RouteToday), `data-do="show"`)
}

// round is the key of the round at a plant's place.
func (p *phone) round(plant string) (k model.TaskKey) {
	place, err := model.ParseID[model.Place](p.standsIn(plant))
	require.NoError(p.t, err)
	p.house.Read(func(b *model.Book) { k = p.roundTask(b, place).Key })
	return k
}

func TestATaskThatWasTakenIsGivenBack(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	task := taskText(ada.round("Fern"))
	ada.open(screens.RouteToday)
	ada.do(screens.ActClaim, "task", task)
	require.Contains(t, ada.main(), ada.App.t.Tasks.GiveBack)
	ada.sync()
	ben.sync()
	require.Contains(t, ben.open(screens.RouteToday), "Ada takes it")
	require.NotContains(t, ben.main(), ben.App.t.Tasks.GiveBack)
	ada.do(screens.ActGiveBack, "task", task)
	require.NotContains(t, ada.main(), "You take it")
	ada.sync()
	ben.sync()
	require.NotContains(t, ben.open(screens.RouteToday), "Ada takes it")
	require.Equal(t, 1, ben.Due())
}

func TestWateringAPlantAndAPlace(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	ada.do(screens.ActAddPlant, "name", "Basil", "place", ada.standsIn("Fern"))
	watered := func() (plants int) {
		ada.house.Read(func(b *model.Book) {
			for _, f := range b.Facts() {
				if x, ok := f.Body.(*model.Handling); ok && x.Kind == model.Watered && b.Stands(f.ID) {
					plants += len(x.Plants)
				}
			}
		})
		return plants
	}
	require.Contains(t, ada.open(screens.PlantRoute(ada.plant("Fern"))), `data-do="water" data-plant="`+ada.plant("Fern")+`"`)
	answer := ada.do(screens.ActWater, "plant", ada.plant("Fern"))
	require.Equal(t, 1, watered())
	require.Contains(t, ada.main(), "Watered")
	ada.do(screens.ActUndo, "id", answer.Undo.ID)
	require.Zero(t, watered())
	require.Contains(t, ada.open(screens.RoutePlants), `data-do="water" data-place="`+ada.standsIn("Fern")+`"`)
	ada.do(screens.ActWater, "place", ada.standsIn("Fern"))
	require.Equal(t, 2, watered())
}

// What was done by hand is noted with one tap, and nothing else is.
func TestTending(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	fern := ada.plant("Fern")
	for _, kind := range screens.Tended {
		ada.open(screens.PlantRoute(fern))
		ada.do(screens.ActTend, "plant", fern, "kind", strconv.Itoa(int(kind)))
		require.Contains(t, ada.main(), `<p class="strong">`+ada.App.t.Words.Handling[kind])
	}
	before := ada.digest()
	ada.do(screens.ActTend, "plant", fern, "kind", strconv.Itoa(int(model.ThrownOut)))
	require.Equal(t, before, ada.digest())
}

// A place with a sticky card has it read.
func TestACardHangs(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	place := ada.standsIn("Fern")
	require.NotContains(t, ada.open(screens.RouteToday), "sticky card")
	ada.do(screens.ActSavePlace, "place", place, "name", "Window sill", "rhythm", "7", "card", strconv.Itoa(int(model.BlueCard)))
	require.Contains(t, ada.open(screens.RouteToday), "Read the sticky card: Window sill")
	require.Contains(t, ada.open(screens.PlaceRoute(place)), `name="card" value="2" checked`)
	ada.do(screens.ActSaveCard, "place", place, "count", "3", "colour", "2")
	require.NotContains(t, ada.open(screens.RouteToday), `href="`+screens.CardRoute(place), "the next reading is a week away")
}

// Guests are offered nothing that their phone would be refused, wherever they go.
func TestGuestsAreOfferedWhatTheyMayDo(t *testing.T) {
	w := newWorld(t)
	ada, guest := w.household(model.Guest)
	ada.do(screens.ActAddProduct, "name", "Soap", "means", "1", "unit", "2", "rate", "20", "interval", "7", "cautions", "Invented caution.")
	ada.do(screens.ActOpenOutbreak, "plant", ada.plant("Fern"), "pest", strconv.Itoa(int(model.PestAphid)))
	ada.do(screens.ActNothingFound, "plant", ada.plant("Fern"))
	ada.sync()
	guest.sync()
	var product, outbreak string
	guest.house.Read(func(b *model.Book) {
		for id := range b.Products {
			product = id.String()
		}
		for id := range b.Outbreaks {
			outbreak = id.String()
		}
	})
	fern, place := guest.plant("Fern"), guest.standsIn("Fern")
	refused := []string{screens.ActAddPlant, screens.ActSavePlant, screens.ActAddPlace, screens.ActSavePlace, screens.ActAddProduct, screens.ActSaveProduct, screens.ActRemoveProduct,
		screens.ActOpenOutbreak, screens.ActAddToOutbreak, screens.ActSetPest, screens.ActCloseOutbreak, screens.ActPlanChoices, screens.ActAcceptPlan, screens.ActAcceptCourse,
		screens.ActMove, screens.ActGone, screens.ActWithdraw, screens.ActSaveTurn, screens.ActInvite}
	check := func(where string) {
		for _, action := range refused {
			require.NotContains(t, guest.main(), `data-do="`+action+`"`, where)
		}
		for _, route := range []string{screens.RouteNewPlant, screens.RouteNewProduct, screens.RouteNewPlace, screens.RouteInvite, screens.PlantEditRoute(fern), screens.PlansRoute(outbreak), screens.CourseRoute(outbreak)} {
			require.NotContains(t, guest.main(), `href="`+route+`"`, where)
		}
	}
	for _, route := range []string{screens.RouteToday, screens.RouteFirst, screens.RouteRound, screens.RoutePlants, screens.RouteNewPlant, screens.PlantRoute(fern), screens.PlantEditRoute(fern),
		screens.RouteOutbreaks, screens.OutbreakRoute(outbreak), screens.PlansRoute(outbreak), screens.CourseRoute(outbreak), screens.RouteHousehold, screens.RouteNewProduct,
		screens.ProductRoute(product), screens.RouteNewPlace, screens.PlaceRoute(place), screens.RouteReminders, screens.RouteInvite} {
		guest.open(route)
		check(route)
	}
	require.Contains(t, guest.open(screens.ProductRoute(product)), "Invented caution.", "what the label says is there to be read")
	guest.do(screens.ActSaveFinding, "plant", fern, "part", "1", "sign", strconv.Itoa(int(model.FineWebbing)))
	require.Contains(t, guest.main(), guest.App.t.After.Title)
	check("after a finding")
	guest.open(screens.PlantRoute(fern))
	require.Contains(t, guest.main(), `data-do="`+screens.ActWithdraw+`"`, "what the guest wrote the guest takes back")
}

func TestAGuestsStayIsShown(t *testing.T) {
	w := newWorld(t)
	ada, sitter := w.household(model.Guest)
	guest := sitter.house.Member().String()
	words := ada.App.t.Reminders
	require.Contains(t, ada.open(screens.MemberRoute(guest)), words.StayOpen)
	last := ada.today().Add(3)
	ada.do(screens.ActSaveReminders, "member", guest, "ends", last.String())
	require.Contains(t, ada.open(screens.MemberRoute(guest)), words.StayUntil(ada.App.t.Format.Day(last)))
	require.Contains(t, ada.main(), `href="`+screens.RemindersRoute(guest)+`"`)
	w.pass(5 * day)
	require.Contains(t, ada.open(screens.MemberRoute(guest)), words.StayOver(ada.App.t.Format.Day(last)))
}
