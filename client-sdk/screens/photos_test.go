package screens_test

import (
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
)

func photoExamples(t *texts.Catalogue) []example {
	return []example{
		{"finding-shots", screens.SpotRound, screens.Finding(t, screens.FindingView{Plant: fern, Name: "Big monstera", Shots: screens.ShotsView{
			Plant: fern, Working: 1, Problem: "This file is not a photo.",
			Taken: []screens.Shot{{Photo: underside}, {Photo: screens.Photo{Sum: photo[1:] + "0", Alt: underside.Alt}, Doubt: t.Photos.Doubt["blurred"]}},
		}})},
		{"measure", screens.SpotPlants, screens.Measure(t, screens.MeasureView{Sum: photo, Photo: underside, Share: t.Measure.Share(4.2, 2.1, 6.6), Method: t.Measure.Method(1, 82), Outline: leafEdge,
			Noted: t.Measure.Noted[model.Agreed]("about 6 % (3–9)")})},
		{"measure-correcting", screens.SpotPlants, screens.Measure(t, screens.MeasureView{Sum: photo, Photo: underside, CannotTell: t.Measure.CannotTell["not_plain"], Outline: leafEdge, Correcting: true, Chosen: 1})},
		{"recovery", screens.SpotPlants, screens.Recovery(t, recoveryView(screens.CompareView{Before: underside, After: second, Width: 1000, Height: 750, AfterWidth: 750, AfterHeight: 1000, Matrix: "matrix(1 0 0 1 12 8)"}))},
		{"recovery-apart", screens.SpotPlants, screens.Recovery(t, recoveryView(screens.CompareView{Before: underside, After: second, Cannot: t.Recovery.Cannot["no_match"]}))},
		{"recovery-by-hand", screens.SpotPlants, screens.Recovery(t, recoveryView(screens.CompareView{Before: underside, After: second, Hand: &screens.HandView{
			Plant: fern, Before: underside, After: second, At: 1, Wide: [2]float64{1.5, .75}, Problem: t.Recovery.HandBoth,
			Points: [2][2]*model.Point{{&leafEdge[0], &leafEdge[1]}, {&leafEdge[2], nil}}}}))},
		{"recovery-laid", screens.SpotPlants, screens.Recovery(t, recoveryView(screens.CompareView{Before: underside, After: second, ByHand: true, Width: 1000, Height: 750, AfterWidth: 750, AfterHeight: 1000, Matrix: "matrix(1 0 0 1 12 8)"}))},
		{"recovery-sheet", screens.SpotPlants, screens.RecoverySheet(t, recoveryView(screens.CompareView{}))},
		{"recovery-empty", screens.SpotPlants, screens.Recovery(t, screens.RecoveryView{Plant: fern, Name: "Big monstera"})},
		{"card", screens.SpotToday, screens.Card(t, screens.CardView{Place: "pl1", Name: "Living room sill", Photo: &underside, Count: 2, Taking: true, Turn: 1, Before: []string{t.Card.Reading("Tue 17 Nov", 9, "Thrips", true)}, Counted: t.Card.Counted(2, 1, 4), Rings: []screens.Ring{{X: .3, Y: .4, RX: .02, RY: .03}, {X: .6, Y: .5, RX: .02, RY: .03}}})},
		{"card-cannot", screens.SpotToday, screens.Card(t, screens.CardView{Place: "pl1", Name: "Living room sill", Photo: &underside, Cannot: t.Card.Cannot["no_card"], Colour: model.BlueCard})},
		{"measure-working", screens.SpotPlants, screens.Measure(t, screens.MeasureView{Sum: photo, Photo: underside, Working: true})},
	}
}

var leafEdge = []model.Point{{X: 2000, Y: 3000}, {X: 5000, Y: 1500}, {X: 8000, Y: 4000}, {X: 5000, Y: 8000}}

var second = screens.Photo{Sum: photo[1:] + "0", Alt: "Underside of a leaf of Monstera by the window, Tue 1 Dec"}

func recoveryView(c screens.CompareView) screens.RecoveryView {
	day := model.Date(20_781)
	return screens.RecoveryView{
		Plant: fern, Name: "Big monstera", Compare: c, Older: 1, Today: "Wed 2 Dec", Packing: screens.PackingView{Plant: fern, Working: c.ByHand, Done: 1, Of: 2},
		Shots: []screens.RecoveryShot{{Photo: underside, Date: "Tue 24 Nov", Share: "about 12 % (9–15)"}, {Photo: second, Date: "Tue 1 Dec"}},
		Trend: []screens.TrendPoint{{Date: day, Share: 1200, Low: 900, High: 1500, Words: "about 12 % (9–15)"}, {Date: day + 7, Share: 800, Low: 600, High: 1000, Words: "about 8 % (6–10)"}},
		Marks: []screens.RecoveryMark{{Date: day + 2, What: "Treated with Potash soap (invented)"}, {Date: day + 7, What: t0.Recovery.Growing, Good: true}},
	}
}
