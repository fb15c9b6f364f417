package model

import (
	"slices"
	"unicode/utf8"
)

// Basis says what the days of a plan rest on. Do not reorder.
type Basis uint8

// The bases.
const (
	CommonPractice Basis = 1 // intervals are a habit of the trade without a source
	Computed       Basis = 2 // found by package plan from a forecast that Seed repeats
)

// StepKind is what a step of a plan is. The numbers are on disk and on the wire: do
// not reorder.
type StepKind uint8

// The kinds of steps.
const (
	StepSpray   StepKind = 1 // on the leaves, wet all over
	StepSoil    StepKind = 2 // into the potting mix
	StepRinse   StepKind = 3
	StepWipe    StepKind = 4
	StepTryLeaf StepKind = 5
	StepLook    StepKind = 6
)

// rules are the rules of the tasks that steps make.
var rules = [...]Rule{StepSpray: RuleSpray, StepSoil: RuleSoil, StepRinse: RuleWash, StepWipe: RuleWash, StepTryLeaf: RuleTryLeaf, StepLook: RuleCheck}

// PlanStep is one step of a plan. Day is when it falls if all steps before it are
// done on theirs.
type PlanStep struct {
	Kind    StepKind
	Day     Date
	Product ProductID // zero for water and looks
	Why     []StepWhy
}

// Applies reports whether the step is an application that a label's limits count.
// One leaf that is tried is none.
func (s *PlanStep) Applies() bool { return s.Kind == StepSpray || s.Kind == StepSoil }

// Rhythm is the steps of the plainest course: one product sprayed a number of times,
// some days apart, and a look some days after each spray, before the next one; 0
// makes no looks.
func Rhythm(p ProductID, first Date, interval, times, look int) []PlanStep {
	var steps []PlanStep
	for n := range times {
		day := first.Add(n * interval)
		steps = append(steps, PlanStep{Kind: StepSpray, Day: day, Product: p})
		if look > 0 {
			steps = append(steps, PlanStep{Kind: StepLook, Day: day.Add(look)})
		}
	}
	return steps
}

// StepWhy is one link of why a step is on its day, as the plan's search gave it.
// Because is a number of package plan, which is on disk and on the wire by this; the
// others mean what it says there. Tenths keep floats out of the log.
type StepWhy struct {
	Because          uint8
	Date             Date
	Days             int
	Wanted           int
	Count            int
	Hours            int
	TenthsCelsius    int
	TenthsDegreeDays int
	TenthsLower      int
	Group            string
	Product          ProductID
}

// Aim is what an accepted plan is best at. The numbers are on disk and on the wire:
// do not reorder.
type Aim uint8

// The aims.
const (
	OwnCourse    Aim = 0 // put together by the household
	FewestSprays Aim = 1
	SoonestOver  Aim = 2
	NoChemicals  Aim = 3
)

// PlanAccepted is a course of treatments that a member accepted for an outbreak.
// All phones follow the same one: where two were accepted, the later one rules.
type PlanAccepted struct {
	Plan     PlanID
	Outbreak OutbreakID
	Plants   []PlantID
	Isolate  bool
	Basis    Basis

	Steps  []PlanStep // in order of day, at least one
	Aim    Aim
	Target int    // wanted chance of ending it, per mille; 0 if nobody computed one
	Chance int    // the chance that the search found, per mille
	Seed   uint64 // repeats the search
}

// TaskKeys names the task of each step. A task is the how manieth of its rule, so
// that neither a date nor a step of another kind takes part in its identity.
func (p *PlanAccepted) TaskKeys() []TaskKey {
	keys := make([]TaskKey, len(p.Steps))
	var n [RuleMeasure + 1]uint32
	for i := range p.Steps {
		r := rules[p.Steps[i].Kind]
		n[r]++
		keys[i] = TaskKey{Rule: r, Subject: p.Plan.UUID(), Ordinal: n[r]}
	}
	return keys
}

// Step finds the step that a task of the plan means, or nil.
func (p *PlanAccepted) Step(k TaskKey) *PlanStep {
	if i := slices.Index(p.TaskKeys(), k); i >= 0 {
		return &p.Steps[i]
	}
	return nil
}

// Limits of one plan.
const (
	maxSteps = 200
	maxWhys  = 6
)

// Validate checks the plan.
func (p *PlanAccepted) Validate() error {
	if p.Plan.IsZero() || p.Outbreak.IsZero() || !plantsOK(p.Plants) || p.Basis < CommonPractice || p.Basis > Computed {
		return ErrInvalid
	}
	return p.validateSteps()
}

func (p *PlanAccepted) validateSteps() error {
	if len(p.Steps) == 0 || len(p.Steps) > maxSteps || p.Aim > NoChemicals || p.Target < 0 || p.Target > 1000 || p.Chance < 0 || p.Chance > 1000 {
		return ErrInvalid
	}
	last := Date(0)
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Kind < StepSpray || s.Kind > StepLook || s.Day <= 0 || s.Day < last || s.Day > maxDay || s.wantsProduct() == s.Product.IsZero() {
			return ErrInvalid
		}
		last = s.Day
		if len(s.Why) > maxWhys {
			return ErrInvalid
		}
		for k := range s.Why {
			if err := s.Why[k].validate(); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *PlanStep) wantsProduct() bool { return s.Applies() || s.Kind == StepTryLeaf }

// validate keeps numbers small enough for arithmetic and text for a screen.
func (w *StepWhy) validate() error {
	const most = 1_000_000
	for _, n := range []int{w.Days, w.Wanted, w.Count, w.Hours, w.TenthsCelsius, w.TenthsDegreeDays, w.TenthsLower} {
		if n < -most || n > most {
			return ErrInvalid
		}
	}
	if w.Date < 0 || w.Date > maxDay || len(w.Group) > 40 || !utf8.ValidString(w.Group) {
		return ErrInvalid
	}
	return nil
}
