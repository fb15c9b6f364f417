package app

import (
	"cmp"
	"flag"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/plan"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

// A simulated year: two people do what their phones ask for, often without a network,
// now and then not at all. Pests come that nobody sees but by looking. Next door the
// same pests come to the same plants of somebody who sprays by the calendar.
//
// What lives on the plants is drawn from package population, with whose figures the
// phones compute too. So this shows whether looking, sharing, planning and ending fit
// together; of real animals it says nothing.
var (
	years     = flag.Int("years", 1, "how many simulated years, each of its own seed")
	yearDays  = flag.Int("year-days", 40, "how many days each of them has")
	firstYear = flag.Uint64("first-year", 2, "the seed of the first")
)

const (
	forgotten = 7    // days after which an open task counts as forgotten
	over      = 0.95 // the chance at which people take an outbreak for ended
	busy      = 0.15 // chance that something comes up before a task is done
	out       = 0.1  // chance of not being at home in an evening
	offline   = 0.25 // chance of an evening without a network
)

// year is what a year came to.
type year struct {
	sprays, rinses int // of one plant each
	looks, treated int // as they should stand in the book
	closed, wrong  int // outbreaks that were closed, and those of them that were not over
	late           int // the most days that a task was late
	forgot, twice  map[string]bool
}

// person is somebody with a phone.
type person struct {
	*phone
	other *person
	g     *garden
	y     *year
	day   int
	draw  *population.Rand
}

// evening is a person's evening: do what Today asks for, see how the outbreaks stand.
func (x *person) evening() {
	if x.link.out = x.draw.Float64() < offline; !x.link.out {
		x.sync()
		defer x.sync()
	}
	worked := false
	for _, task := range x.due() {
		if x.draw.Float64() < busy {
			continue
		}
		x.open(screens.RouteToday)
		x.work(task)
		worked = true
	}
	if worked {
		x.review()
	}
}

// due are the tasks of today that this person does: what is everybody's or this
// person's, and what the other has left lying for two days.
func (x *person) due() (tasks []*agenda.Task) {
	x.open(screens.RouteToday)
	me := x.house.Member()
	x.house.Read(func(b *model.Book) {
		now := x.agenda(b)
		for _, t := range now.Today.Tasks {
			theirs := !t.Turn.IsZero() && t.Turn != me && t.Overdue < 2
			if !theirs && (len(t.Claims) == 0 || t.Claims[0].By == me) {
				tasks = append(tasks, t)
			}
			x.y.late = max(x.y.late, t.Overdue)
			if t.Overdue > forgotten {
				x.y.forgot[taskText(t.Key)] = true
			}
		}
		for _, f := range now.Flags {
			x.y.twice[taskText(f.Key)] = true
		}
	})
	return tasks
}

func (x *person) work(t *agenda.Task) {
	id := taskText(t.Key)
	switch t.Key.Rule {
	case model.RuleRound:
		x.walk(t, model.PlaceID(t.Key.Subject).String())
	case model.RuleCheck, model.RuleQuarantine, model.RuleMaintain:
		x.walk(t, id)
	case model.RuleSpray, model.RuleSoil:
		if page := x.open(screens.ConfirmRoute(id)); strings.Contains(page, "Ask first.") && x.other.did(t) {
			return
		}
		x.do(screens.ActApply, "task", id, "part", "1", "part", "2", "part", "3", "part", "4")
		x.treat(t, x.product(t.Product).Means)
		x.y.sprays += len(t.Plants)
		x.y.treated++
	case model.RuleWash:
		x.do(screens.ActTaskDone, "task", id)
		x.treat(t, model.MeansWater)
		x.y.rinses += len(t.Plants)
	case model.RuleIsolate:
		x.do(screens.ActTaskDone, "task", id)
		for _, plant := range t.Plants {
			x.host(plant).apart = true
		}
	default:
		x.do(screens.ActTaskDone, "task", id)
	}
}

// did answers the question whether a treatment was done.
func (x *person) did(t *agenda.Task) (done bool) {
	x.open(screens.RouteToday)
	x.house.Read(func(b *model.Book) {
		now := x.agenda(b).Task(t.ID)
		done = now == nil || now.Done != nil
	})
	return done
}

func (x *person) product(id model.ProductID) (p model.Product) {
	x.house.Read(func(b *model.Book) { p = *b.Products[id] })
	return p
}

func (x *person) treat(t *agenda.Task, means model.Means) {
	for _, plant := range t.Plants {
		x.g.treat(x.host(plant), population.Act{Day: x.day, Means: means})
	}
}

// host is the plant itself.
func (x *person) host(id model.PlantID) (h *host) {
	x.house.Read(func(b *model.Book) {
		h = x.g.plants[slices.IndexFunc(x.g.plants, func(h *host) bool { return h.name == b.Plants[id].Name })]
	})
	return h
}

// walk looks at the plants of a round or of a look after a treatment.
func (x *person) walk(t *agenda.Task, id string) {
	for _, plant := range t.Plants {
		if slices.Contains(t.Looked, plant) {
			continue
		}
		x.open(screens.RoundRoute(id))
		x.y.looks++
		counts := x.g.look(x.host(plant))
		if counts == (population.Animals{}) {
			x.do(screens.ActNothingFound, "plant", plant.String(), "place", id, "looked", strconv.Itoa(int(model.PartsOf(usualParts...))))
			continue
		}
		fields := []string{"plant", plant.String(), "place", id, "part", "1", "looked", strconv.Itoa(int(model.NewGrowth)), "sign", "2"}
		for i, n := range counts {
			fields = append(fields, "count"+strconv.Itoa(i), strconv.Itoa(n))
		}
		x.do(screens.ActSaveFinding, fields...)
		x.noteOutbreak(plant)
	}
}

// open outbreaks of the household, in a fixed order.
func (x *person) outbreaks() (open []*model.Outbreak) {
	x.house.Read(func(b *model.Book) {
		for _, o := range b.Outbreaks {
			if o.Closed == 0 {
				open = append(open, o)
			}
		}
	})
	slices.SortFunc(open, func(p, q *model.Outbreak) int { return model.CompareIDs(p.ID, q.ID) })
	return open
}

// noteOutbreak puts a plant under the open outbreak, or opens one.
func (x *person) noteOutbreak(plant model.PlantID) {
	open := x.outbreaks()
	known := false
	x.house.Read(func(b *model.Book) {
		for _, o := range open {
			known = known || slices.ContainsFunc(affected(b, o), func(p *model.Plant) bool { return p.ID == plant })
		}
	})
	switch {
	case known:
	case len(open) > 0:
		x.do(screens.ActAddToOutbreak, "plant", plant.String(), "outbreak", open[0].ID.String())
	default:
		x.do(screens.ActOpenOutbreak, "plant", plant.String(), "pest", strconv.Itoa(int(x.g.model.Species.Pest())))
	}
}

// review looks at each outbreak, takes a plan where none rules or another is proposed,
// and closes it when the phone says that it is over.
func (x *person) review() {
	for _, o := range x.outbreaks() {
		id := o.ID.String()
		x.open(screens.OutbreakRoute(id))
		switch ahead := x.aheads[o.ID]; {
		case ahead == nil || ahead.clear == nil:
		case ahead.clear.Chance >= over:
			x.do(screens.ActCloseOutbreak, "outbreak", id)
			x.y.closed++
			for _, h := range x.g.plants {
				h.apart = false
			}
			if x.g.infested() > 0 {
				x.y.wrong++
			}
		case x.ruling(id) == nil || ahead.proposal != nil:
			x.choose(o.ID)
		}
	}
}

// choose takes the first plan that reaches its aim, or else the likeliest.
func (x *person) choose(id model.OutbreakID) {
	x.open(screens.PlansRoute(id.String()))
	p := x.plannings[id]
	if p == nil || p.found == nil || len(p.found.Options) == 0 {
		return
	}
	best := slices.MinFunc(p.found.Options, func(p, q plan.Option) int {
		if p.Reaches && q.Reaches {
			return cmp.Compare(p.Goal, q.Goal)
		}
		return cmp.Compare(q.Chance, p.Chance)
	})
	x.do(screens.ActAcceptPlan, "outbreak", id.String(), "option", strconv.Itoa(int(best.Goal)))
}

// household sets two phones up, with all plants and an invented shelf. No rate on it
// is a recommendation.
func (g *garden) household(now func() time.Time) (ada, ben *phone) {
	w := alone(g.t)
	h := newHall(now)
	ada, ben = h.phone(w), h.phone(w)
	ada.restart(screens.RouteSetup + "once")
	ada.do(screens.ActFound, "setup", "once", "household", "Mill Lane", "name", "Ada", "phone", "Blue phone")
	for _, r := range rooms {
		ada.do(screens.ActAddPlace, "name", r.name, "rhythm", "7", "coldest", strconv.Itoa(r.low), "warmest", strconv.Itoa(r.high))
		for _, plant := range r.plants {
			ada.do(screens.ActAddPlant, "first", "1", "name", plant, "place", ada.place(r.name))
		}
	}
	for _, p := range [][]string{
		{"name", "Invented soap", "means", "1", "interval", "5", "season", "12"},
		{"name", "Invented oil", "means", "2", "interval", "7", "season", "8"},
	} {
		ada.do(screens.ActAddProduct, append(p, "unit", "2", "rate", "20", "perplant", "100", "pests", "thrips, aphids, spider mites", "cautions", "For houseplants.")...)
	}
	ada.do(screens.ActSaveTurn, "turn", screens.TurnRotating)
	ada.sync()
	ada.do(screens.ActInvite, "role", strconv.Itoa(int(model.Helper)))
	ben.do(screens.ActJoin, "invitation", ada.value(`#join=([A-Za-z0-9_-]+)`), "name", "Ben", "phone", "Old phone")
	require.NotNil(g.t, ben.house, ben.main())
	return ada, ben
}

func (p *phone) place(name string) (id string) {
	p.house.Read(func(b *model.Book) {
		for _, x := range b.Places {
			if x.Name == name {
				id = x.ID.String()
			}
		}
	})
	return id
}

// follow lets two people live through the days by their phones.
func (g *garden) follow(days int, seed uint64) *year {
	start := time.Date(2026, 1, 1, 17, 0, 0, 0, time.UTC)
	now := start
	ada, ben := g.household(func() time.Time { return now })
	y := &year{forgot: map[string]bool{}, twice: map[string]bool{}}
	draw := population.Stream(seed, 3)
	people := []*person{{phone: ada, g: g, y: y, draw: &draw}, {phone: ben, g: g, y: y, draw: &draw}}
	people[0].other, people[1].other = people[1], people[0]
	for day := range days {
		for i, x := range people {
			now = start.AddDate(0, 0, day).Add(time.Duration(i) * time.Hour)
			if x.day = day; draw.Float64() >= out {
				x.evening()
			}
		}
		g.live(day)
	}
	for _, x := range []*phone{ada, ben, ada} {
		x.link.out = false
		x.sync()
	}
	require.Equal(g.t, ada.digest(), ben.digest())
	looks, treated := ada.noted()
	require.Equal(g.t, y.looks, looks, "no look is lost or there twice")
	require.Equal(g.t, y.treated, treated, "nor a treatment")
	return y
}

// noted is how many looks and treatments stand in the book.
func (p *phone) noted() (looks, treated int) {
	p.house.Read(func(b *model.Book) {
		for _, f := range b.Facts() {
			switch f.Body.(type) {
			case *model.Inspection:
				looks++
			case *model.Application:
				treated++
			}
		}
	})
	return looks, treated
}

// The figures of several years are printed for .ci/bench, one to a line.
func TestYear(t *testing.T) {
	pests := []refdata.Species{refdata.TwoSpottedMite, refdata.WesternFlowerThrips, refdata.MelonAphid}
	sum := map[string]float64{}
	for i := range *years {
		seed := *firstYear + uint64(i)
		species := pests[(seed+1)%3]
		t.Run(fmt.Sprintf("%s, seed %d", species, seed), func(t *testing.T) {
			g, next := newGarden(t, species, *yearDays, seed), newGarden(t, species, *yearDays, seed)
			y, sprays := g.follow(*yearDays, seed), next.calendar(*yearDays)
			t.Logf("%d sprays, %d rinses, %d looks; %d outbreaks closed, %d of them too soon; %d plants infested at the end; at most %d days late; by the calendar %d sprays, %d plants infested",
				y.sprays, y.rinses, y.looks, y.closed, y.wrong, g.infested(), y.late, sprays, next.infested())
			require.Empty(t, y.forgot)
			for name, n := range map[string]int{"sprays": y.sprays, "rinses": y.rinses, "outbreaks-closed": y.closed, "closed-too-soon": y.wrong, "treated-twice": len(y.twice),
				"infested-at-the-end": g.infested(), "calendar-sprays": sprays, "calendar-infested-at-the-end": next.infested()} {
				sum[name] += float64(n)
			}
		})
	}
	require.NotZero(t, sum["calendar-sprays"])
	require.LessOrEqual(t, sum["infested-at-the-end"], sum["calendar-infested-at-the-end"])
	sum["sprays-over-calendar"] = sum["sprays"] / sum["calendar-sprays"]
	for name, value := range sum {
		t.Logf("figure %s %.4g", name, value)
	}
}
