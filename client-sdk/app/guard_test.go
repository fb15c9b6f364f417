package app

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// course takes on a course of sprays from today on for Fern, and gives the product and
// the first spray's task.
func (p *phone) course(label ...string) (product, task string) {
	return p.courseFrom(p.today(), label...)
}

func (p *phone) courseFrom(first model.Date, label ...string) (product, task string) {
	p.do(screens.ActAddProduct, append([]string{"name", "Soap", "means", strconv.Itoa(int(model.MeansSoap)), "unit", strconv.Itoa(int(model.RateMlPerLitre)), "rate", "20"}, label...)...)
	p.do(screens.ActOpenOutbreak, "plant", p.plant("Fern"), "pest", strconv.Itoa(int(model.PestAphid)))
	var outbreak string
	product = p.product()
	p.house.Read(func(b *model.Book) {
		for id := range b.Outbreaks {
			outbreak = id.String()
		}
	})
	p.do(screens.ActAcceptCourse, "outbreak", outbreak, "product", product, "interval", "7", "applications", "3", "first", first.String(), "check", "3")
	return product, p.spray(1)
}

// spray is the how manieth open spray of the course.
func (p *phone) spray(n uint32) (task string) {
	p.house.Read(func(b *model.Book) {
		for _, t := range p.agenda(b).Open() {
			if t.Key.Rule == model.RuleSpray && t.Key.Ordinal == n {
				task = taskText(t.Key)
			}
		}
	})
	require.NotEmpty(p.t, task)
	return task
}

// product is the only one on the shelf.
func (p *phone) product() (product string) {
	p.house.Read(func(b *model.Book) {
		for id := range b.Products {
			product = id.String()
		}
	})
	return product
}

// While a re-entry time runs nobody is asked to touch the plants; what was done all the
// same can be noted, and counts.
func TestReentryBlocksWhatTouchesThePlant(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	_, task := ada.course("reentry", "4")
	ada.sync()
	ben.sync()
	require.Contains(t, ben.open(screens.ConfirmRoute(task)), ben.App.t.Confirm.Done)
	require.NotContains(t, ben.main(), ben.App.t.Confirm.BlockedTitle)
	ada.do(screens.ActApply, "task", task, "part", "1", "amount", "100")
	ada.sync()
	ben.sync()
	held := ben.App.t.Agenda.HeldBack("")
	held = held[:len(held)-2]
	for _, route := range []string{screens.PlantRoute(ben.plant("Fern")), screens.RoundRoute(ben.standsIn("Fern"))} {
		require.Contains(t, ben.open(route), held, route)
	}
	require.Contains(t, ben.open(screens.ConfirmRoute(task)), ben.App.t.Confirm.BlockedTitle, "the task is done; whoever sprays once more reads this first")
	require.NotContains(t, ben.main(), ben.App.t.Confirm.Done)
	require.Contains(t, ben.main(), ben.App.t.Tasks.Anyway)
	ben.do(screens.ActApply, "task", task, "part", "1", "amount", "100")
	require.Contains(t, ben.open(screens.RouteToday), ben.App.t.Today.FlagTitle, "both count")
	w.pass(5 * time.Hour)
	require.NotContains(t, ben.open(screens.PlantRoute(ben.plant("Fern"))), held, "the time is over")
}

// Another member said to do it, and that phone has not been heard from since: it may
// have been done.
func TestWhatSomebodyMayHaveDone(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	_, task := ada.course()
	ada.sync()
	ben.sync()
	ben.do(screens.ActClaim, "task", task)
	ben.sync()
	ada.sync()
	ask := ada.App.t.Tasks.MaybeTreated("Fern", "Ben", ada.App.t.Format.Day(ada.today()))
	require.Contains(t, ada.open(screens.ConfirmRoute(task)), ask)
	require.Contains(t, ada.main(), ada.App.t.Confirm.Done, "it is not forbidden")
	require.NotContains(t, ben.open(screens.ConfirmRoute(task)), "has not been heard from")
	ben.open(screens.RouteToday)
	ben.do(screens.ActGiveBack, "task", task)
	ben.sync()
	ada.sync()
	require.NotContains(t, ada.open(screens.ConfirmRoute(task)), ask, "given back")
}

