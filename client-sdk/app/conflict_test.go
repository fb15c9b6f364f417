package app

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// pairOf is a household of two phones that have met.
func pairOf(t *testing.T, role string) (ada, ben *phone) {
	w := newWorld(t)
	ada, ben = w.phone(), w.phone()
	ada.restart(screens.RouteSetup + w.setup)
	ada.do(screens.ActFound, "setup", w.setup, "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	ada.do(screens.ActAddPlant, "name", "Fern", "newplace", "Window sill")
	ada.do(screens.ActInvite, "role", role)
	ben.do(screens.ActJoin, "invitation", ada.value(`#join=([A-Za-z0-9_-]+)`), "name", "Ben", "phone", "Old phone")
	ada.sync()
	ben.sync()
	return ada, ben
}

func (p *phone) rename(plant, name string) {
	p.do(screens.ActSavePlant, "plant", plant, "name", name, "place", p.placeOf(plant))
}

func (p *phone) placeOf(plant string) string {
	var id string
	p.house.Read(func(b *model.Book) { id = b.Plants[mustPlant(p.t.(*testing.T), plant)].Place.String() })
	return id
}

func TestTwoPeopleNameAPlantAtOnce(t *testing.T) {
	ada, ben := pairOf(t, "2")
	fern := ada.plant("Fern")
	ada.link.out, ben.link.out = true, true
	ada.rename(fern, "Fern by the door")
	ada.w.pass(time.Second)
	ben.rename(fern, "Fern in the bath")
	ada.link.out, ben.link.out = false, false
	ada.sync()
	ben.sync()
	ada.sync()
	for _, p := range []*phone{ada, ben} {
		require.Contains(t, p.open(screens.RoutePlants), p.App.t.Conflict.Row)
		page := p.open(screens.PlantRoute(fern))
		for _, words := range []string{"Fern by the door", "Fern in the bath", "Ada, ", "Ben, ", p.App.t.Conflict.Take} {
			require.Contains(t, page, words)
		}
	}
	page := ada.open(screens.PlantRoute(fern))
	require.Contains(t, page, `data-do="`+screens.ActChoose)
	write := ada.value(`data-write="([^"]+)"[^>]*>` + ada.App.t.Conflict.Take)
	ada.do(screens.ActChoose, "record", ada.value(`data-record="([^"]+)"`), "field", "1", "write", write)
	require.NotContains(t, ada.main(), `data-do="`+screens.ActChoose)
	require.Contains(t, ada.main(), "Fern by the door", "the other one was taken")
	ada.sync()
	ben.sync()
	require.NotContains(t, ben.open(screens.PlantRoute(fern)), `data-do="`+screens.ActChoose)
	require.NotContains(t, ben.open(screens.RoutePlants), ben.App.t.Conflict.Row)
	require.Equal(t, ada.digest(), ben.digest())
}

func TestRemovedWhileItWasChanged(t *testing.T) {
	ada, ben := pairOf(t, "2")
	fern := ada.plant("Fern")
	ada.link.out, ben.link.out = true, true
	ada.do(screens.ActGone, "plant", fern)
	ben.rename(fern, "Fern in the bath")
	ada.link.out, ben.link.out = false, false
	ada.sync()
	ben.sync()
	ada.sync()
	words := ada.App.t.Conflict.Removed("Fern in the bath", "Ada", "Ben", "name")
	for _, p := range []*phone{ada, ben} {
		require.Contains(t, p.open(screens.RoutePlants), words)
	}
	ben.do(screens.ActBringBack, "record", ben.value(`data-do="bring-back" data-record="([^"]+)"`))
	require.Contains(t, ben.main(), fern)
	require.NotContains(t, ben.main(), words)
	ben.sync()
	ada.sync()
	require.Contains(t, ada.open(screens.RoutePlants), "Fern in the bath")
	require.NotContains(t, ada.main(), words)
	for _, p := range []*phone{ada, ben} {
		require.NotContains(t, p.open(screens.PlantRoute(fern)), `state st-lost`)
		p.do(screens.ActStartRound, "place", p.placeOf(fern))
		require.Contains(t, p.main(), "Fern in the bath", "it is looked at again")
	}
}

// Somebody looks at a plant that somebody else has noted as gone: it is there after all, or
// the note is of another plant. Both hear of it, and each can decide.
func TestLookedAtAfterItWasRemoved(t *testing.T) {
	for act, back := range map[string]bool{screens.ActBringBack: true, screens.ActLeaveRemoved: false} {
		t.Run(act, func(t *testing.T) {
			ada, ben := pairOf(t, "2")
			fern := ada.plant("Fern")
			ada.link.out, ben.link.out = true, true
			ada.do(screens.ActGone, "plant", fern)
			ben.do(screens.ActNothingFound, "plant", fern)
			ada.link.out, ben.link.out = false, false
			for _, p := range []*phone{ada, ben, ada} {
				p.sync()
			}
			words := ada.App.t.Conflict.RemovedUnknown("Fern", "Ada", "Ben")
			for _, p := range []*phone{ada, ben} {
				require.Contains(t, p.open(screens.RoutePlants), words)
			}
			ada.do(act, "record", ada.value(`data-do="`+act+`" data-record="([^"]+)"`))
			ada.sync()
			ben.sync()
			for _, p := range []*phone{ada, ben} {
				require.NotContains(t, p.open(screens.RoutePlants), words)
				require.Equal(t, back, strings.Contains(p.main(), screens.PlantRoute(fern)))
				require.Contains(t, p.open(screens.PlantRoute(fern)), p.App.t.Story.LookedClean)
			}
		})
	}
}

func TestAGuestSeesWhatWasWrittenAtOnceAndCannotChoose(t *testing.T) {
	ada, ben := pairOf(t, "3")
	fern := ada.plant("Fern")
	tablet := ada.w.phone()
	ada.do(screens.ActInvite, "role", "2")
	tablet.do(screens.ActJoin, "invitation", ada.value(`#join=([A-Za-z0-9_-]+)`), "name", "Cleo", "phone", "Tablet")
	tablet.rename(fern, "Fern by the door")
	ada.rename(fern, "Fern in the bath")
	for _, p := range []*phone{ada, tablet, ada, ben} {
		p.sync()
	}
	page := ben.open(screens.PlantRoute(fern))
	require.Contains(t, page, "Fern by the door")
	require.NotContains(t, page, `data-do="`+screens.ActChoose)
	for _, refused := range []string{`data-do="` + screens.ActMove, `data-do="` + screens.ActGone, "/edit"} {
		require.NotContains(t, page, refused, "what a guest may not do")
	}
}
