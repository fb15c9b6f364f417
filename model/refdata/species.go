package refdata

import (
	"leafturn/model"
	"leafturn/model/fault"
)

// Species is a kind of pest, finer than model.Pest. The numbers may be kept with
// a forecast: do not reorder or reuse them.
type Species uint8

// The species.
const (
	WesternFlowerThrips Species = 1
	OnionThrips         Species = 2
	ThripsUnknown       Species = 3 // one of the two above; only a microscope tells
	Echinothrips        Species = 4
	GreenhouseThrips    Species = 5
	TwoSpottedMite      Species = 6
	GreenhouseWhitefly  Species = 7
	GreenPeachAphid     Species = 8
	MelonAphid          Species = 9
	CitrusMealybug      Species = 10
	RootMealybug        Species = 11
	BrownSoftScale      Species = 12
	HemisphericalScale  Species = 13
	ArmouredScale       Species = 14
	FungusGnat          Species = 15
	BroadMite           Species = 16 // broad and cyclamen mites
)

// ErrSpecies is returned when a number is not a species, or a pest has none.
var ErrSpecies = fault.New("species_unknown", "This pest is not one we know figures for, so nothing can be worked out for it.")

type species struct {
	name, latin string
	pest        model.Pest
}

var names = [...]species{
	WesternFlowerThrips: {"western flower thrips", "Frankliniella occidentalis", model.PestThrips},
	OnionThrips:         {"onion thrips", "Thrips tabaci", model.PestThrips},
	ThripsUnknown:       {"thrips, kind unknown", "Frankliniella occidentalis or Thrips tabaci", model.PestThrips},
	Echinothrips:        {"impatiens thrips", "Echinothrips americanus", model.PestThrips},
	GreenhouseThrips:    {"greenhouse thrips", "Heliothrips haemorrhoidalis", model.PestThrips},
	TwoSpottedMite:      {"two-spotted spider mite", "Tetranychus urticae", model.PestSpiderMite},
	GreenhouseWhitefly:  {"greenhouse whitefly", "Trialeurodes vaporariorum", model.PestWhitefly},
	GreenPeachAphid:     {"green peach aphid", "Myzus persicae", model.PestAphid},
	MelonAphid:          {"melon aphid", "Aphis gossypii", model.PestAphid},
	CitrusMealybug:      {"citrus mealybug", "Planococcus citri", model.PestMealybug},
	RootMealybug:        {"root mealybug", "Rhizoecus and others", model.PestRootMealy},
	BrownSoftScale:      {"brown soft scale", "Coccus hesperidum", model.PestScale},
	HemisphericalScale:  {"hemispherical scale", "Saissetia coffeae", model.PestScale},
	ArmouredScale:       {"armoured scale", "Diaspididae", model.PestScale},
	FungusGnat:          {"fungus gnat", "Bradysia spp.", model.PestFungusGnat},
	BroadMite:           {"broad or cyclamen mite", "Polyphagotarsonemus latus, Phytonemus pallidus", model.PestBroadMite},
}

// All lists every species in the order of its number.
var All = []Species{
	WesternFlowerThrips, OnionThrips, ThripsUnknown, Echinothrips, GreenhouseThrips, TwoSpottedMite, GreenhouseWhitefly,
	GreenPeachAphid, MelonAphid, CitrusMealybug, RootMealybug, BrownSoftScale, HemisphericalScale, ArmouredScale, FungusGnat, BroadMite,
}

// Valid reports whether the species exists.
func (s Species) Valid() bool { return s >= WesternFlowerThrips && s <= BroadMite }

// String is the plain English name, for logs; screens have their own words.
func (s Species) String() string {
	if !s.Valid() {
		return "unknown species"
	}
	return names[s].name
}

// Latin is the scientific name, "" for no species.
func (s Species) Latin() string {
	if !s.Valid() {
		return ""
	}
	return names[s].latin
}

// Pest is what a household's records call the species.
func (s Species) Pest() model.Pest {
	if !s.Valid() {
		return model.PestUnknown
	}
	return names[s].pest
}

// Kinds are the species that s may turn out to be: two for ThripsUnknown, else s
// alone. A forecast for s must span them all.
func (s Species) Kinds() []Species {
	switch {
	case s == ThripsUnknown:
		return []Species{WesternFlowerThrips, OnionThrips}
	case s.Valid():
		return []Species{s}
	default:
		return nil
	}
}

// Of are the species that a household's pest may be. The first is the one to
// compute with while nobody has named a species: the one common on houseplants
// and not slower than the others.
func Of(p model.Pest) []Species {
	switch p {
	case model.PestThrips:
		return []Species{ThripsUnknown, WesternFlowerThrips, OnionThrips, Echinothrips, GreenhouseThrips}
	case model.PestAphid:
		return []Species{MelonAphid, GreenPeachAphid}
	case model.PestScale:
		return []Species{BrownSoftScale, HemisphericalScale, ArmouredScale}
	}
	for _, s := range All {
		if s.Pest() == p {
			return []Species{s}
		}
	}
	return nil
}
