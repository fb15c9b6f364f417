package model

import "github.com/google/uuid"

// Kind tells the records apart. The numbers are on disk and on the wire: do not
// reorder or reuse them.
type Kind uint8

// The kinds of records.
const (
	KindHousehold Kind = 1
	KindMember    Kind = 2
	KindDevice    Kind = 3
	KindPlace     Kind = 4
	KindPlant     Kind = 5
	KindProduct   Kind = 6
	KindOutbreak  Kind = 7
)

// Ref names a record of any kind.
type Ref struct {
	Kind Kind
	ID   uuid.UUID
}

// Household is the group of people and plants that share one log.
type Household struct {
	ID   HouseholdID
	Name string
	Zone string // IANA name of the zone in which days are counted

	// What every plan keeps in mind.
	Children    bool // small children reach the plants
	Pets        bool // animals nibble at them
	NoChemicals bool // water, wiping and pruning only

	Turn Turn // whose turn it is, where a place does not say otherwise
}

// Turn says whose turn a place's tasks are. The numbers are on disk and on the wire:
// do not reorder.
type Turn uint8

// The turns.
const (
	AnyoneHome Turn = 0 // whoever is at home
	OneMember  Turn = 1 // always the same member
	Rotating   Turn = 2 // keepers and helpers one after the other
)

// Role says what a member may do.
type Role uint8

// The roles. The numbers are on disk and on the wire: do not reorder.
const (
	Keeper Role = 1 // may do everything, and invites others
	Helper Role = 2 // logs and changes records
	Guest  Role = 3 // logs facts, changes no records
)

// Valid reports whether the role exists.
func (r Role) Valid() bool { return r >= Keeper && r <= Guest }

// Member is a person of the household. The role comes from the operations on
// membership, not from a field that anybody could set; it is 0 for somebody who has
// left or was removed.
type Member struct {
	ID   MemberID
	Name string
	Role Role

	// When the member wants to be told, in minutes of the household's day.
	DigestAt  int  // the day's one message; 0 sends none
	Evening   bool // one more, if something is still open at EveningAt
	QuietFrom int  // no message from here…
	QuietTo   int  // …to here; equal means never quiet

	// Days away, both included; zero means not.
	AwayFrom, AwayUntil Date

	Ends Date // a guest's last day, zero if there is none
}

// EveningAt is when a member is told of what is still open, minutes of the day.
const EveningAt = 20 * 60

// Device is a phone of a member. Key and member come from the operation that
// admitted the device.
type Device struct {
	ID     DeviceID
	Name   string
	Member MemberID
	Key    []byte // Ed25519 public key
	Since  Instant
	Ended  bool // it was signed off and may no longer write
}

// Place is where plants stand together: a window sill, a shelf, a room.
type Place struct {
	ID         PlaceID
	Name       string
	RoundEvery int // days between rounds, 7 or 14
	Order      int // position in lists and in the walk
	Removed    bool

	// The usual lowest and highest temperature of a day, tenths of a degree Celsius;
	// both zero while the household has not said.
	Coldest, Warmest int

	Card    CardColour // a sticky card hangs here
	Turn    Turn       // used if TurnSet
	TurnOf  MemberID   // whose turn it always is, if OneMember
	TurnSet bool       // the place has a turn of its own
}

// Plant is one plant, or one pot of plants that are always treated together.
type Plant struct {
	ID        PlantID
	Name      string
	Species   string // as the household writes it
	Place     PlaceID
	Note      string
	Edible    bool // treat only with what the label names for food plants
	Sensitive bool // try one leaf first
	Removed   bool // gone: given away or thrown out

	Weak      bool    // ill, dry or newly potted: pests do better on it
	ThinLeaf  bool    // thin, soft leaves
	CuttingOf PlantID // the plant it was cut from, zero if none of the household

	// Inside measures of the pot, millimetres; zero if not measured.
	PotTop, PotBottom, PotHeight int
}

// Means is how a product works, as far as a plan must know.
type Means uint8

// The means. The numbers are on disk and on the wire: do not reorder.
const (
	MeansSoap         Means = 1 // contact spray, nothing left once dry
	MeansOil          Means = 2 // contact spray, smothers
	MeansContactSpray Means = 3 // another contact spray
	MeansSystemicSoil Means = 4 // taken up through the roots
	MeansSoilDrench   Means = 5 // acts in the potting mix only
	MeansWater        Means = 6 // rinse or wipe, no product
)

// RateUnit is the unit of a label's rate.
type RateUnit uint8

// The units of a rate. The numbers are on disk and on the wire: do not reorder.
const (
	RateReady        RateUnit = 1 // ready to use, nothing to mix
	RateMlPerLitre   RateUnit = 2 // millilitres of product per litre of water
	RateGramPerLitre RateUnit = 3 // grams of product per litre of water
)

// Product is something on the shelf, with the facts of its own label. No field
// has a default: what the label does not say stays zero and is never guessed.
type Product struct {
	ID            ProductID
	Name          string
	Means         Means
	Active        string // active ingredient
	Group         string // mode-of-action group number, "" if none is assigned
	RateUnit      RateUnit
	RateMilli     int     // label rate in thousandths of RateUnit
	MixPerPlantMl int     // the household's own estimate of spray per plant, ml
	MinInterval   int     // shortest days between applications on the label
	MaxPerSeason  int     // most applications in a season on the label
	ReentryHours  int     // hours before treated plants may be touched
	Pests         string  // the pests or groups the label names
	Cautions      string  // cautions in the label's words
	StockMilli    int     // what was left when somebody last said so, thousandths of ml or g
	EdibleAllowed bool    // the label names food plants
	MaxCelsius    int     // do not use above, 0 if the label gives none
	Site          Site    // whether the label names house plants
	MostInRow     int     // most applications in a row on the label, 0 if it gives none
	StockAt       Instant // when StockMilli was said
	Removed       bool
}

// Site says whether a label allows a product on plants in a home. The numbers are on
// disk and on the wire: do not reorder.
type Site uint8

// The sites.
const (
	SiteUnsaid   Site = 0 // nobody entered it
	SiteNamed    Site = 1 // the label names house plants or plants indoors
	SiteRuledOut Site = 2 // the label is for elsewhere
)

// Pest is what the household believes an outbreak to be.
type Pest uint8

// The pests. The numbers are on disk and on the wire: do not reorder.
const (
	PestUnknown    Pest = 0
	PestThrips     Pest = 1
	PestSpiderMite Pest = 2
	PestAphid      Pest = 3
	PestMealybug   Pest = 4
	PestRootMealy  Pest = 5
	PestWhitefly   Pest = 6
	PestScale      Pest = 7
	PestFungusGnat Pest = 8
	PestBroadMite  Pest = 9
)

// Pests lists every pest, the unknown one last.
var Pests = []Pest{PestThrips, PestSpiderMite, PestAphid, PestMealybug, PestRootMealy, PestWhitefly, PestScale, PestFungusGnat, PestBroadMite, PestUnknown}

// Outbreak is a pest found on one or more plants, from the first finding until
// the household closes it.
type Outbreak struct {
	ID      OutbreakID
	Pest    Pest
	Note    string
	Opened  Date
	Closed  Date // zero while it runs
	Affects map[PlantID]bool
	Species int // number in package refdata, 0 if only the pest is known
}
