package degree

import (
	"math"

	"leafturn/model/fault"
)

// The temperatures between which a reading is believed. They leave room around
// the coldest and hottest air that people live in.
const (
	Coldest = -60.0
	Hottest = 60.0
)

// Errors for input that nothing can be computed from.
var (
	ErrTemperature = fault.New("temperature_impossible", "A temperature is missing or cannot be right. Check the readings of this place.")
	ErrOrder       = fault.New("temperature_order", "The lowest temperature of a day is above its highest. Check the readings of this place.")
	ErrLimits      = fault.New("thresholds_order", "The lower threshold of growth must be below the upper one.")
	ErrMethod      = fault.New("degree_method_unknown", "This way of counting degree-days does not exist.")
	ErrReadings    = fault.New("readings_none", "There are no temperature readings to count degree-days from.")
)

// Method is a way to count the degree-days of a day.
type Method uint8

// The methods.
const (
	Average        Method = 1 // the mean of the day, not below the lower threshold
	AverageRaised  Method = 2 // minimum and maximum each raised to the lower threshold first
	SingleTriangle Method = 3
	DoubleTriangle Method = 4
	SingleSine     Method = 5
	DoubleSine     Method = 6
)

// Methods lists the methods.
var Methods = []Method{Average, AverageRaised, SingleTriangle, DoubleTriangle, SingleSine, DoubleSine}

// Double reports whether the method looks at the next day's minimum.
func (m Method) Double() bool { return m == DoubleTriangle || m == DoubleSine }

// Limits are the thresholds of growth, in degrees Celsius.
type Limits struct {
	Lower float64 // nothing is gained at or below it
	Upper float64 // nothing more is gained above it; +Inf for no cut-off
}

// Above are limits without a cut-off.
func Above(lower float64) Limits { return Limits{lower, math.Inf(1)} }

// Check returns ErrTemperature for a threshold that is no temperature, ErrLimits
// for thresholds in the wrong order.
func (l Limits) Check() error {
	if !possible(l.Lower) || (!possible(l.Upper) && !math.IsInf(l.Upper, 1)) {
		return ErrTemperature
	}
	if l.Lower >= l.Upper {
		return ErrLimits
	}
	return nil
}

// At is the gain per day at a constant temperature, without checks.
func (l Limits) At(celsius float64) float64 {
	return max(0, min(celsius, l.Upper)-l.Lower)
}

// Day counts one day's degree-days from its minimum, its maximum and, for the
// double methods, the next day's minimum; the others do not look at next. It
// returns ErrMethod, ErrTemperature, ErrOrder or ErrLimits for bad input.
func (m Method) Day(low, high, next float64, l Limits) (float64, error) {
	if m < Average || m > DoubleSine {
		return 0, ErrMethod
	}
	if !m.Double() {
		next = low
	}
	if err := check(low, high, next, l); err != nil {
		return 0, err
	}
	return m.day(low, high, next, l), nil
}

func check(low, high, next float64, l Limits) error {
	if !possible(low) || !possible(high) || !possible(next) {
		return ErrTemperature
	}
	if low > high || next > high {
		return ErrOrder
	}
	return l.Check()
}

func possible(celsius float64) bool { return celsius >= Coldest && celsius <= Hottest } // false for NaN

func (m Method) day(low, high, next float64, l Limits) float64 {
	switch m {
	case Average:
		return l.At((low + high) / 2)
	case AverageRaised:
		return (l.At(low) + l.At(high)) / 2
	case SingleTriangle:
		return cut(triangle, low, high, l)
	case DoubleTriangle:
		return (cut(triangle, low, high, l) + cut(triangle, next, high, l)) / 2
	case SingleSine:
		return cut(sine, low, high, l)
	default:
		return (cut(sine, low, high, l) + cut(sine, next, high, l)) / 2
	}
}

// cut is the horizontal cut-off for a shape of the day.
func cut(shape func(low, high, threshold float64) float64, low, high float64, l Limits) float64 {
	if high <= l.Lower {
		return 0
	}
	if low >= l.Upper {
		return l.Upper - l.Lower
	}
	gained := shape(low, high, l.Lower)
	if high > l.Upper {
		gained -= shape(low, high, l.Upper)
	}
	return max(0, gained) // the difference of two nearly equal sums may fall a rounding error short
}

// triangle is the gain above one threshold when the day runs in straight lines.
func triangle(low, high, threshold float64) float64 {
	switch {
	case high <= threshold:
		return 0
	case low >= threshold:
		return (low+high)/2 - threshold
	}
	above := high - threshold
	return above * (above / (high - low)) / 2
}

// sine is the gain above one threshold when the day runs along a sine.
func sine(low, high, threshold float64) float64 {
	switch {
	case high <= threshold:
		return 0
	case low >= threshold:
		return (low+high)/2 - threshold
	}
	mean, half := (low+high)/2, (high-low)/2
	q := math.Asin(max(-1, min(1, (threshold-mean)/half)))
	return ((mean-threshold)*(math.Pi/2-q) + half*math.Cos(q)) / math.Pi
}

// Hours counts degree-days from readings an hour apart, each standing for the
// hour it was taken in; 24 readings make a day. It returns ErrReadings for none,
// ErrTemperature or ErrLimits for bad input.
func Hours(celsius []float64, l Limits) (float64, error) {
	if len(celsius) == 0 {
		return 0, ErrReadings
	}
	if err := l.Check(); err != nil {
		return 0, err
	}
	sum := 0.0
	for _, c := range celsius {
		if !possible(c) {
			return 0, ErrTemperature
		}
		sum += l.At(c)
	}
	return sum / 24, nil
}
