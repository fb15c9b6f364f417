package evidence

import (
	"fmt"
	"math"

	"leafturn/model"
)

// Count is how many animals were counted on a day, and how much was looked at for
// it: leaves, cards, pots, always the same kind.
type Count struct {
	Day     model.Date
	Animals int
	Effort  float64
}

// Direction is what an interval says of a change.
type Direction uint8

// The directions.
const (
	Unclear Direction = 0 // the interval holds no change, more and less
	Falling Direction = 1
	Rising  Direction = 2
)

// Trend is how counts change with time, as a log-linear slope per day. Animals
// clump, so counts spread more than Poisson's; the interval is widened by the
// spread that is seen, and by Student's t for how few counts there are.
type Trend struct {
	PerDay     float64 // logarithm of the factor from one day to the next
	Interval   Interval
	Dispersion float64 // variance over mean, at least 1
	Counts     int
}

// Direction is the direction that the interval allows.
func (t Trend) Direction() Direction { return t.Interval.direction(0) }

func (in Interval) direction(none float64) Direction {
	switch {
	case in.Upper < none:
		return Falling
	case in.Lower > none:
		return Rising
	}
	return Unclear
}

// Factor is by how much counts are multiplied in so many days, with its interval.
func (t Trend) Factor(days float64) (factor float64, in Interval) {
	grow := func(slope float64) float64 { return math.Exp(math.Min(slope*days, steepest)) }
	return grow(t.PerDay), Interval{grow(t.Interval.Lower), grow(t.Interval.Upper)}
}

// Doubling is in how many days counts double, below 0 in how many they halve. A
// flat trend does neither.
func (t Trend) Doubling() (days float64, ok bool) {
	if math.Abs(t.PerDay) < 1e-9 {
		return 0, false
	}
	return math.Ln2 / t.PerDay, true
}

// TrendOf finds the trend of counts on at least three days, with an interval at a
// level such as 0.8. Days need no order. Without a single animal there is no trend:
// then History is the question to ask.
func TrendOf(counts []Count, level float64) (Trend, error) {
	if err := countsOK(counts, level); err != nil {
		return Trend{}, fmt.Errorf("trend: %w", err)
	}
	first, days, animals := counts[0].Day, map[model.Date]bool{}, 0
	for _, c := range counts {
		first = min(first, c.Day)
		days[c.Day] = true
		animals += c.Animals
	}
	if len(days) < 3 || animals == 0 {
		return Trend{}, fmt.Errorf("trend: %w", ErrTooFew)
	}
	f, err := PoissonSteady(design(counts, func(c Count) float64 { return float64(c.Day.Sub(first)) }))
	if err != nil {
		return Trend{}, fmt.Errorf("trend: %w", err)
	}
	spread := max(1, f.Pearson/float64(f.DF))
	half := studentBoth(level, f.DF) * f.StdErr[1] * math.Sqrt(spread)
	return Trend{f.Coef[1], Interval{f.Coef[1] - half, f.Coef[1] + half}, spread, len(counts)}, nil
}

func countsOK(counts []Count, level float64) error {
	if err := valid(sure("level", level)); err != nil {
		return err
	}
	for _, c := range counts {
		if err := valid(whole("animals", c.Animals, 0, mostCount), check{"effort", c.Effort, 0, 1e9, true},
			whole("day", int(c.Day), -1_000_000, 3_000_000)); err != nil {
			return err
		}
	}
	if len(counts) < 2 {
		return ErrTooFew
	}
	return nil
}

// design is a constant and one more column.
func design(counts []Count, column func(Count) float64) Design {
	d := Design{Columns: 2}
	for _, c := range counts {
		d.Counts = append(d.Counts, c.Animals)
		d.Rows = append(d.Rows, 1, column(c))
		d.Effort = append(d.Effort, c.Effort)
	}
	return d
}
