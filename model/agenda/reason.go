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
	LastStep       Because = 8  // Fact completed the step before, on Date
	PlanInterval   Because = 9  // Days days between steps; Basis says what that rests on
	LabelInterval  Because = 10 // Fact is the last application, on Date, and the label asks for Days days: this moved the date
	StepBefore     Because = 11 // projected: step Ordinal comes first, on Date at the earliest
	Sprayed        Because = 12 // Fact completed the step that the look follows, on Date
	CheckAfter     Because = 13 // the look comes Days days after a step
	KeepApart      Because = 14 // the plan keeps its plants apart
	DoneTwice      Because = 15 // step Ordinal was done twice: not before Date until somebody settles it
	WasPutOff      Because = 16 // Fact put it off to Date, for PutOff
)

// Reason is one link of the chain, with the inputs behind it.
type Reason struct {
	Because Because
	Fact    *model.Fact // nil if a record, not a fact, is the reason
	Date    model.Date
	Days    int
	Ordinal uint32
	Basis   model.Basis
	PutOff  model.PutOffReason
}
