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
	PutOff  model.PutOffReason
}
