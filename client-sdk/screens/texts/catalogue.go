// Package texts is the one place for words that people read on the phone.
//
// A Catalogue is one language: a struct of strings, of functions where a number
// or a name goes into the sentence, and of maps from the model's own constants
// to their words. Another language is another file with another Catalogue;
// Complete names every text that it lacks, and a test calls it for each one.
//
// Rules for the words: plain, calm, short; no exclamation marks, no blame. A
// number carries its unit and a date says its weekday. An error says what
// happened, what is safe and what to do. Nothing here invents a dose.
package texts

import "leafturn/model"

// Catalogue is every text of one language.
type Catalogue struct {
	Lang string // BCP 47 tag, for the page's lang attribute

	Common    Common
	Format    Format
	Words     Words
	Bar       Bar
	Status    Status
	Welcome   Welcome
	Join      Join
	First     First
	Today     Today
	Confirm   Confirm
	Round     Round
	Finding   Finding
	Photos    Photos
	Measure   Measure
	Recovery  Recovery
	Card      Card
	After     After
	Plants    Plants
	PlantForm PlantForm
	Plant     Plant
	Conflict  Conflict
	Members   Members
	Outbreaks Outbreaks
	Outbreak  Outbreak
	Course    Course
	Household Household
	Invite    Invite
	Place     Place
	Product   Product
	Data      Data
	Poison    Poison
	Problem   Problem
	Agenda    Agenda
	Tasks     Tasks
	Story     Story
	Say       Say
	Cautions  Cautions
	LookAt    LookAt
	Ahead     Ahead
	Forecast  Forecast
	Plans     Plans
	Clear     ClearGauge
	Identify  Identify
	Trace     Trace
	LookFirst LookFirst
	Reminders Reminders
	Notes     Notes
}

// Format puts numbers, amounts and dates into words.
type Format struct {
	Day      func(model.Date) string            // with its weekday, short
	DayLong  func(model.Date) string            // with its weekday, in full
	DayNear  func(day, today model.Date) string // today, tomorrow, or the day
	DayFar   func(day, today model.Date) string // with its year, if that is not plain
	Clock    func(hour, minute int) string      // a time of day
	Ml       func(ml int) string                // an amount of liquid
	Rate     func(model.RateUnit, int) string   // a label rate in thousandths of the unit
	Stock    func(model.RateUnit, int) string   // what is left, in thousandths
	Bytes    func(int64) string                 // a size of data
	List     func([]string) string              // names in one sentence
	Plants   func(n int) string                 // how many plants
	Days     func(n int) string                 // a span in days
	Hours    func(n int) string                 // a span in hours
	Times    func(n int) string                 // how often
	Progress func(n, of int) string             // n of m
	Counts   func(model.Counts) string          // animals by stage
	Signs    func(model.Signs) string           // signs in one sentence
	Finding  func(part, signs, counts string) string
}

// Words are the names of the model's constants.
type Words struct {
	Part         map[model.Part]string
	Sign         map[model.Signs]string
	Aid          map[model.Aid]string
	Stage        map[model.Stage]string
	StageHint    map[model.Stage]string
	Damage       map[int]string
	Role         map[model.Role]string
	RoleHint     map[model.Role]string
	Means        map[model.Means]string
	RateUnit     map[model.RateUnit]string
	Site         map[model.Site]string
	Pest         map[model.Pest]string
	Handling     map[model.HandlingKind]string
	PutOffReason map[model.PutOffReason]string
	Standing     map[Standing]string
	DueState     map[DueState]string
	Rhythm       map[int]string // by days between rounds
}

// Standing is how a plant stands; it is derived, never stored.
type Standing string

// The standings.
const (
	Clear       Standing = "clear"
	Watch       Standing = "watch"
	Quarantined Standing = "quarantined"
	InTreatment Standing = "treatment"
	Lost        Standing = "lost"
)

// Standings lists every standing, the calmest first.
var Standings = []Standing{Clear, Watch, Quarantined, InTreatment, Lost}

// DueState is how a task or a round stands in time.
type DueState string

// The due states.
const (
	Overdue DueState = "overdue"
	Due     DueState = "due"
	Soon    DueState = "soon"
	Later   DueState = "later"
	Done    DueState = "done"
)

// DueStates lists every due state.
var DueStates = []DueState{Overdue, Due, Soon, Later, Done}

// Rhythms lists the days between rounds that a place may have.
var Rhythms = []int{7, 14}

// MostDamage is the highest step of the damage scale, which starts at 0.
const MostDamage = 5

// Stages lists the life stages in order.
var Stages = []model.Stage{model.Eggs, model.Young, model.Resting, model.Adults}

// Signs lists the signs, those of the most usual pests first.
var Signs = []model.Signs{
	model.PaleSpeckling, model.SilveryPatches, model.BlackSpecks, model.FineWebbing,
	model.StickyHoneydew, model.WhiteFluff, model.ShellsOrBumps, model.FliesWhenTouched,
	model.TwistedNewGrowth, model.Yellowing, model.MovingInsects, model.LarvaeInSoil,
}

// Aids lists what may help the eye.
var Aids = []model.Aid{model.NakedEye, model.Lens, model.PaperTap}

// Roles, Means, Sites, RateUnits, Reasons and Handlings list the constants that have
// words, in the order in which screens offer them.
var (
	Roles     = []model.Role{model.Keeper, model.Helper, model.Guest}
	Means     = []model.Means{model.MeansSoap, model.MeansOil, model.MeansContactSpray, model.MeansSystemicSoil, model.MeansSoilDrench, model.MeansWater}
	Sites     = []model.Site{model.SiteUnsaid, model.SiteNamed, model.SiteRuledOut}
	RateUnits = []model.RateUnit{model.RateMlPerLitre, model.RateGramPerLitre, model.RateReady}
	Reasons   = []model.PutOffReason{model.NoTime, model.TooHot, model.PlantDry, model.PlantWet, model.OutOfStock, model.OtherWhy}
	Handlings = []model.HandlingKind{model.Isolated, model.Released, model.Moved, model.Rinsed, model.Pruned, model.Repotted, model.CameIn, model.WentOut, model.ThrownOut, model.Wiped, model.Watered, model.BackIn, model.CutCameIn, model.Tried}
)
