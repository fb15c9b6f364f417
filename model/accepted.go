package model

import "unicode/utf8"

// Basis says what a plan's interval rests on. Do not reorder.
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

// PlanStep is one step of a plan. Day is when it falls if all steps before it are
// done on theirs.
type PlanStep struct {
	Kind    StepKind
	Day     Date
	Product ProductID // zero for water and looks
	Why     []StepWhy
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
	Plan         PlanID
	Outbreak     OutbreakID
	Product      ProductID
	Plants       []PlantID
	First        Date
	Interval     int // days between applications
	Applications int
	CheckAfter   int // days from an application to the look that follows it
	Isolate      bool
	Basis        Basis

	Steps  []PlanStep // in order of day
	Aim    Aim
	Target int    // wanted chance of ending it, per mille; 0 if nobody computed one
	Chance int    // the chance that the search found, per mille
	Seed   uint64 // repeats the search
}

// Limits of one plan.
const (
	maxSteps = 200
	maxWhys  = 6
)

// Validate checks the plan.
func (p *PlanAccepted) Validate() error {
	if p.Plan.IsZero() || p.Outbreak.IsZero() || p.Product.IsZero() || !plantsOK(p.Plants) {
		return ErrInvalid
	}
	if p.First <= 0 || p.First > maxDay || p.Interval < 1 || p.Interval > 90 || p.Applications < 1 || p.Applications > 50 ||
		p.CheckAfter < 0 || p.CheckAfter > 30 || p.Basis < CommonPractice || p.Basis > Computed {
		return ErrInvalid
	}
	return p.validateSteps()
}

func (p *PlanAccepted) validateSteps() error {
	if len(p.Steps) > maxSteps || p.Aim > NoChemicals || p.Target < 0 || p.Target > 1000 || p.Chance < 0 || p.Chance > 1000 {
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

func (s *PlanStep) wantsProduct() bool {
	return s.Kind == StepSpray || s.Kind == StepSoil || s.Kind == StepTryLeaf
}

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
