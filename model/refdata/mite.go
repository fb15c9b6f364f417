package refdata

import "leafturn/model"

var (
	miteParts = []model.Part{model.Underside, model.NewGrowth, model.TopSide, model.LeafStalk}
	mites     = reach("yyyNny", "UCIPM-SC")
	mLower    = is(Celsius, 10, 10.6, 12.5, "derived MES-CAS HER1981 EAJ-TU")
	mYoung    = is(Share, 0.86, 0.93, 0.97, "derived TCI-CAR") // with the egg, 0.80 become adult
)

// Threshold and constant are our fit (least squares of the logarithms, rounded
// within the printed times' tolerance) to the times of MES-CAS at 15, 20 and 30 °C
// and of HER1981 at 15 and 21 °C; other papers are checks. The stages share it as
// in EAJ-TU: 43, 18, 21 and 18 per cent, the third being what the others leave.
var twoSpottedMite = Profile{
	Species: TwoSpottedMite,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Leaf, Parts: miteParts, Lower: mLower, Constant: is(DegreeDays, 50, 135*.4325, 63.35, "derived MES-CAS HER1981 EAJ-TU"),
			Survival: is(Share, 0.8, 0.96, 0.99, "memory"), Reach: reach("nynNnp", "UCIPM-SC"), Seen: neverOnCards(0.01, 0.4, 0.02),
		},
		{
			Name: "larva", As: model.Young, Where: Leaf, Parts: miteParts, Lower: mLower, Constant: is(DegreeDays, 20, 135*.183, 30, "derived MES-CAS HER1981 EAJ-TU"),
			Survival: mYoung, Reach: mites, Seen: neverOnCards(0.02, 0.5, 0.2),
		},
		{
			Name: "first nymph", As: model.Young, Where: Leaf, Parts: miteParts, Lower: mLower, Constant: is(DegreeDays, 20, 135*.2058, 32, "derived MES-CAS HER1981 EAJ-TU"),
			Survival: mYoung, Reach: mites, Seen: neverOnCards(0.04, 0.6, 0.3),
		},
		{
			Name: "second nymph", As: model.Young, Where: Leaf, Parts: miteParts, Lower: mLower, Constant: is(DegreeDays, 20, 135*.1787, 30, "derived MES-CAS HER1981 EAJ-TU"),
			Survival: mYoung, Reach: mites, Seen: neverOnCards(0.08, 0.7, 0.4),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf, Parts: miteParts, Lower: mLower, Constant: is(DegreeDays, 150, 300, 457, "derived memory TCI-CAR"),
			Reach: mites, Seen: neverOnCards(0.12, 0.75, 0.5),
		},
		PreLaying: is(DegreeDays, 12, 20, 35, "memory"), Laying: is(DegreeDays, 120, 200, 400, "derived memory TCI-CAR"),
		Young: is(PerFemale, 40, 90, 156.8, "derived memory PEA-TU TCI-CAR"), Female: is(Share, 0.65, 0.7628, 0.8, "TCI-CAR"), Spread: adultSpread,
	},
	Upper: is(Celsius, 30, 32, 35, "derived KENT-TEMP MES-CAS"), Lethal: is(Celsius, 37, 40, 42, "memory"), Spread: stageSpread,
	Fits: []Fit{
		{Span: "egg to adult", Lower: 10.6, Constant: 135, Source: "derived MES-CAS HER1981"},
		{Span: "egg to adult", Lower: 11.4, Constant: 123.6, Source: "derived MES-CAS", Note: "the threshold is ours, from its printed times"},
		{Span: "egg to adult female", Lower: 10, Constant: 141.3, Source: "HER1981", Note: "measured at 15 °C"},
		{Span: "egg to adult", Lower: 12.5, Constant: 146.48, Source: "EAJ-TU", Note: "from two temperatures only; a quarter longer at 25-30 °C"},
	},
	Note: "Some treatments against other pests make mites worse. Cards never catch them.",
}

// NCSU-BM gives no temperature with its stage times; 25 °C and the threshold of
// 10 °C are from memory, and so is the quiet stage.
var broadMite = Profile{
	Species: BroadMite,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Folds, Parts: budParts, Lower: budLower, Constant: is(DegreeDays, 30, 37.5, 45, "derived memory NCSU-BM"),
			Survival: is(Share, 0.8, 0.92, 0.98, "memory"), Reach: buds, Seen: neverOnCards(0, 0.3, 0),
		},
		{
			Name: "larva", As: model.Young, Where: Folds, Parts: budParts, Lower: budLower, Constant: is(DegreeDays, 30, 37.5, 45, "derived memory NCSU-BM"),
			Survival: is(Share, 0.7, 0.88, 0.97, "memory"), Reach: buds, Seen: neverOnCards(0, 0.3, 0),
		},
		{
			Name: "quiet nymph", As: model.Resting, Where: Folds, Parts: budParts, Lower: budLower, Constant: is(DegreeDays, 8, 15, 25, "memory"),
			Survival: is(Share, 0.8, 0.94, 0.99, "memory"), Reach: buds, Seen: neverOnCards(0, 0.3, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Folds, Parts: budParts, Lower: budLower, Constant: is(DegreeDays, 8*15, 10.5*15, 13*15, "derived memory NCSU-BM"),
			Reach: buds, Seen: neverOnCards(0, 0.35, 0),
		},
		PreLaying: is(DegreeDays, 8, 15, 30, "memory"), Laying: is(DegreeDays, 105, 140, 180, "derived memory NCSU-BM"),
		Young: is(PerFemale, 30, 50, 76, "derived NCSU-BM"), Female: is(Share, 0.7, 0.8, 0.9, "NCSU-BM"), Spread: adultSpread,
	},
	Upper: is(Celsius, 27, 30, 32, "memory"), Lethal: is(Celsius, 34, 36, 38, "memory"), Spread: stageSpread,
	Fits: []Fit{{Span: "egg to adult", Lower: 10, Constant: 90, Source: "derived memory NCSU-BM"}},
	Note: "Far too small for the eye: the signs on the youngest growth are what people see. Cyclamen mites are slower than broad mites (from memory).",
}

var (
	budParts = []model.Part{model.NewGrowth, model.Flower, model.Underside}
	buds     = reach("Npnnnn", "UCIPM-BM")
	budLower = is(Celsius, 8, 10, 12, "memory")
)
