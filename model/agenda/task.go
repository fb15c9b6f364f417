package agenda

import (
	"leafturn/model"
	"leafturn/model/dose"
)

// State is how far a task is.
type State uint8

// The states.
const (
	Open    State = 1
	Claimed State = 2 // somebody said "I'll do it"
	PutOff  State = 3 // not before a day
	Done    State = 4
)

// Task is one thing to do, or done.
type Task struct {
	ID        model.TaskID
	Key       model.TaskKey
	State     State
	Projected bool // waits for the step before it; its date is an estimate

	Plants   []model.PlantID // living ones, by name
	Places   []model.PlaceID // where they stand, in the household's order
	Product  model.ProductID // for a step of a plan
	Outbreak model.OutbreakID
	Plan     *model.PlanAccepted // nil if no plan asks for it
	Step     *model.PlanStep     // nil if it is no step of the plan

	Due       model.Date      // by rhythm and label
	NotBefore model.Date      // later than Due if the task was put off, or a flag holds it back; else zero
	Earliest  model.Date      // the first day on which it is of use and allowed, zero if that does not matter
	Latest    model.Date      // the last day on which it does what it is for, zero if nobody says
	Overdue   int             // days since it should have been done
	Looked    []model.PlantID // those already looked at in this round or check

	Turn   model.MemberID // whose turn it is, zero for whoever is at home
	Claims []Claim        // that still hold, the one that counts first; one per member
	Delay  *model.Fact    // the *model.TaskPutOff that counts, or nil
	Done   *Completion    // nil unless done

	Mix      dose.Mix // for a step: all its plants
	Why      []Reason
	Cautions []Caution
}

// When is the day the task is for.
func (t *Task) When() model.Date { return max(t.Due, t.NotBefore) }

// Claim is who said "I'll do it", until when.
type Claim struct {
	By    model.MemberID
	Until model.Instant
	Fact  *model.Fact
}

// Completion is who did a task, and when.
type Completion struct {
	First  *model.Fact     // by whom and when: its By and At
	All    []*model.Fact   // every completion that stands, in order of doing
	Missed []model.PlantID // living plants of a step that no application of it treated
}

// handlings are the handlings that complete steps.
var handlings = map[model.StepKind]model.HandlingKind{model.StepRinse: model.Rinsed, model.StepWipe: model.Wiped, model.StepTryLeaf: model.Tried}

// Handling is the kind of handling that completes the task, 0 if none does.
func (t *Task) Handling() model.HandlingKind {
	switch {
	case t.Key.Rule == model.RuleIsolate:
		return model.Isolated
	case Prunes(t.Key):
		return model.Pruned
	case t.Step != nil:
		return handlings[t.Step.Kind]
	}
	return 0
}
