package population

import (
	"fmt"

	"leafturn/model"
	"leafturn/model/fault"
)

// Errors of forecasts.
var (
	ErrTooMuch = fault.New("forecast_too_large", "This forecast is too large to be kept: fewer plants, days or members.")
	ErrStopped = fault.New("stopped", "The computation was stopped.")
	ErrLink    = fault.New("link_impossible", "Two plants of this forecast cannot be joined like this.")
)

// Band is what 10, 50 and 90 of a hundred members do not exceed.
type Band struct{ Low, Middle, High int }

// All is the index of the total in a Dawn, after the four stages.
const All = 4

// Dawn is the numbers at the start of a day, by model.Stage, and All together.
type Dawn struct {
	Bands   [5]Band
	Present float64 // share of members in which animals are alive
}

// Outlook is a forecast for one plant: its days from From on, the first as it is
// now.
type Outlook struct {
	From  int
	Dawns []Dawn
	Seed  uint64 // with the same inputs it gives the same numbers again
}

// Plant is one plant of a forecast.
type Plant struct {
	Cloud    *Cloud
	Climate  *Climate
	Kills    *Kills
	Arrivals float64 // adults a day from outside, on average
}

// Link lets adults go over from one plant to another, by their place in the list.
type Link struct {
	From, To int
	PerDay   float64 // chance of one adult on one day
}

// Wander is the chance of one adult a day of going over to a plant that touches
// its own: more if it flies. Our judgement.
func (m *Model) Wander() float64 {
	if m.flies() {
		return 0.02
	}
	return 0.005
}

// most bounds what a forecast keeps: members times days times plants.
const most = 1_000_000

// Forecast lets the cloud of one plant live on to the start of day to and tells the
// bands. The cloud itself stays as it is. While it works it asks stop, which may be
// nil, and gives up with ErrStopped when told to.
func Forecast(p Plant, to, members int, seed uint64, stop func() bool) (*Outlook, error) {
	all, err := Spread([]Plant{p}, nil, to, members, seed, stop)
	if err != nil {
		return nil, err
	}
	return all[0], nil
}

// Spread is the same for several plants of one pest that stand together: one
// outlook for each.
func Spread(plants []Plant, links []Link, to, members int, seed uint64, stop func() bool) ([]*Outlook, error) {
	s, err := newSpread(plants, links, to, members, seed)
	if err != nil {
		return nil, fmt.Errorf("forecast: %w", err)
	}
	for i := range members {
		if stop != nil && i%16 == 0 && stop() {
			return nil, ErrStopped
		}
		s.live(i)
	}
	return s.outlooks(), nil
}

// spread is a forecast at work.
type spread struct {
	plants  []Plant
	links   []Link
	members int
	from    int
	to      int
	seed    uint64
	now     []Member
	kept    []int32 // by plant, day, stage or All, member
}

func newSpread(plants []Plant, links []Link, to, members int, seed uint64) (*spread, error) {
	if members < 1 || members > maxMembers {
		return nil, ErrMembers
	}
	if len(plants) == 0 || len(plants) > most {
		return nil, ErrTooMuch
	}
	s := &spread{plants: plants, links: links, members: members, from: plants[0].Cloud.day, to: to, seed: seed}
	for _, p := range plants {
		if p.Cloud.model != plants[0].Cloud.model {
			return nil, ErrClimate
		}
		if p.Cloud.day != s.from {
			return nil, ErrOrder
		}
		if err := p.Cloud.check(p.Climate, to, p.Arrivals); err != nil {
			return nil, err
		}
	}
	for _, l := range links {
		if l.From < 0 || l.To < 0 || l.From >= len(plants) || l.To >= len(plants) || l.From == l.To || !(l.PerDay >= 0 && l.PerDay <= 1) {
			return nil, ErrLink
		}
	}
	if members*len(plants)*(to-s.from+1) > most {
		return nil, ErrTooMuch
	}
	s.now = make([]Member, len(plants))
	s.kept = make([]int32, len(plants)*s.days()*(All+1)*members)
	return s, nil
}

func (s *spread) days() int { return s.to - s.from + 1 }

// live is one member on all plants. Its streams depend on the seed and its number
// alone.
func (s *spread) live(member int) {
	for i, p := range s.plants {
		n := len(p.Cloud.members)
		s.now[i] = p.Cloud.members[(member*n/s.members+member/n)%n]
		s.now[i].rand = Stream(s.seed, member*len(s.plants)+i)
		s.keep(i, 0, member)
	}
	for d := s.from; d < s.to; d++ {
		for i, p := range s.plants {
			p.Climate.day(&s.now[i], d, p.Kills, p.Arrivals)
		}
		for _, l := range s.links {
			s.cross(l)
		}
		for i := range s.plants {
			s.keep(i, d-s.from+1, member)
		}
	}
}

// cross moves the adults that go over on a day.
func (s *spread) cross(l Link) {
	from, to := &s.now[l.From], &s.now[l.To]
	m := s.plants[0].Cloud.model
	for i := m.firstAdult(); i < m.size; i++ {
		if n := from.boxes[i]; n > 0 {
			gone := from.rand.Binomial(n, l.PerDay)
			from.boxes[i] -= gone
			to.boxes[i] += gone
			from.died += gone // for its own plant an animal that has left is lost
			to.came += gone
		}
	}
}

func (s *spread) keep(plant, day, member int) {
	m := s.plants[0].Cloud.model
	var n [All + 1]int32
	for i, k := range s.now[plant].boxes[:m.size] {
		n[m.asOf[i]] += k
		n[All] += k
	}
	at := (plant*s.days() + day) * (All + 1) * s.members
	for i, k := range n {
		s.kept[at+i*s.members+member] = k
	}
}

func (s *spread) outlooks() []*Outlook {
	all := make([]*Outlook, len(s.plants))
	for p := range all {
		o := &Outlook{From: s.from, Dawns: make([]Dawn, s.days()), Seed: s.seed}
		for d := range o.Dawns {
			at := (p*s.days() + d) * (All + 1) * s.members
			for i := range All + 1 {
				row := s.kept[at+i*s.members : at+(i+1)*s.members]
				if i == All {
					o.Dawns[d].Present = present(row)
				}
				o.Dawns[d].Bands[i] = bandOf(row)
			}
		}
		all[p] = o
	}
	return all
}

func present(row []int32) float64 {
	n := 0
	for _, k := range row {
		if k > 0 {
			n++
		}
	}
	return float64(n) / float64(len(row))
}

// Gone is the first day by whose start the share of members without animals
// reaches a chance, if there is one.
func (o *Outlook) Gone(chance float64) (int, bool) {
	for i, d := range o.Dawns {
		if 1-d.Present >= chance {
			return o.From + i, true
		}
	}
	return 0, false
}

// At is the band of a stage on a day.
func (o *Outlook) At(day int, s model.Stage) (Band, bool) {
	if day < o.From || day-o.From >= len(o.Dawns) || s > model.Adults {
		return Band{}, false
	}
	return o.Dawns[day-o.From].Bands[s], true
}
