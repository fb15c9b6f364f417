package sample

// english is the household in English. The names of members and products are
// invented; plants have their common and botanical names.
var english = words{
	household: "Attic flat (a sample)",
	members:   [members]string{keeper: "Meron", helper: "Juhani", guest: "Ximena"},
	phones:    [members]string{keeper: "Meron's phone", helper: "Juhani's phone", guest: "Ximena's phone"},
	places:    [places]string{kitchen: "Kitchen window sill", hall: "Hall", bedroom: "Bedroom window", livingRoom: "Living-room shelf"},
	plants: [plants]plantWords{
		monstera:      {"Big monstera", "Monstera deliciosa"},
		philodendron:  {"Heartleaf", "Philodendron hederaceum"},
		alocasia:      {"Alocasia", "Alocasia × amazonica"},
		snakePlant:    {"Snake plant", "Dracaena trifasciata"},
		zzPlant:       {"ZZ plant", "Zamioculcas zamiifolia"},
		calathea:      {"Calathea", "Goeppertia makoyana"},
		basil:         {"Basil", "Ocimum basilicum"},
		chilli:        {"Chilli", "Capsicum annuum"},
		africanViolet: {"African violet", "Streptocarpus sect. Saintpaulia"},
		spiderPlant:   {"Spider plant", "Chlorophytum comosum"},
		peaceLily:     {"Peace lily", "Spathiphyllum wallisii"},
		pothos:        {"Pothos", "Epipremnum aureum"},
		fern:          {"Sword fern", "Nephrolepis exaltata"},
		hoya:          {"Wax plant", "Hoya carnosa"},
		orchid:        {"Moth orchid", "Phalaenopsis hybrid"},
	},
	products: [products]productWords{
		soap: {
			name:   "Potash soap, invented",
			active: "potassium salts of fatty acids",
			pests:  "Thrips, aphids, spider mites, whitefly (invented label)",
			cautions: "Invented label, not a recommendation. The figures here only show how the app reckons; on your own shelf, enter what your own label says.\n" +
				"Invented text: try one leaf first. Not in the sun, not on a dry plant. Gloves; open a window; children and pets away until it has dried.",
		},
		oil: {
			name:   "Plant-oil spray, invented",
			active: "vegetable oil",
			pests:  "Scale insects, mealybugs, spider mites (invented label)",
			cautions: "Invented label, not a recommendation. The figures here only show how the app reckons; on your own shelf, enter what your own label says.\n" +
				"Invented text: try one leaf first. Not on ferns or on hairy leaves. Gloves; open a window.",
		},
		spinosad: {
			name:   "Spinosad spray, invented",
			active: "spinosad",
			pests:  "Thrips (invented label)",
			cautions: "Invented label, not a recommendation. The figures here only show how the app reckons; on your own shelf, enter what your own label says.\n" +
				"Invented text: try one leaf first. Gloves; open a window; children and pets away until it has dried. Not where bees come to flowers.",
		},
	},
	notes: [notes]string{
		firstLook:   "Silvery streaks under the two lowest leaves, and tiny pale larvae along the veins.",
		noFewer:     "No fewer than three days ago: soap alone is too little.",
		fewer:       "Far fewer. The fourth leaf is clean.",
		newLeaf:     "The new leaf has opened without a mark.",
		tooFar:      "Nearly every leaf is streaked. Not worth saving.",
		spread:      "It stood on the shelf until last month.",
		bagged:      "Tied into a bag before it left the room.",
		twice:       "Did not see that it was done already.",
		dust:        "Dark specks on one leaf.",
		onlyDust:    "Only potting mix. Wiped off.",
		apart:       "Three weeks on its own, then a good look.",
		waterKeeper: "Water on Sundays.",
		waterHelper: "Water when the top two fingers of mix are dry.",
	},
}
