package population

import (
	"strings"

	"leafturn/model"
)

// Effect is what a treatment does to an animal that it reaches. The bands are for
// poor and thorough work; Source names the row of testdata/treatments it rests on,
// or says "judgement" or "memory".
type Effect struct {
	Kill   Span   // share killed on the day it works
	Delay  int    // days until it works
	Later  Span   // share killed a day while it lasts, before fading
	Lasts  int    // days it goes on working
	Source string // of these figures
}

// fade falls in a straight line from nearly 1 to nearly 0 while the effect lasts.
func (e Effect) fade(after int) float64 {
	return 1 - float64(after)/float64(e.Lasts+1)
}

// The effects. Soap is the one with a published figure: a spray kills 50 to 60 per
// cent of what is there (UKENT). Reached stages are met at 50 to 95 per cent
// (refdata), 75 in the middle, so 0.7 to 0.8 of those met die; the others are set
// beside it by judgement, never above 0.9.
var (
	soap     = Effect{Kill: Span{0.7, 0.8}, Source: "derived UKENT"}
	oil      = Effect{Kill: Span{0.7, 0.85}, Source: "judgement; no residue OILCOPY"}
	contact  = Effect{Kill: Span{0.7, 0.9}, Source: "judgement"}
	pyrethr  = Effect{Kill: Span{0.7, 0.9}, Source: "judgement; none the next day CSUPYR_COPY"}
	spinosad = Effect{Kill: Span{0.6, 0.9}, Later: Span{0.2, 0.5}, Lasts: 13, Source: "judgement; 1-3 d to control, up to 14 d CLOYDSPIN"}
	neem     = Effect{Kill: Span{0.2, 0.5}, Later: Span{0.02, 0.08}, Lasts: 6, Source: "judgement; slow, 7-14 d NEEM714"}
	beauv    = Effect{Kill: Span{0, 0.1}, Later: Span{0.05, 0.15}, Lasts: 6, Source: "judgement; 5-7 d BEAUV57"}
	systemic = Effect{Delay: 14, Kill: Span{0.1, 0.3}, Later: Span{0.1, 0.3}, Lasts: 45, Source: "judgement; uptake 14 d CSUAPHID GRANLABEL, up to 2 months PRACTICE"}
	drench   = Effect{Kill: Span{0.4, 0.8}, Later: Span{0.05, 0.2}, Lasts: 4, Source: "judgement; about 5 d UCGNAT_COPY"}
	bti      = Effect{Kill: Span{0.7, 0.9}, Later: Span{0.1, 0.3}, Lasts: 4, Source: "judgement; larvae only UCTOX, about 5 d UCGNAT_COPY"}
	nematode = Effect{Delay: 1, Kill: Span{0.3, 0.6}, Later: Span{0.05, 0.2}, Lasts: 13, Source: "judgement; 24-48 h GHMAGSF, 14 d NEMASUP"}
	water    = Effect{Kill: Span{0.5, 0.9}, Source: "judgement; no residue memory"}
)

// actives are words of active ingredients whose effect differs from that of their
// means in general.
var actives = []struct {
	word   string
	means  model.Means
	effect Effect
}{
	{"pyrethr", model.MeansContactSpray, pyrethr},
	{"spinosad", model.MeansContactSpray, spinosad},
	{"neem", model.MeansContactSpray, neem},
	{"azadirachtin", model.MeansContactSpray, neem},
	{"beauveria", model.MeansContactSpray, beauv},
	{"thuringiensis", model.MeansSoilDrench, bti},
	{"bti", model.MeansSoilDrench, bti},
	{"steinernema", model.MeansSoilDrench, nematode},
	{"nematode", model.MeansSoilDrench, nematode},
}

// EffectOf is what a treatment does. An active ingredient it does not know works
// as its means does in general.
func EffectOf(means model.Means, active string) Effect {
	active = strings.ToLower(active)
	for _, a := range actives {
		if a.means == means && strings.Contains(active, a.word) {
			return a.effect
		}
	}
	switch means {
	case model.MeansSoap:
		return soap
	case model.MeansOil:
		return oil
	case model.MeansContactSpray:
		return contact
	case model.MeansSystemicSoil:
		return systemic
	case model.MeansSoilDrench:
		return drench
	case model.MeansWater:
		return water
	}
	return Effect{}
}
