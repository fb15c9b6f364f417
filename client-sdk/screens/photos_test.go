package screens_test

import (
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
)

func photoExamples(t *texts.Catalogue) []example {
	return []example{
		{"finding-shots", screens.SpotRound, screens.Finding(t, screens.FindingView{Plant: fern, Name: "Big monstera", Shots: screens.ShotsView{
			Plant: fern, Working: 1, Problem: "This file is not a photo.",
			Taken: []screens.Shot{{Photo: underside}, {Photo: screens.Photo{Sum: photo[1:] + "0", Alt: underside.Alt}, Doubt: t.Photos.Doubt["blurred"]}},
		}})},
	}
}
