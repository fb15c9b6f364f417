package screens_test

import (
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
)

func memberExamples(t *texts.Catalogue) []example {
	return []example{
		{"plants-removal", screens.SpotPlants, screens.Plants(t, screens.PlantsView{Total: 14, Groups: []screens.PlantGroup{{Place: sill, Plants: rows[:1]}},
			Removals: []screens.Removal{{Record: "5." + fern, Name: "Aunt’s jade", Words: t.Conflict.Removed("Aunt’s jade", "Jonna", "Mirek", "name and place"), Decide: true}}})},
		{"plants-guest", screens.SpotPlants, screens.Plants(t, screens.PlantsView{Total: 14, Guest: true, Groups: []screens.PlantGroup{{Place: sill, Plants: rows[:1]}}})},
	}
}
