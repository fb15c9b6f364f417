package lifecycle

import (
	"fmt"
	"math"

	"leafturn/model/degree"
	"leafturn/model/fault"
	"leafturn/model/refdata"
)

// Errors for questions without an answer.
var (
	ErrNever = fault.New("development_never", "At this temperature the pest does not develop, so no date can be worked out.")
	ErrStage = fault.New("stage_unknown", "This pest has no such stage.")
	ErrHost  = fault.New("host_factor", "The host's effect on time must be a factor between a tenth and ten.")
)

// The most that hosts are taken to differ from the ordinary one, as factors on
// every time.
const (
	FastHost = 0.7
	SlowHost = 1.3
)

// phase is one stage's straight line, ready for computing.
type phase struct {
	limits   degree.Limits
	constant float64
}

func (p phase) rate(celsius float64) float64 { return p.limits.At(celsius) / p.constant }

// Life is a species ready for computing. Its stages are numbered as in
// refdata.Profile.Stages; Stages() itself stands for the adult. It is safe for
// concurrent use: nothing changes it.
type Life struct {
	phases    []phase // the stages, then the adult
	survival  []float64
	preLaying phase
	laying    phase
	young     float64
	female    float64
	lethal    float64
	steps     int // equal steps of a stage's gamma-distributed time
	lifeSteps int // the same of the adult's life
}

// Of is the life of a species on an ordinary host, or refdata.ErrSpecies.
func Of(s refdata.Species) (*Life, error) {
	p, err := refdata.Get(s)
	if err != nil {
		return nil, fmt.Errorf("life of %d: %w", s, err)
	}
	return FromProfile(&p), nil
}

// FromProfile is the life of a profile by its central values.
func FromProfile(p *refdata.Profile) *Life {
	l := &Life{
		young: p.Adult.Young.Central, female: p.Adult.Female.Central, lethal: p.Lethal.Central,
		steps: Steps(p.Spread.Central), lifeSteps: Steps(p.Adult.Spread.Central),
	}
	for i := range p.Stages {
		l.phases = append(l.phases, phaseOf(p, p.Stages[i].Lower, p.Stages[i].Constant))
		l.survival = append(l.survival, p.Stages[i].Survival.Central)
	}
	l.phases = append(l.phases, phaseOf(p, p.Adult.Lower, p.Adult.Constant))
	l.preLaying = phaseOf(p, p.Adult.Lower, p.Adult.PreLaying)
	l.laying = phaseOf(p, p.Adult.Lower, p.Adult.Laying)
	return l
}

func phaseOf(p *refdata.Profile, lower, constant refdata.Value) phase {
	return phase{degree.Limits{Lower: lower.Central, Upper: p.Upper.Central}, constant.Central}
}

// Steps is how many equal steps, each of exponential length, give a time the
// variation between animals that is asked for: the nearest whole 1/variation².
func Steps(variation float64) int {
	if !(variation > 0) {
		return 1
	}
	return int(max(1, min(100, math.Round(1/(variation*variation)))))
}

// OnHost is the same life with every time multiplied by a factor: above 1 on a
// poor host. Eggs in a whole life stay the same, so they are laid more slowly.
func (l *Life) OnHost(factor float64) (*Life, error) {
	if !(factor >= 0.1 && factor <= 10) {
		return nil, ErrHost
	}
	c := *l
	c.phases = make([]phase, len(l.phases))
	for i, p := range l.phases {
		c.phases[i] = phase{p.limits, p.constant * factor}
	}
	c.preLaying.constant *= factor
	c.laying.constant *= factor
	return &c, nil
}

// Stages is how many stages come before the adult, and the adult's own number.
func (l *Life) Stages() int { return len(l.survival) }

// Survival is the share that lives through a stage untreated, 0 if there is no
// such stage.
func (l *Life) Survival(stage int) float64 {
	if stage < 0 || stage >= l.Stages() {
		return 0
	}
	return l.survival[stage]
}

// StageSteps are the equal steps of a stage's time, and of the pre-laying time;
// the adult's are those of its laying time.
func (l *Life) StageSteps(stage int) int {
	if stage == l.Stages() {
		return l.lifeSteps
	}
	return l.steps
}

// Lethal is the constant temperature at which no young become adult.
func (l *Life) Lethal() float64 { return l.lethal }

// Rate is the share of a stage gone through per day at a temperature: 0 when it
// is too cold, and for the adult the share of its mean life. It neither checks
// nor allocates; a stage that does not exist panics.
func (l *Life) Rate(stage int, celsius float64) float64 { return l.phases[stage].rate(celsius) }

// PreLayingRate is the share gone through per day of the time before the first
// egg.
func (l *Life) PreLayingRate(celsius float64) float64 { return l.preLaying.rate(celsius) }

// LayingRate is the share gone through per day of the mean time over which a
// female lays. What is left of her life afterwards is spent without laying.
func (l *Life) LayingRate(celsius float64) float64 { return l.laying.rate(celsius) }

// Births is how many eggs or newborn one laying female gives per day.
func (l *Life) Births(celsius float64) float64 { return l.young * l.laying.rate(celsius) }

// Female is the share of females among new adults.
func (l *Life) Female() float64 { return l.female }

// DayRate is Rate averaged over a day that runs along a sine from low to high. It
// allocates nothing and returns degree's errors for impossible temperatures.
func (l *Life) DayRate(stage int, low, high float64) (float64, error) {
	if stage < 0 || stage > l.Stages() {
		return 0, ErrStage
	}
	return l.phases[stage].day(low, high)
}

func (p phase) day(low, high float64) (float64, error) {
	gain, err := degree.SingleSine.Day(low, high, low, p.limits)
	if err != nil {
		return 0, err
	}
	return gain / p.constant, nil
}
