package refdata

import "leafturn/model"

var gnatLower = is(Celsius, 7, 9.7, 11, "derived SCU-LIV") // from a related gnat's larval times at 12.3 and 22 °C

// No study on potting mix was found: the stage times at 24 °C (3, 10 and 4 days) are
// from memory, the threshold is that of a related gnat.
var fungusGnat = Profile{
	Species: FungusGnat,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Mix, Parts: mixOnly, Lower: gnatLower, Constant: is(DegreeDays, 30, 42.9, 57.2, "derived memory SCU-LIV NCSU-FG"),
			Survival: is(Share, 0.6, 0.8, 0.95, "memory"), Reach: reach("nnnnnn", ""), Seen: neverOnCards(0, 0.02, 0),
		},
		{
			Name: "larva", As: model.Young, Where: Mix, Parts: mixOnly, Lower: gnatLower, Constant: is(DegreeDays, 110, 143, 246, "derived memory SCU-LIV"),
			Survival: is(Share, 0.3, 0.6, 0.85, "memory"), Reach: reach("nnnpyn", ""), Seen: neverOnCards(0.03, 0.1, 0),
		},
		{
			Name: "pupa", As: model.Resting, Where: Mix, Parts: mixOnly, Lower: gnatLower, Constant: is(DegreeDays, 42, 57.2, 72, "derived memory SCU-LIV"),
			Survival: is(Share, 0.7, 0.9, 0.97, "memory"), Reach: reach("nnnnnn", ""), Seen: neverOnCards(0.02, 0.05, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Mix | Air, Parts: mixOnly, Lower: gnatLower, Constant: is(DegreeDays, 61, 100, 140, "derived memory NCSU-FG SCU-LIV"),
			Reach: reach("pppnnn", ""), Seen: seen(0.4, 0.4, 0.1, 0.6),
		},
		PreLaying: is(DegreeDays, 8, 15, 30, "memory"), Laying: is(DegreeDays, 25, 45, 80, "memory"),
		Young: is(PerFemale, 100, 125, 150, "NCSU-FG"), Female: is(Share, 0.4, 0.5, 0.6, "derived SCU-LIV"), Spread: adultSpread,
	},
	Upper: is(Celsius, 24, 26, 28, "derived memory SHI-LA BDI-T"), Lethal: is(Celsius, 29, 30, 32, "derived SHI-LA"), Spread: stageSpread,
	Fits: []Fit{{Span: "egg to adult", Lower: 9.7, Constant: 243.1, Source: "derived memory SCU-LIV"}},
	Note: "The larvae live in the top 5 cm of moist mix. Letting it dry slows them (from memory).",
}
