package refdata

import "leafturn/model"

var (
	scaleParts = []model.Part{model.Stem, model.LeafStalk, model.Underside, model.LeafJoint, model.TopSide}
	softYoung  = reach("YYYYny", "UCIPM-SC")
	softFixed  = reach("pppYny", "UCIPM-SC")
	softOld    = reach("NpNYny", "UCIPM-SC")
	hardFixed  = reach("NpNNny", "UCIPM-SC")
	scaleLower = is(Celsius, 10.3, 10.3, 12, "derived KOZ1984")
	bssLower   = is(Celsius, 9, 10.3, 12, "derived memory KOZ1984")
	hardLower  = is(Celsius, 8, 10, 12, "memory")
)

// The threshold and the 938 degree-days of a generation follow from KOZ1984's two
// times; IBR1985's 95.2 days from egg to adult at 18 °C divide it. How the time to
// adult divides among the stages is from memory.
var hemisphericalScale = Profile{
	Species: HemisphericalScale,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Sheltered, Parts: scaleParts, Lower: scaleLower, Constant: is(DegreeDays, 90, 150, 220, "derived memory KOZ1984 IBR1985"),
			Survival: is(Share, 0.7, 0.9, 0.97, "memory"), Reach: reach("NpNnny", "UCIPM-SC"), Seen: neverOnCards(0.02, 0.1, 0),
		},
		{
			Name: "crawler", As: model.Young, Where: Leaf, Parts: scaleParts, Lower: scaleLower, Constant: is(DegreeDays, 140, 200, 260, "derived memory KOZ1984 IBR1985"),
			Survival: is(Share, 0.15, 0.35, 0.6, "memory"), Reach: softYoung, Seen: neverOnCards(0.05, 0.4, 0.1),
		},
		{
			Name: "second nymph", As: model.Young, Where: Leaf, Parts: scaleParts, Lower: scaleLower, Constant: is(DegreeDays, 140, 200, 260, "derived memory KOZ1984 IBR1985"),
			Survival: is(Share, 0.6, 0.8, 0.95, "memory"), Reach: softFixed, Seen: neverOnCards(0.15, 0.5, 0),
		},
		{
			Name: "third nymph", As: model.Young, Where: Leaf, Parts: scaleParts, Lower: scaleLower, Constant: is(DegreeDays, 125, 182, 240, "derived memory KOZ1984 IBR1985"),
			Survival: is(Share, 0.6, 0.85, 0.95, "memory"), Reach: softFixed, Seen: neverOnCards(0.35, 0.6, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf, Parts: scaleParts, Lower: scaleLower, Constant: is(DegreeDays, 350, 550, 900, "memory"),
			Reach: softOld, Seen: neverOnCards(0.6, 0.7, 0),
		},
		PreLaying: is(DegreeDays, 38, 206, 290, "derived KOZ1984 IBR1985 PLA-SC"), Laying: is(DegreeDays, 150, 250, 400, "memory"),
		Young: is(PerFemale, 250, 325, 400, "PLA-SC KOZ1984"), Female: is(Share, 1, 1, 1, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 26, 28, 30, "derived KOZ1984 IBR1985"), Lethal: is(Celsius, 30, 32, 34, "derived memory KOZ1984 HUJ-SC"), Spread: stageSpread,
	Fits: []Fit{
		{Span: "egg to adult", Lower: 10.3, Constant: 732, Source: "derived KOZ1984 IBR1985"},
		{Span: "generation", Lower: 10.3, Constant: 938, Source: "derived KOZ1984", Note: "two temperatures only"},
	},
	Note: "No males are needed. The young settle for life after a short walk.",
}

