package population

import (
	"fmt"

	"leafturn/model"
	"leafturn/model/fault"
)

// Errors for questions that have no answer.
var (
	ErrMembers  = fault.New("members_out_of_range", "A forecast needs at least one member and at most twenty thousand.")
	ErrStart    = fault.New("start_impossible", "How this outbreak began cannot be right: check the days and numbers.")
	ErrOrder    = fault.New("days_out_of_order", "These days are not in order: something would come before what is already reckoned with.")
	ErrClimate  = fault.New("climate_of_another_pest", "These temperatures were made ready for another pest.")
	ErrArrivals = fault.New("arrivals_impossible", "The number of newcomers a day must be a small number, and not below zero.")
)

// Cloud is many members that start alike likely. It has reached a day: what lies
// before is settled.
type Cloud struct {
	model   *Model
	members []Member
	spare   []Member // for resampling without making new ones
	weights []float64
	day     int
	seed    uint64
	looks   int

	effective float64
}

const (
	maxMembers = 20_000
	mostHeld   = 20_000 // animals of a stage that a cloud can be begun with
)

func (m *Model) blank(n int, seed uint64) (*Cloud, error) {
	if n < 1 || n > maxMembers {
		return nil, ErrMembers
	}
	c := &Cloud{model: m, members: make([]Member, n), seed: seed, effective: float64(n)}
	for i := range c.members {
		c.members[i] = m.newMember(Stream(seed, i))
	}
	return c, nil
}

// Beginning says how the pest came: some adults on one of the days From to To of
// the climate, all as likely. Founders is their mean number; at least one came.
type Beginning struct {
	From, To int
	Founders float64
}

// Begun is a cloud at the start of day 0 in which the pest is yet to come.
func (m *Model) Begun(n int, seed uint64, b Beginning) (*Cloud, error) {
	if b.From < 0 || b.To < b.From || b.To > MaxDays || !(b.Founders >= 1 && b.Founders <= 1000) {
		return nil, ErrStart
	}
	c, err := m.blank(n, seed)
	if err != nil {
		return nil, err
	}
	for i := range c.members {
		x := &c.members[i]
		// Days are dealt out evenly, not drawn, so that none is left out.
		x.since = int16(b.From + i%(b.To-b.From+1))
		x.founders = 1 + x.rand.Poisson(b.Founders-1)
	}
	return c, nil
}

// Animals is how many there are, by the stages that a person can tell apart.
type Animals [4]int

func (a Animals) total() int { return a[0] + a[1] + a[2] + a[3] }

// Holding is a cloud at the start of day 0 with known numbers of animals, each at a
// random point of its stage.
func (m *Model) Holding(n int, seed uint64, a Animals) (*Cloud, error) {
	c, err := m.blank(n, seed)
	if err != nil {
		return nil, err
	}
	for s, count := range a {
		if count < 0 || count > mostHeld {
			return nil, ErrStart
		}
		for i := range c.members {
			if err := m.scatter(&c.members[i], model.Stage(s), count); err != nil {
				return nil, err
			}
		}
	}
	return c, nil
}

// scatter puts animals of a stage into its boxes, each as likely as it is long.
func (m *Model) scatter(x *Member, as model.Stage, count int) error {
	if count == 0 {
		return nil
	}
	var boxes []int
	for i := range m.size {
		if s := &m.stages[m.stageOf[i]]; s.as == as && !s.spent {
			boxes = append(boxes, i)
		}
	}
	if len(boxes) == 0 {
		return fmt.Errorf("stage %d: %w", as, ErrStart)
	}
	for range count {
		x.boxes[boxes[x.rand.IntN(len(boxes))]]++
	}
	x.came += int32(count)
	return nil
}

// Len is the number of members.
func (c *Cloud) Len() int { return len(c.members) }

// Day is the day at whose start the cloud stands.
func (c *Cloud) Day() int { return c.day }

// Sample is a smaller cloud of n members, taken at even steps.
func (c *Cloud) Sample(n int) *Cloud {
	n = max(1, min(n, len(c.members)))
	s := *c
	s.members, s.spare, s.weights = make([]Member, n), nil, nil
	for i := range s.members {
		s.members[i] = c.members[(2*i+1)*len(c.members)/(2*n)]
	}
	return &s
}

// Pick is a cloud of the members at some places of the list.
func (c *Cloud) Pick(places []int) *Cloud {
	s := *c
	s.members, s.spare, s.weights = make([]Member, len(places)), nil, nil
	for i, p := range places {
		s.members[i] = c.members[p]
	}
	return &s
}

// Clone is a copy that goes its own way.
func (c *Cloud) Clone() *Cloud { return c.Sample(len(c.members)) }

// Live lets days pass until the start of day to. Arrivals is the mean number of
// adults that come from outside in a day.
func (c *Cloud) Live(w *Climate, to int, kills *Kills, arrivals float64) error {
	if err := c.check(w, to, arrivals); err != nil {
		return err
	}
	for i := range c.members {
		for d := c.day; d < to; d++ {
			w.day(&c.members[i], d, kills, arrivals)
		}
	}
	c.day = to
	return nil
}

func (c *Cloud) check(w *Climate, to int, arrivals float64) error {
	switch {
	case w.model != c.model:
		return ErrClimate
	case to < c.day:
		return ErrOrder
	case to > w.Len():
		return fmt.Errorf("to day %d of %d: %w", to, w.Len(), ErrDays)
	case !(arrivals >= 0 && arrivals <= 100):
		return ErrArrivals
	}
	return nil
}

// Present is the share of members in which animals are alive.
func (c *Cloud) Present() float64 {
	n := 0
	for i := range c.members {
		if c.members[i].Total() > 0 || int(c.members[i].since) >= c.day && c.members[i].founders > 0 {
			n++
		}
	}
	return float64(n) / float64(len(c.members))
}

// Median is the middle number of animals over the cloud.
func (c *Cloud) Median() int {
	all := make([]int32, len(c.members))
	for i := range c.members {
		all[i] = int32(c.members[i].Total())
	}
	return bandOf(all).Middle
}
