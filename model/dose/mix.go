package dose

import "leafturn/model"

// Kind says what a person has to do to get a mix.
type Kind uint8

// The kinds of mix.
const (
	NotEntered Kind = 1 // the label's rate has not been entered: there is no amount to give
	ToMix      Kind = 2 // product and water
	Ready      Kind = 3 // ready to use, nothing to mix
	PlainWater Kind = 4 // water alone, no product
)

// Mix is what to prepare for a number of plants.
type Mix struct {
	Kind     Kind
	Plants   int
	VolumeMl int64  // spray in all; 0 if the household gave no estimate per plant
	Product  Amount // exact; zero unless the kind is ToMix or Ready and the volume is known
	PerLitre Amount // the label's rate; zero unless the kind is ToMix
}

// For is the mix for a number of plants, by the label's rate and the household's
// own estimate of spray per plant.
func For(p *model.Product, plants int) Mix {
	m := Of(p, int64(p.MixPerPlantMl)*int64(plants))
	m.Plants = plants
	return m
}

// Of is the mix for a volume of spray in millilitres.
func Of(p *model.Product, volumeMl int64) Mix {
	m := Mix{Kind: kindOf(p), VolumeMl: volumeMl}
	switch m.Kind {
	case ToMix:
		unit := unitOf(p.RateUnit)
		m.PerLitre = Amount{Millionths: int64(p.RateMilli) * 1000, Unit: unit}
		m.Product = Amount{Millionths: int64(p.RateMilli) * volumeMl, Unit: unit}
	case Ready:
		m.Product = Amount{Millionths: volumeMl * million, Unit: Millilitre}
	}
	return m
}

// Times is what a mix comes to when it is prepared again and again.
func (m Mix) Times(n int) Mix {
	m.VolumeMl *= int64(n)
	m.Product.Millionths *= int64(n)
	return m
}

func kindOf(p *model.Product) Kind {
	switch {
	case p.RateUnit == model.RateReady:
		return Ready
	case p.RateMilli > 0 && (p.RateUnit == model.RateMlPerLitre || p.RateUnit == model.RateGramPerLitre):
		return ToMix
	case p.Means == model.MeansWater:
		return PlainWater
	}
	return NotEntered
}

func unitOf(u model.RateUnit) Unit {
	if u == model.RateGramPerLitre {
		return Gram
	}
	return Millilitre
}
