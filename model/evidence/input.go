package evidence

import (
	"fmt"
	"math"

	"leafturn/model/fault"
)

// Returned, wrapped with what was asked, when there is no answer.
var (
	ErrInput       = fault.New("evidence_input_impossible", "A number in this cannot be right: check counts, shares and days.") // see InputError
	ErrUnreachable = fault.New("evidence_unreachable", "Not even looking at everything would make it that sure.")
	ErrNoChange    = fault.New("evidence_no_comparison", "The untreated plants do not allow a comparison: nothing was there at first, or all of it vanished.")
	ErrTooFew      = fault.New("evidence_too_few_counts", "There are too few counts to say anything: it takes three days and at least one animal.")
	ErrNoFit       = fault.New("evidence_unsettled", "The counts do not settle it: several answers fit them alike.")
	ErrOrder       = fault.New("evidence_out_of_order", "These looks are not in the order of days.")
	ErrFuture      = fault.New("evidence_past_day", "This asks about a day before the last look that is known.")
)

// InputError names the value that cannot be. errors.Is(err, ErrInput) holds, and its
// words for a person are those of ErrInput.
type InputError struct {
	Name  string
	Value float64
}

// Error gives the name and the value, for logs.
func (e *InputError) Error() string { return fmt.Sprintf("%s out of range: %v", e.Name, e.Value) }

// Unwrap is ErrInput.
func (e *InputError) Unwrap() error { return ErrInput }

const (
	slack     = 1e-9          // how far a number may be off before it is made whole
	mostUnits = 1_000_000_000 // no lot is larger
)

// check is one value with the range it must be in.
type check struct {
	name         string
	value        float64
	least, most  float64
	aboveNotFrom bool // least itself is not allowed
}

// share must be in (0, 1]: a level, an efficacy, a sensitivity.
func share(name string, v float64) check { return check{name, v, 0, 1, true} }

// chance must be in [0, 1]: a prior, a chance of arrival.
func chance(name string, v float64) check { return check{name, v, 0, 1, false} }

// sure must be in (0, 1-1e-9]: certainty cannot be asked for.
func sure(name string, v float64) check { return check{name, v, 0, 1 - slack, true} }

// whole must be in [least, most].
func whole(name string, n, least, most int) check {
	return check{name, float64(n), float64(least), float64(most), false}
}

// valid gives the first check that fails, or nil.
func valid(checks ...check) error {
	for _, c := range checks {
		// Written so that NaN fails.
		if !(c.value >= c.least && c.value <= c.most) || c.aboveNotFrom && c.value == c.least {
			return &InputError{c.name, c.value}
		}
	}
	return nil
}

// up is the smallest whole number that is not below x.
func up(x float64) int { return int(math.Ceil(x - slack)) }

// Infested is how many units of a lot are infested at a level, rounded down. It is
// 0 when the lot is smaller than one over the level: then no sample proves
// anything, and every unit has to be looked at.
func Infested(lot int, level float64) int { return int(math.Floor(float64(lot)*level + slack)) }

// InfestedUp is the same, rounded up.
func InfestedUp(lot int, level float64) int { return up(float64(lot) * level) }
