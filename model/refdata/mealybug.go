package refdata

import "leafturn/model"

var (
	bugParts = []model.Part{model.LeafJoint, model.Underside, model.Stem, model.NewGrowth, model.LeafStalk}
	cmbLower = is(Celsius, 7.7, 7.7, 8.5, "ARA1996 KAR2017")
	crawlers = reach("YYYyny", "TAMU-MB")
	rootBug  = reach("nnnpyp", "")
	rmbLower = is(Celsius, 7, 8, 10, "memory")
)

// The nymphs share ARA1996's constant: KAR2017's first stage at 25 °C, the rest in
// halves (from memory). The egg is KAR2017's 2.7 days at a mean of 27.5 °C.
var citrusMealybug = Profile{
	Species: CitrusMealybug,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Sheltered, Parts: bugParts, Lower: cmbLower, Constant: is(DegreeDays, 35, 53.5, 242, "derived ARA1996 KAR2017 PLA-PC TAMU-MB"),
			Survival: is(Share, 0.75, 0.85, 0.9566, "POL2008"), Reach: reach("npnnny", ""), Seen: neverOnCards(0.1, 0.3, 0),
		},
		{
			Name: "crawler", As: model.Young, Where: Leaf | Folds, Parts: bugParts, Lower: cmbLower, Constant: is(DegreeDays, 115, 136, 160, "derived ARA1996 KAR2017"),
			Survival: is(Share, 0.5, 0.75, 0.9, "memory"), Reach: crawlers, Seen: neverOnCards(0.05, 0.4, 0.05),
		},
		{
			Name: "second nymph", As: model.Young, Where: Leaf | Folds, Parts: bugParts, Lower: cmbLower, Constant: is(DegreeDays, 100, 132.5, 185, "derived memory ARA1996 KAR2017"),
			Survival: is(Share, 0.7, 0.85, 0.95, "memory"), Reach: reach("yyyyny", ""), Seen: neverOnCards(0.15, 0.4, 0.05),
		},
		{
			Name: "third nymph", As: model.Young, Where: Leaf | Folds, Parts: bugParts, Lower: cmbLower, Constant: is(DegreeDays, 100, 132.5, 160, "derived memory ARA1996"),
			Survival: is(Share, 0.7, 0.85, 0.95, "memory"), Reach: reach("ppppny", ""), Seen: neverOnCards(0.3, 0.5, 0.05),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf | Folds, Parts: bugParts, Lower: is(Celsius, 7.7, 8, 8.5, "ARA1996"), Constant: is(DegreeDays, 361, 560, 700, "derived memory ARA1996 POL2008"),
			Reach: reach("ppppny", ""), Seen: neverOnCards(0.5, 0.6, 0.02),
		},
		PreLaying: is(DegreeDays, 265, 378, 491, "ARA1996"), Laying: is(DegreeDays, 80, 150, 250, "memory"),
		Young: is(PerFemale, 96.2, 250, 600, "derived POL2008 NCSU-CMB"), Female: is(Share, 0.54, 0.6, 0.66, "POL2008"), Spread: adultSpread,
	},
	Upper: is(Celsius, 28, 30, 32, "ARA1996 GOL2009 POL2008"), Lethal: is(Celsius, 32, 35, 37, "derived GOL2009"), Spread: stageSpread,
	Fits: []Fit{
		{Span: "egg to adult female", Lower: 7.7, Constant: 454.5, Source: "derived ARA1996 KAR2017"},
		{Span: "nymph", Lower: 7.7, Constant: 401, Source: "ARA1996"},
		{Span: "egg to adult female", Lower: 8.5, Constant: 666.67, Source: "KAR2017", Note: "long against its own stage times; may hold the time to egg laying"},
	},
	Note: "Wedges into joints and sheaths, so light infestations are missed. Males, who fly briefly and do not feed, are left out.",
}

// Nothing published was found. Times are the citrus mealybug's, made slower from
// memory.
var rootMealybug = Profile{
	Species: RootMealybug,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Mix | Sheltered, Parts: mixOnly, Lower: rmbLower, Constant: is(DegreeDays, 40, 120, 240, "memory"),
			Survival: is(Share, 0.6, 0.85, 0.95, "memory"), Reach: reach("nnnnpp", ""), Seen: neverOnCards(0.02, 0.2, 0),
		},
		{
			Name: "crawler", As: model.Young, Where: Mix, Parts: mixOnly, Lower: rmbLower, Constant: is(DegreeDays, 120, 200, 300, "memory"),
			Survival: is(Share, 0.4, 0.7, 0.9, "memory"), Reach: rootBug, Seen: neverOnCards(0.02, 0.2, 0),
		},
		{
			Name: "later nymph", As: model.Young, Where: Mix, Parts: mixOnly, Lower: rmbLower, Constant: is(DegreeDays, 200, 300, 450, "memory"),
			Survival: is(Share, 0.5, 0.75, 0.9, "memory"), Reach: rootBug, Seen: neverOnCards(0.08, 0.25, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Mix, Parts: mixOnly, Lower: rmbLower, Constant: is(DegreeDays, 350, 500, 900, "memory"),
			Reach: rootBug, Seen: neverOnCards(0.15, 0.3, 0),
		},
		PreLaying: is(DegreeDays, 150, 280, 400, "memory"), Laying: is(DegreeDays, 100, 180, 350, "memory"),
		Young: is(PerFemale, 20, 60, 150, "memory"), Female: is(Share, 0.5, 0.7, 1, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 28, 30, 32, "memory"), Lethal: is(Celsius, 33, 35, 38, "memory"), Spread: stageSpread,
	Fits: []Fit{{Span: "egg to adult female", Lower: 8, Constant: 620, Source: "memory"}},
	Note: "Lives on the roots: only taking the plant out of its pot shows it. Every time here is from memory.",
}
