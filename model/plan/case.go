package plan

import (
	"fmt"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/model/population"
)

// Errors for cases that no plan can be made for.
var (
	ErrCase    = fault.New("plan_case_impossible", "A plan cannot be made of this: something about the plants, days or products is missing or cannot be right.")
	ErrStopped = population.ErrStopped
)

// Past is an application that was done.
type Past struct {
	Product *model.Product
	Plants  []model.PlantID
	Day     model.Date
	Parts   []model.Part
}

// Wishes is what the household chose.
type Wishes struct {
	NoChemicals bool // water, wiping and pruning only
	Children    bool // small children reach the plants
	Pets        bool // animals nibble at them
	NoRinsing   bool // the plants cannot be rinsed or wiped
}

// Case is what a plan is made for. The cloud stands at the start of today; Days
// are those of its climate, so that Days[Cloud.Day()] is today.
type Case struct {
	Pest    model.Pest
	Model   *population.Model
	Cloud   *population.Cloud
	Days    []population.Day
	Today   model.Date
	Plants  []*model.Plant
	Shelf   []*model.Product
	History []Past
	Wishes  Wishes
	Target  float64 // wanted chance of ending it; 0 means 0.95
	Horizon int     // days from today within which it should end; 0 means 60
}

// DefaultTarget and DefaultHorizon are what a case without its own asks for.
const (
	DefaultTarget  = 0.95
	DefaultHorizon = 60
)

func (c *Case) fill() (Case, error) {
	f := *c
	if f.Target == 0 {
		f.Target = DefaultTarget
	}
	if f.Horizon == 0 {
		f.Horizon = DefaultHorizon
	}
	switch {
	case f.Model == nil, f.Cloud == nil, len(f.Plants) == 0, f.Today <= 0:
		return f, fmt.Errorf("case: %w", ErrCase)
	case !(f.Target > 0 && f.Target < 1), f.Horizon < 1:
		return f, fmt.Errorf("target or horizon: %w", ErrCase)
	case f.Cloud.Day()+f.Horizon > len(f.Days):
		return f, fmt.Errorf("days: %w", population.ErrDays)
	}
	for _, p := range f.Plants {
		if p == nil {
			return f, fmt.Errorf("plants: %w", ErrCase)
		}
	}
	for _, p := range f.Shelf {
		if p == nil || p.MinInterval < 0 || p.MaxPerSeason < 0 || p.MostInRow < 0 || p.ReentryHours < 0 {
			return f, fmt.Errorf("shelf: %w", ErrCase)
		}
	}
	for _, h := range f.History {
		if h.Product == nil || h.Day > f.Today {
			return f, fmt.Errorf("history: %w", population.ErrOrder)
		}
	}
	return f, population.CheckDays(f.Days)
}

// Watch follows a search. Either may be nil.
type Watch struct {
	Progress func(done, of int)
	Stop     func() bool // asked at least every few milliseconds
}

func (w Watch) stopped() bool { return w.Stop != nil && w.Stop() }

func (w Watch) progress(done, of int) {
	if w.Progress != nil {
		w.Progress(done, of)
	}
}
