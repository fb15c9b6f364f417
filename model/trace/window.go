package trace

import (
	"cmp"
	"fmt"
	"slices"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/model/population"
)

// Errors of a trace.
var (
	ErrNothingFound = fault.New("trace_nothing_found", "No look at this plant found the pest, so there is nothing to trace back.")
	ErrLooks        = fault.New("trace_looks_out_of_order", "The looks at this plant are not in order, or lie outside the days that are known.")
)

// Members is how many courses are run from each day of arrival.
const Members = 96

// founders is how many adults came in, on average: our judgement. One may be enough
// where no males are needed.
const founders = 2

// Window is when the pest probably came in.
type Window struct {
	First  model.Date // the day of Chance[0]
	Chance []float64  // of each day; they add up to 1
	Low    model.Date // in ten of a hundred it was before this day
	Middle model.Date
	High   model.Date // in ten it was after
}

// Question is what the window is worked out from. Days are the temperatures from
// First on, up to the day of the last look and beyond. The pest is taken to have
// come on one of those days.
type Question struct {
	Model *population.Model
	First model.Date
	Days  []population.Day
	Acts  []population.Act  // treatments, counted from First
	Looks []population.Look // in order, counted from First
	Seed  uint64
	Stop  func() bool // may be nil
}

func (q *Question) check() error {
	if q.Model == nil || q.First <= 0 {
		return ErrLooks
	}
	last, found := -1, false
	for i := range q.Looks {
		l := &q.Looks[i]
		if err := l.Check(); err != nil {
			return err
		}
		if l.Day < last || l.Day >= len(q.Days) {
			return ErrLooks
		}
		last = l.Day
		found = found || l.Counts != population.Animals{}
	}
	if !found {
		return ErrNothingFound
	}
	return population.CheckDays(q.Days)
}

// Back works the window out. It returns ErrNothingFound or ErrLooks for looks that
// tell nothing, population's errors for days and counts that cannot be, and
// population.ErrStopped when told to stop.
func Back(q Question) (*Window, error) {
	if err := q.check(); err != nil {
		return nil, fmt.Errorf("trace back: %w", err)
	}
	climate, err := q.Model.Climate(q.Days)
	if err != nil {
		return nil, fmt.Errorf("trace back: %w", err)
	}
	kills, err := q.Model.Kills(len(q.Days), q.Acts)
	if err != nil {
		return nil, fmt.Errorf("trace back: %w", err)
	}
	w := &Window{First: q.First}
	for day := 0; day <= q.firstFound(); day++ {
		if q.Stop != nil && q.Stop() {
			return nil, population.ErrStopped
		}
		p, err := q.likelihood(climate, kills, day)
		if err != nil {
			return nil, fmt.Errorf("trace back: %w", err)
		}
		w.Chance = append(w.Chance, p)
	}
	w.settle()
	return w, nil
}

func (q *Question) firstFound() int {
	i := slices.IndexFunc(q.Looks, func(l population.Look) bool { return l.Counts != population.Animals{} })
	return q.Looks[i].Day
}

// likelihood is how likely all looks are if the pest came on a day.
func (q *Question) likelihood(w *population.Climate, kills *population.Kills, day int) (float64, error) {
	// The same seed for all days: what differs between days is then the days alone.
	c, err := q.Model.Begun(Members, q.Seed, population.Beginning{From: day, To: day, Founders: founders})
	if err != nil {
		return 0, err
	}
	like := 1.0
	for _, l := range q.Looks {
		if err := c.Live(w, l.Day, kills, 0); err != nil {
			return 0, err
		}
		p, err := c.Take(l)
		if err != nil {
			return 0, err
		}
		like *= p
	}
	return like, nil
}

// settle makes chances of likelihoods and finds the days that part them. Where no
// day makes the looks likely at all, every day is as likely as another.
func (w *Window) settle() {
	sum := 0.0
	for _, p := range w.Chance {
		sum += p
	}
	for i := range w.Chance {
		if sum > 0 {
			w.Chance[i] /= sum
		} else {
			w.Chance[i] = 1 / float64(len(w.Chance))
		}
	}
	w.Low, w.Middle, w.High = w.quantile(0.1), w.quantile(0.5), w.quantile(0.9)
}

func (w *Window) quantile(share float64) model.Date {
	sum := 0.0
	for i, p := range w.Chance {
		if sum += p; sum >= share-1e-12 {
			return w.First.Add(i)
		}
	}
	return w.First.Add(len(w.Chance) - 1)
}

// Between is the chance that it came on a day from one to another, both included.
func (w *Window) Between(from, to model.Date) float64 {
	sum := 0.0
	for i, p := range w.Chance {
		if d := w.First.Add(i); d >= from && d <= to {
			sum += p
		}
	}
	return min(1, sum)
}

func byChance[T any](all []T, chance func(T) float64, tie func(a, b T) int) {
	slices.SortStableFunc(all, func(a, b T) int {
		return cmp.Or(cmp.Compare(chance(b), chance(a)), tie(a, b))
	})
}
