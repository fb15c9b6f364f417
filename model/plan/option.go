package plan

import (
	"slices"

	"leafturn/model"
	"leafturn/model/dose"
	"leafturn/model/fault"
)

// Kind is what a step is.
type Kind uint8

// The kinds of steps.
const (
	Spray   Kind = 1 // on the leaves, wet all over
	IntoMix Kind = 2 // into the potting mix
	Rinse   Kind = 3
	Wipe    Kind = 4 // where rinsing would wash a soil product out, or the pest must be rubbed off
	TryLeaf Kind = 5
	LookAt  Kind = 6
)

// Step is something to do on a day.
type Step struct {
	Day     model.Date
	Kind    Kind
	Product model.ProductID // zero for water and looks
	Reasons []Reason        // never empty
}

// Goal is what an option is best at.
type Goal uint8

// The goals.
const (
	FewestSprays Goal = 1
	SoonestOver  Goal = 2
	NoChemicals  Goal = 3
)

// Buy is what a course needs of a product.
type Buy struct {
	Product model.ProductID
	Batch   dose.Batch // for all plants and applications of the course
	Enough  bool       // the stock is known and covers it
	By      model.Date // the day before the first application it does not cover; zero if Enough or no amount is known
}

// Option is a course that is best for a goal.
type Option struct {
	Goal    Goal
	Steps   []Step
	Sprays  int     // applications of products
	Washes  int     // rinses and wipes
	Rung    Rung    // the strongest tool used
	Chance  float64 // of having ended it within the horizon
	Low     float64 // in ten of a hundred of what may be true it is less than this
	High    float64 // in ten it is more
	Reaches bool    // Chance is at least the target
	Utmost  float64 // if it does not: the chance of doing all that the labels allow, for which this does not ask
	Over    model.Date
	Buys    []Buy
	Bound   []Bound // if it does not reach the target: what stands in the way
}

// Bound is a limit that keeps a course from reaching its target, and the chance
// there would be without it. It is never advice to break a label: without the
// interval means with another product whose label allows a shorter one.
type Bound struct {
	Limit   Limit
	Chance  float64
	Reaches bool
}

// Plan is the options for a case.
type Plan struct {
	Options []Option
	Refused []Refusal
	Target  float64
	Until   model.Date // the horizon
	Held    []Held
}

// Held says that a label's shortest interval is longer than the pest asks for.
type Held struct {
	Product model.ProductID
	Label   int // days
	Wanted  int // days, at the temperatures after today
	Guessed bool
}

// option makes the full account of what a search found.
func (s *search) option(g Goal, f found) (Option, error) {
	o := Option{Goal: g}
	moves := upTo(s.lay(f.pace, nil), f.n, s.water)
	c, err := s.chance(moves, s.whole, s.to)
	if err != nil {
		return o, err
	}
	if g == FewestSprays {
		if moves, c, err = s.spare(moves, c); err != nil {
			return o, err
		}
	}
	o.Chance, o.Reaches = c, c >= s.c.Target
	o.Low, o.High = tenths(s.ends)
	if !o.Reaches {
		o.Utmost = max(c, f.utmost)
	}
	if o.Reaches {
		over, err := s.overBy(moves, s.whole, s.to)
		if err != nil {
			return o, err
		}
		o.Over = s.c.date(over)
	}
	s.tell(&o, f.pace, moves)
	o.Buys = s.buys(moves)
	return o, nil
}

// tenths are the 10 and 90 per cent points.
func tenths(all []float64) (low, high float64) {
	sorted := slices.Sorted(slices.Values(all))
	n := len(sorted)
	return sorted[n/10], sorted[n-1-n/10]
}

// tell turns moves into steps.
func (s *search) tell(o *Option, p pace, moves []move) {
	for i := range moves {
		m := &moves[i]
		step := Step{Day: s.c.date(m.day), Kind: s.kind(m, moves)}
		if m.spray(s.water) || m.retry > 0 {
			step.Product = s.tools[m.tool].product.ID
		}
		step.Reasons = s.reasons(p, moves, i)
		o.Steps = append(o.Steps, step)
		switch step.Kind {
		case Spray, IntoMix:
			o.Sprays++
			o.Rung = max(o.Rung, RungOf(s.tools[m.tool].means))
		case Rinse, Wipe:
			o.Washes++
		}
	}
	o.Steps = append(o.Steps, s.looks(moves)...)
	if o.Over != 0 {
		o.Steps = append(o.Steps, Step{Day: max(o.Over, s.free(moves)), Kind: LookAt, Reasons: []Reason{{Because: ShouldBeOver, Date: o.Over}}})
	}
	slices.SortStableFunc(o.Steps, func(a, b Step) int { return a.Day.Sub(b.Day) })
}

