package plan

import "leafturn/model"

// Because is one reason for the day of a step. Words live in the screens' catalogue;
// what a Reason carries stands behind each.
type Because uint8

// The reasons.
const (
	FirstPossible   Because = 1  // nothing stands in the way on Date, the first day of the course
	OneLeafFirst    Because = 2  // a plant is sensitive: one leaf was tried Days days before, on Date
	LeafToTry       Because = 3  // this is the leaf to try; the first spray follows Days days later
	CatchesYoung    Because = 4  // the young can be reached for DegreeDays above Lower: Days days at Celsius on average since Date
	LabelGap        Because = 5  // the label asks for Days days since Date; the pest would want Wanted
	PracticeGap     Because = 6  // the label's interval is not entered: common practice asks for Days; the pest would want Wanted
	NotInHeat       Because = 7  // it was to be on Date, but that day is warmer than Celsius
	PlantsUntouched Because = 8  // plants must not be touched for Hours after Date
	Bridges         Because = 9  // the label holds the next spray back by Days days; without this the young of Wanted days would be missed
	BeforeSpray     Because = 10 // water takes off what it can, then the spray goes on the dry plant
	RestsInMix      Because = 11 // a resting stage in the potting mix is out of a spray's reach
	WorksFrom       Because = 12 // taken up by roots: works from Days days after, on Date
	Again           Because = 13 // what was given on Date has worn off after Days days
	OtherGroup      Because = 14 // another mode of action: Group has been in use for Days days, about one generation
	SeasonFull      Because = 15 // the label's most in a season, Count, is reached for another product
	LookAfter       Because = 16 // the effect shows Days days after the treatment of Date
	ShouldBeOver    Because = 17 // the wanted chance of having ended it is reached on this day
	WaitsForOther   Because = 18 // every product was held back until this day by its label
	LongestGap      Because = 19 // this gap, Days, is the longest that still reaches the target: fewer sprays
	ShorterGap      Because = 20 // half-caught young must be met again: Days days, of Wanted for which they can be reached
)

// Reason is one link of why a step is on its day.
type Reason struct {
	Because    Because
	Date       model.Date
	Days       int
	Wanted     int
	Count      int
	Hours      int
	Celsius    float64
	DegreeDays float64
	Lower      float64
	Group      string
	Product    model.ProductID
}

// Limit is a kind of limit on a course.
type Limit uint8

// The limits.
const (
	LimitInterval Limit = 1 // the label's shortest interval
	LimitSeason   Limit = 2 // the label's most in a season
	LimitRotation Limit = 3 // a group must rest, or has been used as often in a row as is wise
	LimitHeat     Limit = 4 // not used above a temperature
	LimitReentry  Limit = 5 // plants may not be touched yet
	LimitFood     Limit = 6 // edible plants
	LimitWishes   Limit = 7 // what the household chose
	LimitHorizon  Limit = 8 // the time within which it should end
	LimitShelf    Limit = 9 // what stands on the shelf
	limits              = 10
)
