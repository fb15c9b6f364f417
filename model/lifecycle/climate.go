package lifecycle

// Climate gives the lowest and highest temperature of a day, counted from 0.
type Climate func(day int) (low, high float64)

// Constant is a climate that never changes.
func Constant(celsius float64) Climate {
	return func(int) (float64, float64) { return celsius, celsius }
}

// Through says when an animal that begins stage from at a moment start (in days,
// 0 the beginning of day 0 of the climate) ends stage to. It returns ErrStage,
// ErrNever if that is not within horizon days of start or a whole day stays at or
// above the lethal temperature, and degree's errors for impossible temperatures.
func (l *Life) Through(from, to int, climate Climate, start, horizon float64) (float64, error) {
	if from < 0 || to > l.Stages() || from > to {
		return 0, ErrStage
	}
	return l.run(l.phases[from:to+1], climate, start, horizon)
}

// GenerationThrough is the same for a whole generation, to the first egg.
func (l *Life) GenerationThrough(climate Climate, start, horizon float64) (float64, error) {
	phases := append(append([]phase(nil), l.phases[:l.Stages()]...), l.preLaying)
	return l.run(phases, climate, start, horizon)
}

// run walks the days and, within a day, spreads the day's gain evenly.
func (l *Life) run(phases []phase, climate Climate, start, horizon float64) (float64, error) {
	if !(start >= 0 && horizon >= 0 && horizon <= slowest && start <= slowest) {
		return 0, ErrNever
	}
	now, end, left := start, start+horizon, 1.0
	for day := int(start); ; day++ {
		low, high := climate(day)
		if low >= l.lethal {
			return 0, ErrNever
		}
		for len(phases) > 0 {
			rate, err := phases[0].day(low, high)
			if err != nil {
				return 0, err
			}
			untilMidnight := float64(day+1) - now
			if rate*untilMidnight < left {
				left -= rate * untilMidnight
				break
			}
			now += left / rate
			left, phases = 1, phases[1:]
		}
		if len(phases) == 0 && now <= end {
			return now, nil
		}
		if now = float64(day + 1); now > end {
			return 0, ErrNever
		}
	}
}
