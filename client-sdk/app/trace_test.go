package app

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/identify"
)

// A plant comes in, stands among others, and three weeks later thrips are found on
// it: the trace names its coming in, its neighbours and where it came from.
func TestWhereItCameFrom(t *testing.T) {
	p := beginner(t)
	t0, f0 := p.App.t.Trace, p.App.t.LookFirst
	mother := p.plant("Fern")
	p.do(screens.ActAddPlant, "name", "Ivy", "newplace", "Window sill", "arrived", "1", "thin", "1", "mother", mother)
	p.open(screens.RoutePlants)
	ivy := p.plant("Ivy")
	p.house.Read(func(b *model.Book) {
		x := b.Plants[mustPlant(t, ivy)]
		require.True(t, x.ThinLeaf)
		require.False(t, x.Weak)
		require.Equal(t, mother, x.CuttingOf.String())
	})

	rounds := p.open(screens.RouteRound)
	require.Contains(t, rounds, f0.Title)
	require.Contains(t, rounds, f0.NewHere("today")+" "+f0.Thin)

	p.w.pass(21 * day)
	p.do(screens.ActSaveFinding, "plant", ivy, "part", "1", "sign", "2", "count1", "6", "count3", "3")
	p.do(screens.ActOpenOutbreak, "plant", ivy, "pest", "1")
	page := p.main()
	require.Contains(t, page, t0.Title)
	require.Contains(t, page, t0.CameIn("Ivy"))
	require.Contains(t, page, t0.Cutting("Ivy", "Fern"))
	require.Contains(t, page, t0.LookAt)
	require.Contains(t, page, t0.WhyNeighbour("")[:20], "the fern stands beside it")
	require.Contains(t, page, t0.Giver("Ivy"))

	rounds = p.open(screens.RouteRound)
	require.Contains(t, rounds, f0.NearUnseen("Thrips"), "its neighbour comes first now")
	p.open(screens.RoundRoute(p.value(`data-do="start-round" data-place="([0-9a-f-]{36})"`)))
	require.Contains(t, p.main(), f0.NearUnseen("Thrips"), "and the walk says why")
}

func TestOutAndIn(t *testing.T) {
	p := beginner(t)
	fern := p.plant("Fern")
	p.open(screens.PlantRoute(fern))
	require.Contains(t, p.main(), p.App.t.Plant.GoOut)
	p.do(screens.ActWentOut, "plant", fern)
	require.Contains(t, p.main(), p.App.t.Plant.BackIn)
	p.do(screens.ActBackIn, "plant", fern)
	require.Contains(t, p.main(), p.App.t.Plant.GoOut)
	p.open(screens.RouteRound)

	place := p.value(`data-do="start-round" data-place="([0-9a-f-]{36})"`)
	require.Contains(t, p.open(screens.PlaceRoute(place)), p.App.t.Place.Cut)
	answer := p.do(screens.ActCutCameIn, "place", place)
	require.NotNil(t, answer.Undo)
	require.Contains(t, p.open(screens.RouteRound), p.App.t.LookFirst.NewHere("today"))
}

// A look keeps what the person said of it, and nothing else.
func TestLooksSayWhereAndHow(t *testing.T) {
	p := beginner(t)
	fern := p.plant("Fern")
	last := func() *model.Inspection {
		var look *model.Inspection
		p.house.Read(func(b *model.Book) {
			facts := b.PlantFacts(mustPlant(t, fern))
			look = facts[len(facts)-1].Body.(*model.Inspection)
		})
		return look
	}
	shown := model.PartsOf(model.Underside, model.NewGrowth)
	p.open(screens.PlantRoute(fern))
	require.Contains(t, p.main(), p.App.t.Round.Confirms("underside and new growth"))
	p.do(screens.ActNothingFound, "plant", fern, "looked", p.value(`data-do="nothing-found"[^>]*data-looked="(\d+)"`))
	require.Equal(t, shown, last().Looked, "the one tap confirms what the screen named")

	p.do(screens.ActSaveFinding, "plant", fern, "part", "1", "sign", "1", "looked", "3", "aid", "1", "growing", "1", screens.AskedName(model.FineWebbing), screens.AnswerAbsent)
	look := last()
	require.Equal(t, model.PartsOf(model.Underside, model.Stem), look.Looked)
	require.Equal(t, model.FineWebbing, look.Absent)
	require.Equal(t, model.Lens, look.Aid)
	require.True(t, look.Growing)
	o := identify.FromInspection(look)
	require.True(t, o.Absent.Has(identify.Webbing))

	p.do(screens.ActSaveFinding, "plant", fern, "part", "1", "sign", "1")
	require.Zero(t, last().Looked, "nobody said")
	require.Zero(t, last().Absent)
}
