package lifecycle

import (
	"leafturn/model/degree"
)

// Span is the time in days from the beginning of stage from to the end of stage
// to at a constant temperature. It returns ErrStage, ErrNever or
// degree.ErrTemperature.
func (l *Life) Span(from, to int, celsius float64) (float64, error) {
	if from < 0 || to > l.Stages() || from > to {
		return 0, ErrStage
	}
	if err := l.livable(celsius); err != nil {
		return 0, err
	}
	days := 0.0
	for _, p := range l.phases[from : to+1] {
		d, err := p.days(celsius)
		if err != nil {
			return 0, err
		}
		days += d
	}
	return days, nil
}

func (l *Life) livable(celsius float64) error {
	if !(celsius >= degree.Coldest && celsius <= degree.Hottest) {
		return degree.ErrTemperature
	}
	if celsius >= l.lethal {
		return ErrNever
	}
	return nil
}

// slowest is the longest time in days that is still called a time: ten years.
const slowest = 3650

func (p phase) days(celsius float64) (float64, error) {
	rate := p.rate(celsius)
	if rate*slowest < 1 {
		return 0, ErrNever
	}
	return 1 / rate, nil
}

// StageDays is the time of one stage at a constant temperature; for the adult its
// mean life.
func (l *Life) StageDays(stage int, celsius float64) (float64, error) {
	return l.Span(stage, stage, celsius)
}

// Immature is the time from egg (or birth) to adult at a constant temperature.
func (l *Life) Immature(celsius float64) (float64, error) {
	return l.Span(0, l.Stages()-1, celsius)
}

// PreLaying is the time from adult to first egg (or birth).
func (l *Life) PreLaying(celsius float64) (float64, error) {
	if err := l.livable(celsius); err != nil {
		return 0, err
	}
	return l.preLaying.days(celsius)
}

// Generation is the time from egg (or birth) to the next generation's first.
func (l *Life) Generation(celsius float64) (float64, error) {
	young, err := l.Immature(celsius)
	if err != nil {
		return 0, err
	}
	wait, err := l.PreLaying(celsius)
	if err != nil {
		return 0, err
	}
	return young + wait, nil
}

// AdultDays is the mean life of an adult at a constant temperature.
func (l *Life) AdultDays(celsius float64) (float64, error) { return l.StageDays(l.Stages(), celsius) }
