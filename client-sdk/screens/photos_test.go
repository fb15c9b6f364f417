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
		{"measure-working", screens.SpotPlants, screens.Measure(t, screens.MeasureView{Sum: photo, Photo: underside, Working: true})},
	}
}

var leafEdge = []model.Point{{X: 2000, Y: 3000}, {X: 5000, Y: 1500}, {X: 8000, Y: 4000}, {X: 5000, Y: 8000}}
