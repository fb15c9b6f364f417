package agenda

import "leafturn/model"

// Because is one link in the chain of reasons for a task and its date.
type Because uint8

// The links. What a Reason carries beside its fact stands behind each.
const (
	NeverLooked    Because = 1  // no round of this place was ever completed
	LastRound      Because = 2  // Fact completed the round before, on Date
	RoundEvery     Because = 3  // the place is looked at every Days days
	WasFound       Because = 4  // Fact is the finding that led to the plan, on Date
	OutbreakOpened Because = 5  // on Date
	PlanAccepted   Because = 6  // Fact is the acceptance, on Date
	FirstDay       Because = 7  // the plan begins on Date
	LastStep       Because = 8  // Fact completed Task, the step before, on Date
	PlanInterval   Because = 9  // the plan keeps Days days between the steps; Basis says what that rests on
	LabelInterval  Because = 10 // Fact is the last application, on Date, or Task is expected on it, and the label asks for Days days: this moved the date
	StepBefore     Because = 11 // projected: Task comes first, on Date at the earliest
	Treated        Because = 12 // Fact completed Task, the treatment that the look follows, on Date
	CheckAfter     Because = 13 // the look comes Days days after a step
	KeepApart      Because = 14 // the plan keeps its plants apart
	DoneTwice      Because = 15 // Task was done twice: not before Date until somebody settles it
	WasPutOff      Because = 16 // Fact put it off to Date, for PutOff
	PlanSays       Because = 17 // Step is why the plan's search chose the day
	SeasonFull     Because = 18 // a plant had Count applications in SeasonDays, the label's most: this moved the date to Date
	Untouchable    Because = 19 // the re-entry time of Fact runs until Date: this moved the date
	PestNear       Because = 20 // an open Outbreak of Pest is at the place: Days days between rounds
	WarmAndFast    Because = 21 // the same, of a pest that is fast where it is Tenths warm, by Fact or the place's record
	CutFlowers     Because = 22 // Fact brought cut flowers or produce on Date: a look Days days later
	WithWatering   Because = 23 // the place is watered about weekly: the round is best on Date, with it
	CardHangs      Because = 24 // a card hangs at the place, and nobody has read it yet
	LastReading    Because = 25 // Fact is the last reading of the card, on Date
	CardRhythm     Because = 26 // a card is read every Days days
	CardHung       Because = 27 // the card hangs since Fact, on Date
	CardWorn       Because = 28 // a card is good for Days days
	CameIn         Because = 29 // Fact brought the plant in on Date
	SetApart       Because = 30 // Fact set the plant apart on Date
	OutbreakClosed Because = 31 // Outbreak of Pest was closed on Date
	ApartFor       Because = 32 // a plant is kept apart for Days days
	LastLook       Because = 33 // Fact completed the look before, on Date
	MaintainEvery  Because = 34 // a cleared plant is looked at every Days days
	RunsOut        Because = 35 // the shelf holds Have thousandths of Product, and with Task of Date the plans need Want
	WasMeasured    Because = 36 // Fact measured the leaf on Date
	BadlyDamaged   Because = 38 // Fact is the last look, on Date, that saw PruneFrom or more of the damage scale
	SameLeaf       Because = 37 // the look Task of Date, done by Fact or expected, is the time to measure it again
)

// Reason is one link of the chain, with the inputs behind it.
type Reason struct {
	Because Because
	Fact    *model.Fact // nil if a record, not a fact, is the reason
	Date    model.Date
	Days    int
	Count   int
	Task    model.TaskKey
	Basis   model.Basis
	Step    *model.StepWhy

	Pest       model.Pest
	Outbreak   model.OutbreakID
	Product    model.ProductID
	Tenths     int // of a degree Celsius
	Have, Want int // thousandths of ml or g
	PutOff     model.PutOffReason
}
