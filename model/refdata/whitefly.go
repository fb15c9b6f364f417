package refdata

import "leafturn/model"

var (
	flyParts   = []model.Part{model.Underside, model.NewGrowth}
	flyYoung   = is(Share, 0.975, 0.986, 0.99, "derived IRA-CUC") // with the egg, 0.93 to 0.96 become adult
	flyReach   = reach("yyyYnp", "UCIPM-SC")
	flyRests   = reach("npnnnp", "")
	whiteLower = is(Celsius, 8.3, 8.3, 11.5, "KENT-TEMP MAD1984")
)

// The threshold is that of KENT-TEMP; the constant makes ALF-ORN's 9 days as an
// egg and 18 from hatching to adult at 21 °C. How the 18 days divide is from memory.
var greenhouseWhitefly = Profile{
	Species: GreenhouseWhitefly,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Leaf, Parts: flyParts, Lower: is(Celsius, 8.3, 8.3, 8.5, "KENT-TEMP MAD1984"), Constant: is(DegreeDays, 95, 9*12.7, 130, "derived KENT-TEMP ALF-ORN"),
			Survival: is(Share, 0.95, 0.985, 0.99, "derived IRA-CUC"), Reach: flyRests, Seen: neverOnCards(0.02, 0.5, 0),
		},
		{
			Name: "first nymph", As: model.Young, Where: Leaf, Parts: flyParts, Lower: is(Celsius, 8.3, 8.3, 11, "KENT-TEMP MAD1984"), Constant: is(DegreeDays, 45, 4.5*12.7, 70, "derived memory KENT-TEMP ALF-ORN"),
			Survival: flyYoung, Reach: flyReach, Seen: neverOnCards(0.05, 0.5, 0),
		},
		{
			Name: "second nymph", As: model.Young, Where: Leaf, Parts: flyParts, Lower: whiteLower, Constant: is(DegreeDays, 28, 3*12.7, 50, "derived memory KENT-TEMP ALF-ORN"),
			Survival: flyYoung, Reach: flyReach, Seen: neverOnCards(0.15, 0.6, 0),
		},
		{
			Name: "third nymph", As: model.Young, Where: Leaf, Parts: flyParts, Lower: whiteLower, Constant: is(DegreeDays, 33, 3.5*12.7, 58, "derived memory KENT-TEMP ALF-ORN"),
			Survival: flyYoung, Reach: flyReach, Seen: neverOnCards(0.3, 0.7, 0),
		},
		{
			Name: "pupa", As: model.Resting, Where: Leaf, Parts: flyParts, Lower: is(Celsius, 8.3, 8.3, 10, "KENT-TEMP MAD1984"), Constant: is(DegreeDays, 65, 7*12.7, 115, "derived memory KENT-TEMP ALF-ORN"),
			Survival: flyYoung, Reach: flyRests, Seen: neverOnCards(0.4, 0.8, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf | Air, Parts: flyParts, Lower: is(Celsius, 8.3, 8.3, 10, "KENT-TEMP"), Constant: is(DegreeDays, 104, 300, 533, "derived ALF-ORN IRA-CUC MVL2009"),
			Reach: reach("pppYnn", "UCIPM-SC"), Seen: seen(0.6, 0.6, 0.2, 0.5),
		},
		PreLaying: is(DegreeDays, 8, 19, 25, "derived CAP2008"), Laying: is(DegreeDays, 85, 260, 500, "derived ALF-ORN IRA-CUC MVL2009"),
		Young: is(PerFemale, 32.6, 120, 210.68, "derived IRA-CUC MVL2009 ALF-ORN"), Female: is(Share, 0.4, 0.5, 0.6, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 27, 28, 30, "memory"), Lethal: is(Celsius, 32, 35, 36, "memory"), Spread: stageSpread,
	Fits: []Fit{{Span: "egg to adult", Lower: 8.3, Constant: 27 * 12.7, Source: "derived KENT-TEMP ALF-ORN"}},
	Note: "Eggs and adults on the youngest leaves, the oldest stages on older ones.",
}
