package evidence

import (
	"fmt"
	"math"
)

// Decision is where a sequential test stands.
type Decision uint8

// The decisions.
const (
	GoOn      Decision = 0
	AcceptLow Decision = 1 // the share is the low one
	AcceptTop Decision = 2 // the share is the high one
)

// Sequential is Wald's test between two shares of units that show a pest. Units are
// looked at one by one until it decides. It is for units looked at once each.
type Sequential struct {
	hit, miss    float64 // what one unit adds
	upper, lower float64
	ratio        float64
}

// NewSequential makes the test: low and high share, the chance alpha of wrongly
// deciding for the high one and beta of wrongly deciding for the low one.
func NewSequential(low, high, alpha, beta float64) (*Sequential, error) {
	if err := valid(check{"low share", low, 0, high, true}, check{"high share", high, low, 1 - slack, true},
		check{"alpha", alpha, 0, 0.5 - slack, true}, check{"beta", beta, 0, 0.5 - slack, true}); err != nil {
		return nil, fmt.Errorf("sequential test: %w", err)
	}
	if low == high {
		return nil, fmt.Errorf("sequential test: %w", &InputError{"low share", low})
	}
	return &Sequential{
		hit:   math.Log(high / low),
		miss:  math.Log((1 - high) / (1 - low)),
		upper: math.Log((1 - beta) / alpha),
		lower: math.Log(beta / (1 - alpha)),
	}, nil
}

// Add takes in one unit and tells where the test stands. After a decision it keeps
// it.
func (s *Sequential) Add(found bool) Decision {
	if d := s.Decision(); d != GoOn {
		return d
	}
	if found {
		s.ratio += s.hit
	} else {
		s.ratio += s.miss
	}
	return s.Decision()
}

// Decision tells where the test stands.
func (s *Sequential) Decision() Decision {
	switch {
	case s.ratio >= s.upper:
		return AcceptTop
	case s.ratio <= s.lower:
		return AcceptLow
	}
	return GoOn
}

// Ratio is the logarithm of how much more likely the units are under the high share.
func (s *Sequential) Ratio() float64 { return s.ratio }

// Bounds are the ratios at which it decides for the low and for the high share.
func (s *Sequential) Bounds() (lower, upper float64) { return s.lower, s.upper }

// Lines are the numbers of infested units at which it decides after n units:
// accept + slope n for the low share, reject + slope n for the high one.
func (s *Sequential) Lines() (accept, reject, slope float64) {
	step := s.hit - s.miss
	return s.lower / step, s.upper / step, -s.miss / step
}
