package refdata

import "leafturn/model"

// The stages of onion thrips share the constant of JAM2012 in proportion to the
// stage times of PAT-TT (4.52, 5.93 and 3.56 days at a temperature not shown); the
// larval and the resting time are each divided as in western flower thrips.
var onionThrips = Profile{
	Species: OnionThrips,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Tissue, Parts: thripsLeaf, Lower: is(Celsius, 5.9, 8.1, 11.5, "JAM2012 STA2002"), Constant: is(DegreeDays, 50, 71.3, 95, "derived JAM2012 PAT-TT"),
			Survival: is(Share, 0.75, 0.9, 0.98, "memory"), Reach: reach("NNNnnn", "KSU2922"), Seen: neverOnCards(0, 0.02, 0),
		},
		{
			Name: "first larva", As: model.Young, Where: Leaf | Folds, Parts: thripsLeaf, Lower: onionLower, Constant: is(DegreeDays, 20, 31.2, 45, "derived JAM2012 PAT-TT KSU2922"),
			Survival: onionYoung, Reach: reach("yyypnp", ""), Seen: neverOnCards(0.1, 0.5, 0.4),
		},
		{
			Name: "second larva", As: model.Young, Where: Leaf | Folds, Parts: thripsLeaf, Lower: onionLower, Constant: is(DegreeDays, 40, 62.3, 85, "derived JAM2012 PAT-TT KSU2922"),
			Survival: onionYoung, Reach: reach("yyypnp", ""), Seen: neverOnCards(0.25, 0.6, 0.5),
		},
		{
			Name: "prepupa", As: model.Resting, Where: Mix, Parts: mixOnly, Lower: is(Celsius, 5.9, 8.1, 11.5, "JAM2012 STA2002"), Constant: is(DegreeDays, 15, 24.1, 35, "derived memory JAM2012 PAT-TT"),
			Survival: onionYoung, Reach: reach("NNNnpn", "KSU2922"), Seen: neverOnCards(0, 0.05, 0),
		},
		{
			Name: "pupa", As: model.Resting, Where: Mix, Parts: mixOnly, Lower: onionLower, Constant: is(DegreeDays, 20, 32.1, 45, "derived memory JAM2012 PAT-TT"),
			Survival: onionYoung, Reach: reach("NNNnpn", "KSU2922"), Seen: neverOnCards(0, 0.05, 0),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf | Folds | Air, Parts: thripsLeaf, Lower: onionLower, Constant: is(DegreeDays, 220, 330, 441, "derived memory PAT-TT JAM2012"),
			Reach: reach("yyypnp", ""), Seen: seen(0.3, 0.5, 0.5, 0.3),
		},
		PreLaying: is(DegreeDays, 15, 30, 60, "memory"), Laying: is(DegreeDays, 150, 250, 380, "memory"),
		Young: is(PerFemale, 30, 56.63, 85, "PAT-TT"), Female: is(Share, 0.5, 0.95, 1, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 28, 30, 32, "memory"), Lethal: is(Celsius, 33, 35, 37, "memory"), Spread: stageSpread,
	Fits: []Fit{
		{Span: "egg to adult", Lower: 8.1, Constant: 221, Source: "JAM2012"},
		{Span: "egg to adult", Lower: 5.9, Constant: 261, Source: "STA2002", Note: "English population, cited at second hand"},
		{Span: "egg to adult", Lower: 11.5, Constant: 179, Source: "STA2002", Note: "Texan population, cited at second hand"},
	},
	Note: "Females mostly without males. Only a microscope tells it from western flower thrips.",
}

var (
	onionLower = is(Celsius, 5.9, 8.1, 11.5, "JAM2012 STA2002")
	onionYoung = is(Share, 0.8, 0.89, 0.95, "memory") // taken over from western flower thrips
)

