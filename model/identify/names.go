package identify

import "leafturn/model"

// Cause is what a plant may have.
type Cause uint8

// The causes.
const (
	Thrips           Cause = 0 // any but greenhouse thrips; kinds need a microscope
	GreenhouseThrips Cause = 1
	SpiderMite       Cause = 2
	Aphid            Cause = 3
	Mealybug         Cause = 4
	RootMealybug     Cause = 5
	Whitefly         Cause = 6
	SoftScale        Cause = 7
	ArmouredScale    Cause = 8
	FungusGnat       Cause = 9
	BudMite          Cause = 10 // broad and cyclamen mites
	ShoreFly         Cause = 11 // harmless, taken for fungus gnats
	Water            Cause = 12 // no pest: too much or too little
	Light            Cause = 13 // no pest: too much or too little
	Feeding          Cause = 14 // no pest
	Other            Cause = 15 // none of these

	Causes = 16
)

var causeNames = [Causes]string{"thrips", "greenhouse_thrips", "spider_mite", "aphid", "mealybug", "root_mealybug", "whitefly",
	"soft_scale", "armoured_scale", "fungus_gnat", "bud_mite", "shore_fly", "water", "light", "feeding", "other"}

// String is the name in the tables.
func (c Cause) String() string {
	if c >= Causes {
		return "unknown"
	}
	return causeNames[c]
}

var pests = [Causes]model.Pest{Thrips: model.PestThrips, GreenhouseThrips: model.PestThrips, SpiderMite: model.PestSpiderMite,
	Aphid: model.PestAphid, Mealybug: model.PestMealybug, RootMealybug: model.PestRootMealy, Whitefly: model.PestWhitefly,
	SoftScale: model.PestScale, ArmouredScale: model.PestScale, FungusGnat: model.PestFungusGnat, BudMite: model.PestBroadMite}

// Pest is the pest of a cause, PestUnknown for those that are none.
func (c Cause) Pest() model.Pest {
	if c >= Causes {
		return model.PestUnknown
	}
	return pests[c]
}

// NotAPest reports whether the cause is water, light or feeding.
func (c Cause) NotAPest() bool { return c == Water || c == Light || c == Feeding }

// Sign is something to look for.
type Sign uint8

// The signs.
const (
	Honeydew      Sign = 0  // leaves or what stands below are sticky, or black with mould
	SilverStreaks Sign = 1  // silvery or bleached streaks
	Stippling     Sign = 2  // fine pale dots
	BlackDots     Sign = 3  // small black dots like varnish
	Webbing       Sign = 4  // fine webs
	WhiteFluff    Sign = 5  // white fluff in leaf joints
	CastSkins     Sign = 6  // small white empty skins
	BrownBumps    Sign = 7  // brown bumps that do not move
	PaleOvals     Sign = 8  // flat pale ovals stuck under leaves
	WhiteFlyers   Sign = 9  // small white flyers rise when the plant is shaken
	BlackFlies    Sign = 10 // small black flies at the pot or the window
	Flyers        Sign = 11 // something small flies up when touched, colour not noted
	TwistedGrowth Sign = 12 // youngest growth twisted, hard or dwarfed
	TapSlim       Sign = 13 // tapped over white paper: slim and quick
	TapDots       Sign = 14 // tapped over white paper: slow moving dots
	TapLegs       Sign = 15 // tapped over white paper: plump, with legs to be seen
	Crawlers      Sign = 16 // small animals move, kind not noted
	CardSlim      Sign = 17 // on the sticky card: slim ones
	CardWhite     Sign = 18 // on the sticky card: white ones
	CardBlack     Sign = 19 // on the sticky card: black flies
	CardWinged    Sign = 20 // on the sticky card: plump ones with wings
	SoilLarvae    Sign = 21 // clear larvae with a black head in the soil, or in a potato slice
	RootFluff     Sign = 22 // white fluff on roots or at the holes of the pot
	TipClusters   Sign = 23 // soft animals in clusters on shoot tips
	DarkDroplets  Sign = 24 // slow ones under the leaf that carry a dark droplet
	WingSpots     Sign = 25 // sturdy flies with pale spots on the wings
	SoilAlgae     Sign = 26 // green on the soil
	EggsSeen      Sign = 27 // eggs were counted on leaves or stems
	RestingSeen   Sign = 28 // resting stages were counted on leaves
	Yellowing     Sign = 29
	CrispEdges    Sign = 30 // leaf tips or edges brown and dry
	SoggySoil     Sign = 31 // soil stays wet, or smells sour
	Stretched     Sign = 32 // growth long and pale, leaning to the window
	SunPatches    Sign = 33 // bleached or burnt patches on the side to the sun
	OldLeavesPale Sign = 34 // the oldest leaves pale first

	NumSigns = 35
)

var signNames = [NumSigns]string{"honeydew", "silver_streaks", "stippling", "black_dots", "webbing", "white_fluff", "cast_skins",
	"brown_bumps", "pale_ovals", "white_flyers", "black_flies", "flyers", "twisted_growth", "tap_slim", "tap_dots", "tap_legs",
	"crawlers", "card_slim", "card_white", "card_black", "card_winged", "soil_larvae", "root_fluff", "tip_clusters", "dark_droplets",
	"wing_spots", "soil_algae", "eggs_seen", "resting_seen", "yellowing", "crisp_edges", "soggy_soil", "stretched", "sun_patches",
	"old_leaves_pale"}

// String is the name in the tables.
func (s Sign) String() string {
	if s >= NumSigns {
		return "unknown"
	}
	return signNames[s]
}

// Set is a set of signs.
type Set uint64

// Of makes a set.
func Of(signs ...Sign) Set {
	var s Set
	for _, x := range signs {
		s |= 1 << x
	}
	return s
}

// Has reports whether a sign is in the set.
func (s Set) Has(x Sign) bool { return s>>x&1 == 1 }

// Card is the signs that a sticky card can show.
const Card Set = 1<<CardSlim | 1<<CardWhite | 1<<CardBlack | 1<<CardWinged

const allSigns Set = 1<<NumSigns - 1
