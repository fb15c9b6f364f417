package refdata

import "leafturn/model"

var (
	aphidParts = []model.Part{model.NewGrowth, model.Underside, model.Flower, model.Stem}
	aphidReach = reach("yyyYny", "CSU-SYS")
	gpaLower   = is(Celsius, 0.29, 4, 4, "WHA1979 LIU1999 KIM2012 IRA-MP")
	gpaYoung   = is(Share, 0.92, 0.94, 0.96, "derived WHA1979") // the fourth root of 0.782
	melonLower = is(Celsius, 2.22, 6.2, 8.2, "KER1999 XIA1999 PAR2007 TWN-AG")
	melonYoung = is(Share, 0.93, 0.949, 0.97, "derived XIA1999") // the fourth root of 0.81
)

// The fourth nymph's constant is what WHA1979's sum to the first birth leaves. Births
// are spread over the whole adult life instead of WHA1979's 74.2 degree-days: only so
// does the mean generation of IRA-MP come out. The young per female are IRA-MP's net
// rates at 20 and 29 °C through WHA1979's survival.
var greenPeachAphid = Profile{
	Species: GreenPeachAphid,
	Stages: []Stage{
		{
			Name: "first nymph", As: model.Young, Where: Leaf | Folds, Parts: aphidParts, Lower: gpaLower, Constant: is(DegreeDays, 24, 25.2, 31, "WHA1979"),
			Survival: gpaYoung, Reach: aphidReach, Seen: neverOnCards(0.3, 0.6, 0.3),
		},
		{
			Name: "second nymph", As: model.Young, Where: Leaf | Folds, Parts: aphidParts, Lower: gpaLower, Constant: is(DegreeDays, 25, 27.1, 33, "WHA1979"),
			Survival: gpaYoung, Reach: aphidReach, Seen: neverOnCards(0.4, 0.65, 0.4),
		},
		{
			Name: "third nymph", As: model.Young, Where: Leaf | Folds, Parts: aphidParts, Lower: gpaLower, Constant: is(DegreeDays, 28, 30.9, 38, "WHA1979"),
			Survival: gpaYoung, Reach: aphidReach, Seen: neverOnCards(0.5, 0.7, 0.45),
		},
		{
			Name: "fourth nymph", As: model.Young, Where: Leaf | Folds, Parts: aphidParts, Lower: gpaLower, Constant: is(DegreeDays, 28, 30.7, 38, "derived WHA1979"),
			Survival: gpaYoung, Reach: aphidReach, Seen: neverOnCards(0.55, 0.75, 0.5),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf | Folds, Parts: aphidParts, Lower: gpaLower, Constant: is(DegreeDays, 140, 201.6, 260, "WHA1979"),
			Reach: aphidReach, Seen: seen(0.6, 0.8, 0.5, 0.05),
		},
		PreLaying: is(DegreeDays, 15, 20.4, 27, "WHA1979"), Laying: is(DegreeDays, 74.2, 181.2, 181.2, "derived WHA1979"),
		Young: is(PerFemale, 34, 51.7, 69.3, "derived IRA-MP WHA1979"), Female: is(Share, 1, 1, 1, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 25, 26, 30, "derived ELD1976 SAT2008"), Lethal: is(Celsius, 31.7, 32.5, 35, "SAT2008 KENT-TEMP KIM2012"), Spread: stageSpread,
	Fits: []Fit{
		{Span: "birth to adult", Lower: 4, Constant: 113.9, Source: "derived WHA1979"},
		{Span: "birth to adult", Lower: 3, Constant: 111.1, Source: "KIM2012", Note: "a tenth faster in the cool"},
		{Span: "birth to adult", Lower: 0.29, Constant: 194.6, Source: "IRA-MP", Note: "its threshold is extrapolated; a third longer when warm"},
	},
	Note: "All females and live birth indoors. Only winged ones reach cards.",
}

// The constant is that of KER1999; the stages share it as the stage times of
// XIA1999 at 25 °C, the second taken to be between its neighbours. The laying time
// makes XIA1999's rate of increase, because births fall mostly early in it.
var melonAphid = Profile{
	Species: MelonAphid,
	Stages: []Stage{
		{
			Name: "first nymph", As: model.Young, Where: Leaf | Folds, Parts: aphidParts, Lower: melonLower, Constant: is(DegreeDays, 24.2, 28.6, 31, "derived KER1999 XIA1999"),
			Survival: melonYoung, Reach: aphidReach, Seen: neverOnCards(0.25, 0.6, 0.3),
		},
		{
			Name: "second nymph", As: model.Young, Where: Leaf | Folds, Parts: aphidParts, Lower: melonLower, Constant: is(DegreeDays, 23, 27.6, 31, "derived KER1999 XIA1999"),
			Survival: melonYoung, Reach: aphidReach, Seen: neverOnCards(0.35, 0.65, 0.4),
		},
		{
			Name: "third nymph", As: model.Young, Where: Leaf | Folds, Parts: aphidParts, Lower: melonLower, Constant: is(DegreeDays, 23, 25.7, 29, "derived KER1999 XIA1999"),
			Survival: melonYoung, Reach: aphidReach, Seen: neverOnCards(0.45, 0.7, 0.45),
		},
		{
			Name: "fourth nymph", As: model.Young, Where: Leaf | Folds, Parts: aphidParts, Lower: melonLower, Constant: is(DegreeDays, 25, 27, 30, "derived KER1999 XIA1999"),
			Survival: melonYoung, Reach: aphidReach, Seen: neverOnCards(0.5, 0.75, 0.5),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf | Folds, Parts: aphidParts, Lower: melonLower, Constant: is(DegreeDays, 150, 185, 230, "derived XIA1999"),
			Reach: aphidReach, Seen: seen(0.55, 0.8, 0.5, 0.05),
		},
		PreLaying: is(DegreeDays, 2, 5, 15, "memory"), Laying: is(DegreeDays, 80, 90, 175, "derived XIA1999"),
		Young: is(PerFemale, 9.76, 28.3, 58.9, "XIA1999 PAR2007"), Female: is(Share, 1, 1, 1, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 28, 30, 32, "derived KER1999 PAR2007"), Lethal: is(Celsius, 35, 35, 37, "KER1999 PAR2007"), Spread: stageSpread,
	Fits: []Fit{
		{Span: "birth to adult", Lower: 6.2, Constant: 108.9, Source: "KER1999"},
		{Span: "birth to adult", Lower: 7.4, Constant: 96.3, Source: "derived memory XIA1999", Note: "the sum of its stages, one of them guessed"},
	},
	Note: "All females and live birth indoors. The fastest of the pests here when it is warm.",
}