// The constant is that of ECH-T for the immature stages, divided as in western
// flower thrips. That all stages stay on the leaf is from memory.
var echinothrips = Profile{
	Species: Echinothrips,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Tissue, Parts: thripsLeaf, Lower: echLower, Constant: is(DegreeDays, 45, 62.7, 85, "derived memory ECH-T"),
			Survival: is(Share, 0.7, 0.85, 0.95, "memory"), Reach: reach("nnnnnn", ""), Seen: neverOnCards(0, 0.02, 0),
		},
		{
			Name: "first larva", As: model.Young, Where: Leaf, Parts: thripsLeaf, Lower: echLower, Constant: is(DegreeDays, 20, 31.3, 45, "derived memory ECH-T"),
			Survival: echYoung, Reach: reach("yyypnp", ""), Seen: neverOnCards(0.15, 0.5, 0.4),
		},
		{
			Name: "second larva", As: model.Young, Where: Leaf, Parts: thripsLeaf, Lower: echLower, Constant: is(DegreeDays, 45, 62.7, 85, "derived memory ECH-T"),
			Survival: echYoung, Reach: reach("yyypnp", ""), Seen: neverOnCards(0.3, 0.6, 0.5),
		},
		{
			Name: "prepupa", As: model.Resting, Where: Leaf, Parts: thripsLeaf, Lower: echLower, Constant: is(DegreeDays, 20, 31.3, 45, "derived memory ECH-T"),
			Survival: echYoung, Reach: reach("pppnnp", ""), Seen: neverOnCards(0.25, 0.6, 0.3),
		},
		{
			Name: "pupa", As: model.Resting, Where: Leaf, Parts: thripsLeaf, Lower: echLower, Constant: is(DegreeDays, 25, 41.76, 60, "derived memory ECH-T"),
			Survival: echYoung, Reach: reach("pppnnp", ""), Seen: neverOnCards(0.25, 0.6, 0.3),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf, Parts: thripsLeaf, Lower: echLower, Constant: is(DegreeDays, 150, 300, 450, "memory"),
			Reach: reach("yyypnp", ""), Seen: seen(0.5, 0.7, 0.5, 0.1),
		},
		PreLaying: is(DegreeDays, 15, 30, 60, "memory"), Laying: is(DegreeDays, 120, 220, 350, "memory"),
		Young: is(PerFemale, 20, 60, 120, "memory"), Female: is(Share, 0.5, 0.65, 0.8, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 30, 31.79, 31.79, "ECH-T"), Lethal: is(Celsius, 32.04, 32.04, 35, "ECH-T"), Spread: stageSpread,
	Fits: []Fit{{Span: "egg to adult", Lower: 11.35, Constant: 229.76, Source: "ECH-T"}},
	Note: "Stays on the leaf in all stages (from memory), so what is done to the potting mix does little.",
}

var (
	echLower = is(Celsius, 10, 11.35, 12.5, "ECH-T")
	echYoung = is(Share, 0.78, 0.84, 0.89, "derived ECH-T") // with the egg, 0.32 to 0.53 become adult
)

// The times are those of NCSU-GHT "at the optimum", which we take to be 24 °C, and
// the threshold of 10 °C is a usual one: both are from memory.
var greenhouseThrips = Profile{
	Species: GreenhouseThrips,
	Stages: []Stage{
		{
			Name: "egg", As: model.Eggs, Where: Tissue, Parts: thripsLeaf, Lower: ghtLower, Constant: is(DegreeDays, 17*14, 18.5*14, 20*14, "derived memory NCSU-GHT"),
			Survival: is(Share, 0.7, 0.85, 0.95, "memory"), Reach: reach("nnnnnn", ""), Seen: neverOnCards(0.02, 0.1, 0),
		},
		{
			Name: "larva", As: model.Young, Where: Leaf, Parts: thripsLeaf, Lower: ghtLower, Constant: is(DegreeDays, 150, 13*14, 220, "derived memory NCSU-GHT"),
			Survival: is(Share, 0.6, 0.75, 0.9, "memory"), Reach: reach("yyypnp", ""), Seen: neverOnCards(0.35, 0.7, 0.4),
		},
		{
			Name: "pupa", As: model.Resting, Where: Leaf, Parts: thripsLeaf, Lower: ghtLower, Constant: is(DegreeDays, 50, 70, 100, "memory"),
			Survival: is(Share, 0.7, 0.9, 0.97, "memory"), Reach: reach("pppnnp", ""), Seen: neverOnCards(0.3, 0.6, 0.3),
		},
	},
	Adult: Adult{
		Stage: Stage{
			Name: "adult", As: model.Adults, Where: Leaf, Parts: thripsLeaf, Lower: ghtLower, Constant: is(DegreeDays, 300, 490, 49*14, "derived memory NCSU-GHT"),
			Reach: reach("yyypnp", ""), Seen: seen(0.5, 0.7, 0.4, 0.02),
		},
		PreLaying: is(DegreeDays, 30, 70, 120, "memory"), Laying: is(DegreeDays, 250, 400, 550, "memory"),
		Young: is(PerFemale, 25, 37.5, 50, "NCSU-GHT"), Female: is(Share, 0.9, 1, 1, "memory"), Spread: adultSpread,
	},
	Upper: is(Celsius, 25, 27, 30, "memory"), Lethal: is(Celsius, 31, 33, 35, "memory"), Spread: stageSpread,
	Fits: []Fit{{Span: "egg to adult", Lower: 10, Constant: 31.5*14 + 70, Source: "derived memory NCSU-GHT"}},
	Note: "Sluggish and rarely flying, so cards miss it. At least some rest on the infested leaf and not in the mix.",
}

var ghtLower = is(Celsius, 8, 10, 12, "memory")
