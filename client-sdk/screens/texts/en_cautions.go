package texts

import "leafturn/model"

// The sources of the cautions, in our own words: Montreal botanical garden
// (Espace pour la vie), page on insecticidal soap: heat above 32 °C, direct sun,
// thirsty plants, trying one leaf for 24 to 48 hours. University of California
// IPM, Pest Notes: oil and heat. Lines that name no source there are common
// practice, no source. Local rules and the label always come first.
func enCautions() Cautions {
	soap := []string{
		"Not above 32 °C, not in direct sun, not on a thirsty or freshly potted plant: leaves can burn.",
		"Only what is wet is reached. Turn the leaves and wet their undersides.",
	}
	return Cautions{
		First: []string{"The label comes first, then local rules and licensed advice. They win over this app."},
		Means: map[model.Means][]string{
			model.MeansSoap:         soap,
			model.MeansOil:          append([]string{"Not near freezing, and not close to a sulphur treatment: ask the label."}, soap...),
			model.MeansContactSpray: {"Only what is wet is reached. Turn the leaves and wet their undersides."},
			model.MeansSystemicSoil: {"Never for plants you eat from, nor for plants that flower within reach of bees.", "Let no water run out of the pot as long as the label says. Keep animals from the soil."},
			model.MeansSoilDrench:   {"Not on bone-dry soil: the water runs past the roots."},
			model.MeansWater:        {"Let the leaves dry before night."},
		},
		People: []string{
			"Open a window. Wear gloves and protect your eyes.",
			"Take out or cover food, aquaria and fish ponds. Keep children and pets away until everything is dry.",
		},
		Food:     "You eat from this plant. Use only what the label names for food plants, and wait as long as it says before you eat.",
		NotFood:  "The label of this product does not name food plants. It must not be used here.",
		Heat:     func(celsius int) string { return "The label says: not above " + itoa(celsius) + " °C." },
		Outdoors: "Outdoors, wait until no bee can reach the plant.",
	}
}

// Where the pests sit, in our own words after University of California IPM
// (thrips, spider mites, scales, broad mites), Kansas State University MF2922
// (thrips in the soil), Alford's handbook (whitefly), North Carolina State
// University (mealybugs, fungus gnats). "Under the pot rim" is from memory.
func enLookAt() LookAt {
	return LookAt{
		Any: []string{"Turn a young leaf and an old one and look underneath.", "Look into the leaf joints and along the stem."},
		Pest: map[model.Pest][]string{
			model.PestThrips:     {"Undersides and folded new growth; tap a leaf over white paper.", "Black shiny specks beside silvery patches."},
			model.PestSpiderMite: {"Undersides along the midrib, with a lens if you have one.", "Fine webbing between leaf and stalk."},
			model.PestAphid:      {"Shoot tips, buds and the undersides of young leaves."},
			model.PestMealybug:   {"Leaf joints, sheaths, midribs, and under the pot rim."},
			model.PestRootMealy:  {"The root ball: lift the plant out of its pot."},
			model.PestWhitefly:   {"Undersides of the youngest leaves; shake the plant gently.", "Older leaves below for the flat pale cases."},
			model.PestScale:      {"Midribs and stems; scrape a bump with a fingernail.", "Leaves below that feel sticky."},
			model.PestFungusGnat: {"The top of the soil; small dark flies when you water."},
			model.PestBroadMite:  {"The youngest leaves: cupped, hard or twisted."},
			model.PestUnknown:    {"Turn a young leaf and an old one and look underneath."},
		},
	}
}
