package refdata

import "leafturn/model"

// Where the young of thrips sit, and where the adults do.
var (
	thripsLeaf = []model.Part{model.Underside, model.NewGrowth, model.Flower, model.TopSide}
	mixOnly    = []model.Part{model.Soil}
)

// The stages of western flower thrips share the egg-to-adult constant of KAT1997
// in proportion to the middle of the stage times that KSU2922 gives for 26–29 °C
// (3, 1.5 and 3 days) and, for the resting stages, of times from memory (1.5 and 2
// days). The bands are those times' ranges above 9.5 °C at 27.5 °C. The adult's life
// is ZHA2012's at 15 and 30 °C; the eggs are as many as make RIJ1995's rate of
// increase on cucumber leaves at 25 °C, within what others counted.
var westernFlowerThrips = Profile{
	Species: WesternFlowerThrips,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Tissue, Parts: thripsLeaf, Lower: wftLower, Constant: is(DegreeDays, 36, 194*3/11., 72, "derived KAT1997 KSU2922"),
			Survival: is(Share, 0.75, 0.9, 0.98, "memory"), Reach: reach("NNNnnn", "KSU2922"), Seen: neverOnCards(0, 0.02, 0),
		},
		{
			Name: "first larva", As: model.Young, Where: Leaf | Folds, Parts: thripsLeaf, Lower: wftLower, Constant: is(DegreeDays, 18, 194*1.5/11, 36, "derived KAT1997 KSU2922"),
			Survival: wftYoung, Reach: reach("yyypnp", ""), Seen: neverOnCards(0.1, 0.5, 0.4),
		},
		{
			Name: "second larva", As: model.Young, Where: Leaf | Folds, Parts: thripsLeaf, Lower: wftLower, Constant: is(DegreeDays, 36, 194*3/11., 72, "derived KAT1997 KSU2922"),
			Survival: wftYoung, Reach: reach("yyypnp", ""), Seen: neverOnCards(0.25, 0.6, 0.5),
		},
		{
			Name: "prepupa", As: model.Resting, Where: Mix, Parts: mixOnly, Lower: wftLower, Constant: is(DegreeDays, 18, 194*1.5/11, 36, "derived memory KAT1997"),
			Survival: wftYoung, Reach: reach("NNNnpn", "KSU2922"), Seen: neverOnCards(0, 0.05, 0),
		},
		{
			Name: "pupa", As: model.Resting, Where: Mix, Parts: mixOnly, Lower: wftLower, Constant: is(DegreeDays, 18, 194*2/11., 54, "derived memory KAT1997"),
			Survival: wftYoung, Reach: reach("NNNnpn", "KSU2922"), Seen: neverOnCards(0, 0.05, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf | Folds | Air, Parts: thripsLeaf, Lower: wftLower, Constant: is(DegreeDays, 100, 201.5, 495, "derived ZHA2012 KAT1997"),
			Reach: reach("yyypnp", ""), Seen: seen(0.3, 0.5, 0.5, 0.3),
		},
		PreLaying: is(DegreeDays, 15, 25, 50, "memory"), Laying: is(DegreeDays, 75, 176.5, 470, "derived ZHA2012 KAT1997"),
		Young: is(PerFemale, 9.36, 73, 300, "derived RIJ1995 ZHA2012 KAT1997 KSU2922"), Female: is(Share, 0.5, 0.6, 0.75, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 28, 30, 32, "derived KAT1997 RIJ1995"), Lethal: is(Celsius, 33, 35, 35, "ZHA2012"), Spread: stageSpread,
	Fits: []Fit{
		{Span: "egg to adult", Lower: 9.5, Constant: 194, Source: "KAT1997"},
		{Span: "egg to adult", Lower: 7.9, Constant: 268, Source: "MCD1998", Note: "a sixth to a third longer at 20-30 °C"},
		{Span: "egg to adult", Lower: 6.35, Constant: 331.36, Source: "LI2011", Note: "on broad bean, the slowest of four legumes"},
	},
}

var (
	wftLower    = is(Celsius, 6.35, 9.5, 10.9, "KAT1997 MCD1998 RIJ1995 LI2011 KENT-TEMP")
	wftYoung    = is(Share, 0.8, 0.89, 0.95, "derived ZHA2012") // the fourth root of 0.628, hatching to adult
	stageSpread = is(Variation, 0.15, 0.25, 0.35, "memory")
	adultSpread = is(Variation, 0.3, 0.5, 0.8, "memory")
)
