package agenda

import "leafturn/model"

// DefaultRoundEvery is the rhythm of a place for which the household has chosen
// none: weekly, which is common practice without a source.
const DefaultRoundEvery = 7

// How the dates of tasks move for what is known of a place. All are common practice
// without a source, except where one is named.
const (
	FortnightlyRound = 14  // days after which a round is late wherever no pest is about
	WatchfulRound    = 7   // days between rounds of a place where an outbreak is open
	FastRound        = 4   // of mites or aphids in a warm room, which breed faster than a fortnight
	WarmRoom         = 250 // tenths of a degree Celsius from which a room is warm
	HeatDays         = 14  // days for which a reading of the temperature counts
	CutRound         = 4   // days from cut flowers to a look at what stands beside them

	WaterDays = 35 // days for which waterings are looked at
	WaterNear = 2  // days by which a round moves to be done with the watering

	CardEvery    = 7  // days between readings of a card
	CardLasts    = 28 // days after which a card is full or dusty
	ThirstyAfter = 10 // days without a watering after which a plant may be thirsty
	WetFor       = 2  // days after a watering in which the mix may be wet
	PottedFor    = 14 // days after repotting in which a plant is tender
	PruneFrom    = 3  // of the damage scale, from which leaves are cut off rather than treated
	ClaimDoubt   = 7  // days after a claim for which it may still have been done unheard

	MaintainSoon = 7  // days between looks while a cleared plant is watched, see standing.QuarantineDays
	MaintainThen = 14 // days between looks after that
	MaintainFor  = 56 // days after clearing for which anybody looks specially

	// Not so much water that it runs out of the pot: ten days or three waterings,
	// whichever is longer (label of an imidacloprid granule, read as a stored copy).
	RunDays      = 10
	RunWaterings = 3
)

// Course is what a course of contact sprays starts from when a member plans one.
// It holds days only: how much goes into the water is the label's to say.
type Course struct {
	IntervalMin, IntervalMax, Interval int // days between sprays
	CheckMin, CheckMax, CheckAfter     int // days from a spray to the look
	MinDays                            int // from the first spray to the last, at least
	Basis                              model.Basis
}

// DefaultCourse is a course in the common-practice band. The figures and their
// sources stand in testdata/treatments/course.csv: sprays 7 to 10 days apart is
// common practice without a source, weekly within it (UFIFAS); a look 2 to 3 days
// after each (UKENT); weekly for a month or more (ISU1996).
func DefaultCourse() Course {
	return Course{
		IntervalMin: 7, IntervalMax: 10, Interval: 7,
		CheckMin: 2, CheckMax: 3, CheckAfter: 3,
		MinDays: 28,
		Basis:   model.CommonPractice,
	}
}

// Applications is how many sprays at an interval the course needs.
func (c Course) Applications(interval int) int {
	return 1 + (c.MinDays+interval-1)/interval
}
