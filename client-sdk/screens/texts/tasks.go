package texts

// Tasks are the words of the kinds of tasks beyond rounds and sprays, of what moves
// their dates, and of whose turn they are.
type Tasks struct {
	Soil, Rinse, Wipe, Prune func(n int) string // how many plants
	TryLeaf                  func(n int) string
	Damaged                  func(day string) string // why leaves are cut off
	CardRead, CardNew        func(place string) string
	Quarantine, Measure      func(plant string) string
	Maintain                 func(pest string, n int) string
	Buy                      func(product string) string

	Found, Opened, Closed func(day string) string
	Accepted              func(member, day string) string
	After                 func(days, last string) string // a step that follows another one
	Season                func(times, day string) string
	Touch                 func(day string) string
	PestNear              func(pest, days string) string
	WarmAndFast           func(pest, celsius, days string) string
	Cut                   func(day, days string) string
	WithWater             string
	CardHangs             string
	CardLast, CardHung    func(day, days string) string
	CameIn, SetApart      func(day string) string
	ApartFor              func(days string) string
	LastLook              func(day string) string
	Rhythm                func(days string) string
	RunsOut               func(have, want, day string) string
	Measured, SameLeaf    func(day string) string
	Best                  func(first, last string) string // the days on which it is best done
	By                    func(last string) string

	OnDryMix, NotBoneDry string
	WetMix               func(plants, day string) string
	WaterIn              func(days, times string) string
	HoldWater            func(plants, day string) string
	TooWarm              func(celsius string, most int) string
	MaybeTreated         func(plants, member, day string) string
	TheirTurn            func(plants, member, day string) string
	Thirsty              func(plants, days string) string
	Tender               func(plants string) string
	NoLabel, NotThere    string // the product or a plant is not known here
	InRow                func(plants, times string) string

	Turn, Watered, WaterSaid, Shares string
	ByHand, ByHandWords              string                           // what was done to a plant by hand
	ApartUntil                       func(since, until string) string // when a plant's time apart may end
	AnywayTitle, AnywayWords, Anyway string                           // of a treatment that must not be done now
	GuestOutbreak                    string                           // why a guest opens none
	CardHere, NoCard                 string                           // whether a sticky card hangs at a place
	Bought                           string                           // asks how much is there now
	EndApart                         string                           // after the look that ends a plant's time apart
	HeatTitle, HeatWords             string                           // noting how warm it was
	Coldest, Warmest, HeatSaid       string
	GiveBack, GaveBack               string // of a task that somebody has taken on
	TurnOf                           func(member string) string
	Share                            func(member string, n int) string

	BreachTitle string
	Breach      map[Breach]string
	BreachNow   string // what helps, whatever was not kept
	Want        func(kind Breach, n int) string
}

// Breach is a limit of a label that was not kept.
type Breach string

// The breaches.
const (
	TooClose  Breach = "close"
	TooMany   Breach = "many"
	NotOnFood Breach = "food"
)

// Breaches lists every breach.
var Breaches = []Breach{TooClose, TooMany, NotOnFood}