// No constant-temperature study was found. The threshold and the way a generation
// divides are the hemispherical scale's; the constant makes WIK-CH's two months at
// 25 °C, a temperature from memory.
var brownSoftScale = Profile{
	Species: BrownSoftScale,
	Stages: []Stage{
		{
			Name: "crawler", As: model.Young, Where: Leaf, Parts: scaleParts, Lower: bssLower, Constant: is(DegreeDays, 150, 230, 330, "derived memory KOZ1984 WIK-CH"),
			Survival: is(Share, 0.15, 0.35, 0.6, "memory"), Reach: softYoung, Seen: neverOnCards(0.05, 0.4, 0.1),
		},
		{
			Name: "second nymph", As: model.Young, Where: Leaf, Parts: scaleParts, Lower: bssLower, Constant: is(DegreeDays, 150, 230, 330, "derived memory KOZ1984 WIK-CH"),
			Survival: is(Share, 0.6, 0.8, 0.95, "memory"), Reach: softFixed, Seen: neverOnCards(0.15, 0.5, 0),
		},
		{
			Name: "third nymph", As: model.Young, Where: Leaf, Parts: scaleParts, Lower: bssLower, Constant: is(DegreeDays, 150, 227, 330, "derived memory KOZ1984 WIK-CH"),
			Survival: is(Share, 0.6, 0.85, 0.95, "memory"), Reach: softFixed, Seen: neverOnCards(0.3, 0.6, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf, Parts: scaleParts, Lower: bssLower, Constant: is(DegreeDays, 350, 600, 900, "memory"),
			Reach: softOld, Seen: neverOnCards(0.5, 0.65, 0),
		},
		PreLaying: is(DegreeDays, 120, 195, 300, "derived memory KOZ1984 WIK-CH"), Laying: is(DegreeDays, 200, 350, 600, "memory"),
		Young: is(PerFemale, 80, 170, 250, "derived memory WIK-CH"), Female: is(Share, 0.9, 1, 1, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 26, 28, 30, "memory"), Lethal: is(Celsius, 31, 33, 36, "memory"), Spread: stageSpread,
	Fits: []Fit{{Span: "birth to adult", Lower: 10.3, Constant: 687, Source: "derived memory KOZ1984 WIK-CH"}},
	Note: "Eggs hatch under the mother, so the crawler is the first stage met. Sticky leaves are usually noticed first.",
}

// Nothing published was found: every time is from memory.
var armouredScale = Profile{
	Species: ArmouredScale,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Sheltered, Parts: scaleParts, Lower: hardLower, Constant: is(DegreeDays, 60, 120, 200, "memory"),
			Survival: is(Share, 0.7, 0.9, 0.97, "memory"), Reach: reach("NpNNny", "UCIPM-SC"), Seen: neverOnCards(0, 0.1, 0),
		},
		{
			Name: "crawler", As: model.Young, Where: Leaf, Parts: scaleParts, Lower: hardLower, Constant: is(DegreeDays, 100, 170, 260, "memory"),
			Survival: is(Share, 0.2, 0.45, 0.7, "memory"), Reach: reach("YyyNny", "UCIPM-SC"), Seen: neverOnCards(0.02, 0.3, 0.05),
		},
		{
			Name: "second nymph", As: model.Young, Where: Sheltered, Parts: scaleParts, Lower: hardLower, Constant: is(DegreeDays, 130, 200, 300, "memory"),
			Survival: is(Share, 0.6, 0.8, 0.95, "memory"), Reach: hardFixed, Seen: neverOnCards(0.15, 0.5, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Sheltered, Parts: scaleParts, Lower: hardLower, Constant: is(DegreeDays, 350, 550, 900, "memory"),
			Reach: hardFixed, Seen: neverOnCards(0.35, 0.6, 0),
		},
		PreLaying: is(DegreeDays, 100, 220, 350, "memory"), Laying: is(DegreeDays, 150, 280, 500, "memory"),
		Young: is(PerFemale, 20, 60, 150, "memory"), Female: is(Share, 0.5, 0.6, 1, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 27, 30, 32, "memory"), Lethal: is(Celsius, 33, 35, 38, "memory"), Spread: stageSpread,
	Fits: []Fit{{Span: "egg to adult", Lower: 10, Constant: 490, Source: "memory"}},
	Note: "No honeydew. Only the crawler can be reached by sprays, and soil systemics miss most kinds.",
}
