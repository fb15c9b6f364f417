package population

import (
	"fmt"
	"math"

	"leafturn/model"
	"leafturn/model/degree"
	"leafturn/model/fault"
)

// MaxDays is the longest stretch of days that is computed at once.
const MaxDays = 400

// ErrDays is returned for no days, or too many.
var ErrDays = fault.New("days_out_of_range", "A forecast needs at least one day and at most four hundred.")

// Day is the lowest and highest temperature of a day in degrees Celsius.
type Day struct{ Low, High float64 }

// Mean is the mean temperature of the day.
func (d Day) Mean() float64 { return (d.Low + d.High) / 2 }

// Steady is n days of one temperature.
func Steady(celsius float64, n int) []Day {
	days := make([]Day, max(0, n))
	for i := range days {
		days[i] = Day{celsius, celsius}
	}
	return days
}

// CheckDays returns ErrDays, degree.ErrTemperature or degree.ErrOrder for days
// that nothing can be computed from.
func CheckDays(days []Day) error {
	if len(days) == 0 || len(days) > MaxDays {
		return ErrDays
	}
	for i, d := range days {
		if _, err := degree.SingleSine.Day(d.Low, d.High, d.Low, degree.Above(0)); err != nil {
			return fmt.Errorf("day %d: %w", i, err)
		}
	}
	return nil
}

// Climate is the temperatures of some days made ready for a model: what can happen
// to an animal of each variant and stage on each of them.
type Climate struct {
	model  *Model
	days   []Day
	kindOf []uint16  // of day: which of the different temperatures it has
	fates  []fate    // by temperature, variant, stage
	lay    []float64 // by temperature, variant: young per laying animal and day
	ticks  []float64 // by temperature, variant, clock: boxes a day that all move alike
	shift  []uint8   // by day, variant, clock: the same in whole boxes
}

// lethalDay is the share of young that live through a day whose mean is at or
// above the lethal temperature. The source says only that none become adult; the
// figure is our judgement.
const lethalDay = 0.5

// Climate makes days ready. Equal days share their tables.
func (m *Model) Climate(days []Day) (*Climate, error) {
	if err := CheckDays(days); err != nil {
		return nil, fmt.Errorf("climate: %w", err)
	}
	c := &Climate{model: m, days: days}
	known := map[Day]uint16{}
	for _, d := range days {
		k, ok := known[d]
		if !ok {
			k = uint16(len(known))
			known[d] = k
			for v := range m.variants() {
				if err := c.table(d, v); err != nil {
					return nil, fmt.Errorf("climate: %w", err)
				}
			}
		}
		c.kindOf = append(c.kindOf, k)
	}
	c.shifts()
	return c, nil
}

// Len is the number of days.
func (c *Climate) Len() int { return len(c.days) }

// table makes the chances of one temperature for one variant.
func (c *Climate) table(d Day, variant int) error {
	m := c.model
	var rates, speeds, ratios [maxStages]float64
	for i := range m.stages {
		rate, err := m.rate(&m.stages[i], variant, d)
		if err != nil {
			return err
		}
		rates[i], speeds[i] = rate, rate*float64(m.stages[i].boxes)
	}
	var ticks [clocks]float64
	for k := range ticks[:noClock] {
		ticks[k] = m.common(uint8(k), &speeds)
	}
	for i := range m.stages {
		s := &m.stages[i]
		chance := speeds[i] - ticks[s.clock]
		if i == 0 || s.clock != m.stages[i-1].clock {
			// Whoever begins between two ticks of a clock gets the next one early: half
			// a tick on average, which the first stage of the clock gives back.
			chance -= ticks[s.clock] / float64(2*s.boxes)
		}
		ratios[i] = m.ratio(i, &speeds)
		c.fates = append(c.fates, newFate(m.survival(s, variant, rates[i], d), chance))
	}
	for i := range m.stages {
		c.fates[len(c.fates)-len(m.stages)+i].over = m.passes(i, ratios[:])
	}
	c.lay = append(c.lay, m.laying(variant, d))
	c.ticks = append(c.ticks, ticks[:]...)
	return nil
}

// The clocks that stages may go by.
const (
	youthClock = 0
	waitClock  = 1 // of adults before the first egg, where that takes long
	noClock    = 2 // all is left to chance
	clocks     = 3
)

// common is the speed of a clock: the greatest that leaves every stage that goes by
// it what it must leave to chance, and the first what it must give back.
func (m *Model) common(clock uint8, speeds *[maxStages]float64) float64 {
	tick, first := math.Inf(1), true
	for i := range m.stages {
		s := &m.stages[i]
		if s.clock != clock {
			continue
		}
		if first {
			tick = speeds[i] / (1 + 1/float64(2*s.boxes))
			first = false
		}
		tick = min(tick, speeds[i]*(1-s.chance))
	}
	if first {
		return 0
	}
	return tick
}

// ratio is how many boxes of the next stage one box of a stage is worth to an
// animal that passes its end. In youth boxes are nearly alike in time.
func (m *Model) ratio(i int, speeds *[maxStages]float64) float64 {
	if i+1 == len(m.stages) || m.stages[i+1].clock == youthClock {
		return 1
	}
	if speeds[i] <= 0 {
		return 0
	}
	return min(4, speeds[i+1]/speeds[i])
}

// survival spreads a stage's deaths evenly over its course, so that the share that
// comes through does not depend on the temperature.
func (m *Model) survival(s *stage, variant int, rate float64, d Day) float64 {
	if s.as == model.Adults {
		return 1
	}
	life := m.kinds[variant/hostLevels].life
	alive := pow(life.Survival(s.life), rate)
	if d.Mean() >= life.Lethal() && life.Lethal() > 0 {
		alive *= lethalDay
	}
	return alive
}

// laying is how many young one laying animal gives in a day: males lay none, so
// that the mean over both is the females' times their share.
func (m *Model) laying(variant int, d Day) float64 {
	life := m.kinds[variant/hostLevels].hosts[variant%hostLevels]
	return life.Female() * halfway(d, life.Births)
}

// shifts adds the ticks of each clock up, so that they are right over the days
// although each day moves whole boxes.
func (c *Climate) shifts() {
	width := c.model.variants() * clocks
	c.shift = make([]uint8, len(c.days)*width)
	for v := range width {
		moved := 0.5
		for d := range c.days {
			before := int(moved)
			moved += c.ticks[int(c.kindOf[d])*width+v]
			c.shift[d*width+v] = uint8(min(overs-fates, int(moved)-before))
		}
	}
}

// shiftsOf are the boxes that all of a variant move on a day, by clock.
func (c *Climate) shiftsOf(d, variant int) []uint8 {
	return c.shift[(d*c.model.variants()+variant)*clocks:][:clocks]
}
