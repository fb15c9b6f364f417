package population

import (
	"math"
	"slices"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/model/lifecycle"
	"leafturn/model/refdata"
)

// ErrStages is returned when a species has more stages than the model holds.
var ErrStages = fault.New("stages_too_many", "This pest has more stages than a forecast can hold.")

// usual is the temperature at which boxes are shared out among stages.
const usual = 22

// cut shares the boxes out among the stages of the life, nearly in proportion to the
// time each takes.
//
// A stage of m boxes whose time varies by c (standard deviation over mean) asks
// that its animals move by chance for a share c²m of the way, and all alike for the
// rest: the mean time stays and its variance is c² of the mean squared. With
// c²m = 1 this is the Erlang chain of m boxes; m is never greater. What all do
// alike is one clock for the whole youth, so it goes as the stage with the least to
// spare allows; the others are left a little more to chance. A long wait before the
// first egg has a clock of its own.
func (m *Model) cut(p *refdata.Profile) error {
	if len(p.Stages)+3 > maxStages {
		return ErrStages
	}
	days := m.days(p)
	n := len(p.Stages)
	long := days[n] > slices.Max(days[:n])
	boxes := share(days, youngBoxes)
	if long {
		boxes = append(share(days[:n], youngBoxes-waitBoxes), waitBoxes)
	}
	for i := range p.Stages {
		m.add(stage{as: p.Stages[i].As, data: &p.Stages[i], life: i}, boxes[i], p.Spread.Central, days[i])
	}
	adult := stage{as: model.Adults, data: &p.Adult.Stage, life: n}
	if wait := days[n]; wait > 0 {
		ripen := adult
		ripen.ripening = true
		if long {
			ripen.clock = waitClock
		}
		m.add(ripen, boxes[n], p.Spread.Central, wait)
	}
	adult.laying, adult.clock = true, noClock
	m.first = m.size
	m.add(adult, layBoxes, p.Adult.Spread.Central, math.Inf(1))
	m.firstSpent = m.size
	if left(m.kinds[0].life, usual) > 0 {
		adult.laying, adult.spent = false, true
		m.add(adult, layBoxes/2, p.Adult.Spread.Central, math.Inf(1))
	}
	if m.size > maxBoxes {
		return ErrStages
	}
	return nil
}

// share gives each stage one box, and the rest one by one to the stage that goes
// through its boxes most slowly: that stage sets the pace of the clock.
func share(days []float64, in int) []int {
	boxes := make([]int, len(days))
	for i, d := range days {
		if d > 0 {
			boxes[i] = 1
		}
	}
	for range in - len(days) {
		slow := 0
		for i, d := range days {
			if d*float64(boxes[slow]) > days[slow]*float64(boxes[i]) {
				slow = i
			}
		}
		boxes[slow]++
	}
	return boxes
}

// days are the times of the stages and of the wait before the first egg.
func (m *Model) days(p *refdata.Profile) []float64 {
	var days []float64
	for i := range p.Stages {
		days = append(days, inverse(m.kinds[0].life.Rate(i, usual)))
	}
	wait := 0.0
	if p.Adult.PreLaying.Central > 0 {
		wait = inverse(m.kinds[0].life.PreLayingRate(usual))
	}
	return append(days, wait)
}

func inverse(rate float64) float64 { return 1 / max(rate, 1e-3) }

func (m *Model) add(s stage, boxes int, spread, days float64) {
	c2 := spread * spread
	most := max(1, int(math.Round(1/c2)))
	if math.IsInf(days, 1) {
		boxes = min(most, boxes) // adults have no clock: all is left to chance
	}
	s.boxes = max(1, min(boxes, most))
	s.chance = min(1, c2*float64(s.boxes))
	s.start = m.size
	for i := s.start; i < min(maxBoxes, s.start+s.boxes); i++ {
		m.stageOf[i], m.asOf[i] = uint8(len(m.stages)), uint8(s.as)
	}
	m.size += s.boxes
	m.stages = append(m.stages, s)
}

// variants is how many kinds on hosts there are.
func (m *Model) variants() int { return len(m.kinds) * hostLevels }

// rate is the share of a stage gone through on a day by a variant.
func (m *Model) rate(s *stage, variant int, d Day) (float64, error) {
	life := m.kinds[variant/hostLevels].hosts[variant%hostLevels]
	switch {
	case s.ripening:
		return halfway(d, life.PreLayingRate), nil
	case s.laying:
		return halfway(d, life.LayingRate), nil
	case s.spent:
		return halfway(d, func(celsius float64) float64 {
			if l := left(life, celsius); l > 0 {
				return 1 / l
			}
			return 0
		}), nil
	}
	return life.DayRate(s.life, d.Low, d.High)
}

// left is the time in days that an adult lives on after laying; 0 if none, or if
// it is too cold for anything to pass.
func left(life *lifecycle.Life, celsius float64) float64 {
	whole, wait, laying := life.Rate(life.Stages(), celsius), life.PreLayingRate(celsius), life.LayingRate(celsius)
	if !(whole > 0) || !(laying > 0) {
		return 0
	}
	days := 1/whole - 1/laying
	if wait > 0 && !math.IsInf(wait, 1) {
		days -= 1 / wait
	}
	if days < 0.5 {
		return 0
	}
	return days
}

// halfway averages a rate over a day along a sine, by eight of its moments.
func halfway(d Day, rate func(float64) float64) float64 {
	mean, half, sum := (d.Low+d.High)/2, (d.High-d.Low)/2, 0.0
	for i := range 8 {
		sum += rate(mean + half*math.Sin(2*math.Pi*(float64(i)+0.5)/8))
	}
	return sum / 8
}

// Reaches reports whether a means kills any of a stage, as a person tells stages
// apart.
func (m *Model) Reaches(means model.Means, as model.Stage) bool {
	if means < model.MeansSoap || means > model.MeansWater {
		return false
	}
	for i := range m.stages {
		if s := &m.stages[i]; s.as == as && s.data.Reach[means].Level > refdata.Missed {
			return true
		}
	}
	return false
}

// Exposed is the shortest time, in degree-days above a lower threshold, for which
// the young can be reached by a means between the stages that cannot: the longest
// interval that catches every one of them once. It is 0 if the means reaches none.
func (m *Model) Exposed(means model.Means) (degreeDays, lower float64) {
	for i := range m.stages {
		s := &m.stages[i]
		if s.as == model.Young && s.data.Reach[means].Level > refdata.Missed {
			degreeDays += s.data.Constant.Low
			lower = max(lower, s.data.Lower.Central)
		}
	}
	return degreeDays, lower
}