// kind tells rinsing from wiping: for ten days after a product went into the mix no
// water may run through the pot (GRANLABEL), and scales and mealybugs hold on.
func (s *search) kind(m *move, moves []move) Kind {
	t := &s.tools[m.tool]
	switch {
	case m.retry > 0:
		return TryLeaf
	case t.means == model.MeansSystemicSoil, t.means == model.MeansSoilDrench:
		return IntoMix
	case int(m.tool) != s.water:
		return Spray
	case s.c.Pest == model.PestScale, s.c.Pest == model.PestMealybug:
		return Wipe
	}
	for i := range moves {
		x := &moves[i]
		if soil := s.tools[x.tool].means; (soil == model.MeansSystemicSoil || soil == model.MeansSoilDrench) && m.day >= x.day && m.day-x.day <= 10 {
			return Wipe
		}
	}
	return Rinse
}

// How many days after a treatment its effect is looked at: 2 to 3 (UKENT).
const (
	lookSoon = 2
	lookAt   = 3
)

// looks are the looks after sprays. One that would fall on or after the next
// treatment is made two days after, or not at all: the next treatment is a look.
func (s *search) looks(moves []move) []Step {
	var all []Step
	for i := range moves {
		m := &moves[i]
		t := &s.tools[m.tool]
		if !m.spray(s.water) {
			continue
		}
		next := s.to
		for _, x := range moves[i+1:] {
			if x.day > m.day {
				next = x.day
				break
			}
		}
		after := max(lookAt, t.reentry) + t.effect.Delay
		if m.day+after >= next {
			after = max(lookSoon, t.reentry) + t.effect.Delay
		}
		if m.day+after < next {
			all = append(all, Step{Day: s.c.date(m.day + after), Kind: LookAt,
				Reasons: []Reason{{Because: LookAfter, Days: after, Date: s.c.date(m.day)}}})
		}
	}
	return all
}

// free is the first day after the moves, and after what was done before, on which
// plants may be touched.
func (s *search) free(moves []move) model.Date {
	day := max(s.from, s.account.free)
	for i := range moves {
		if m := &moves[i]; m.spray(s.water) {
			day = max(day, m.day+s.tools[m.tool].reentry)
		}
	}
	return s.c.date(day)
}

// buys adds up what a course needs. Where the household gave no amount per plant or
// no rate was entered there is no amount to give.
func (s *search) buys(moves []move) []Buy {
	var all []Buy
	for i := range s.tools[:s.water] {
		p := s.tools[i].product
		var days []int
		for k := range moves {
			if m := &moves[k]; m.tool == int8(i) && m.spray(s.water) {
				days = append(days, m.day)
			}
		}
		if len(days) == 0 {
			continue
		}
		each := make([]int, len(s.c.Plants))
		for k := range each {
			each[k] = p.MixPerPlantMl
		}
		b := Buy{Product: p.ID}
		batch, err := dose.ForShelf(p, each, len(days))
		if err == nil {
			b.Batch = batch
		}
		if known := b.Batch.Once.Product.Millionths > 0; known {
			covers := b.Batch.Covers()
			b.Enough = covers == len(days)
			if !b.Enough {
				b.By = max(s.c.Today, s.c.date(days[covers]-1))
			}
		}
		all = append(all, b)
	}
	return all
}

// held compares the labels' intervals with what the pest asks for from today on.
func (s *search) heldBack() []Held {
	var all []Held
	for i := range s.tools[:s.water] {
		t := &s.tools[i]
		if !s.c.leads(t) || t.window <= 0 {
			continue
		}
		wanted, sum := 0, 0.0
		for d := s.from; d < s.to && sum < 1; d++ {
			sum += t.share[d]
			wanted++
		}
		if t.gap > wanted {
			all = append(all, Held{t.product.ID, t.gap, wanted, t.guessed})
		}
	}
	return all
}

// ErrNoCourse is returned when there is nothing at all to build a course on.
var ErrNoCourse = fault.New("plan_no_course", "Nothing on the shelf may be used against this pest here, and rinsing is ruled out: there is no course to offer.")