// It was another's turn, and that phone has not been heard from since.
func TestWhatSomebodyWhoseTurnItWasMayHaveDone(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	place := ada.standsIn("Fern")
	ada.do(screens.ActSavePlace, "place", place, "name", "Window sill", "rhythm", "7", "turn", ben.house.Member().String())
	_, task := ada.course()
	ada.sync()
	ben.sync()
	ask := ada.App.t.Tasks.TheirTurn("Fern", "Ben", ada.App.t.Format.Day(ada.today()))
	require.Contains(t, ada.open(screens.ConfirmRoute(task)), ask)
	require.Contains(t, ada.main(), ada.App.t.Confirm.Done, "it is not forbidden")
	require.NotContains(t, ben.open(screens.ConfirmRoute(task)), "Ask first.")
	ben.do(screens.ActNothingFound, "plant", ben.plant("Fern"))
	ben.sync()
	ada.sync()
	require.NotContains(t, ada.open(screens.ConfirmRoute(task)), ask, "what came since would have told")
}

// What the two phones did without hearing of each other is shown to both, with what to
// do now.
func TestABreachIsShownToBoth(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	product, task := ada.course()
	ada.do(screens.ActSaveProduct, "product", product, "name", "Soap", "means", "1", "unit", "2", "rate", "20", "season", "1")
	ada.sync()
	ben.sync()
	for _, p := range []*phone{ada, ben} {
		p.do(screens.ActApply, "task", task, "part", "1", "amount", "100")
	}
	require.NotContains(t, ada.open(screens.RouteToday), ada.App.t.Tasks.BreachTitle)
	for _, p := range []*phone{ada, ben, ada} {
		p.sync()
	}
	for _, p := range []*phone{ada, ben} {
		page := p.open(screens.RouteToday)
		require.Contains(t, page, p.App.t.Tasks.BreachTitle)
		require.Contains(t, page, p.App.t.Tasks.BreachNow)
		require.Contains(t, page, "Ben")
	}
}

// What has to stay in the soil is told to whoever waters.
func TestWateringKeepsWhatIsInTheSoil(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	fern := ada.plant("Fern")
	require.Equal(t, ada.App.t.Tasks.WaterSaid, ada.do(screens.ActWater, "plant", fern).Say)
	ada.do(screens.ActAddProduct, "name", "Granules", "means", strconv.Itoa(int(model.MeansSystemicSoil)), "unit", strconv.Itoa(int(model.RateReady)))
	product, err := model.ParseID[model.Product](ada.product())
	require.NoError(t, err)
	plant, err := model.ParseID[model.Plant](fern)
	require.NoError(t, err)
	_, err = ada.house.Do(t.Context(), replica.Seen(&model.Application{Plants: []model.PlantID{plant}, Product: product}))
	require.NoError(t, err)
	require.Contains(t, ada.do(screens.ActWater, "plant", fern).Say, "none runs out of the pot")
	require.Contains(t, ada.open(screens.PlantRoute(fern)), "none runs out of the pot")
}

// Badly damaged leaves are cut off before the course; noting it on the plant's own page
// ends the task.
func TestPruningComesFirst(t *testing.T) {
	w := newWorld(t)
	ada, _ := w.household(model.Helper)
	fern := ada.plant("Fern")
	ada.do(screens.ActSaveFinding, "plant", fern, "part", "1", "sign", strconv.Itoa(int(model.FineWebbing)), "damage", "4")
	ada.course()
	words := ada.App.t.Tasks
	page := ada.open(screens.RouteToday)
	require.Contains(t, page, words.Prune(1))
	require.Contains(t, page, "saw much damage")
	ada.open(screens.PlantRoute(fern))
	answer := ada.do(screens.ActTend, "plant", fern, "kind", strconv.Itoa(int(model.Pruned)))
	require.Contains(t, ada.open(screens.RouteToday), ada.App.t.Today.DoneToday)
	require.NotContains(t, ada.main(), "saw much damage")
	ada.do(screens.ActUndo, "id", answer.Undo.ID)
	require.Contains(t, ada.open(screens.RouteToday), "saw much damage")
}
