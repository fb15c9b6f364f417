package agenda

import (
	"math"
	"slices"
	"time"

	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/model/standing"
)

// past is what one pass over the facts leaves: everything that tasks are made of, by
// key. Facts that were withdrawn are not in it.
type past struct {
	book  *model.Book
	zone  *time.Location
	today model.Date

	done    map[model.TaskKey]*completion
	lately  map[model.TaskKey]*completion // those of done with a completion of the last ShareDays
	twice   map[model.TaskKey]*completion // by more than one application
	rows    map[rowKey]*row
	looks   map[model.TaskKey][]model.PlantID // for checks
	claims  map[model.TaskKey][]*model.Fact
	delays  map[model.TaskKey]*model.Fact
	settled map[model.TaskKey]*model.Fact
	plans   map[model.PlanID]*model.Fact // the last acceptance of each plan
	apps    []*model.Fact
	hands   standing.Hands
	rooms   map[model.PlaceID]*room
	sizes   map[model.PlantID]*model.Fact // the last measurement of each plant that says something
	water   []*model.Fact                 // waterings of the last WaterDays
	potted  map[model.PlantID]*model.Fact // the last repotting of each plant
}

func newPast(b *model.Book, today model.Date, zone *time.Location) *past {
	return &past{
		book: b, zone: zone, today: today,
		done:    map[model.TaskKey]*completion{},
		lately:  map[model.TaskKey]*completion{},
		twice:   map[model.TaskKey]*completion{},
		rows:    map[rowKey]*row{},
		looks:   map[model.TaskKey][]model.PlantID{},
		claims:  map[model.TaskKey][]*model.Fact{},
		delays:  map[model.TaskKey]*model.Fact{},
		settled: map[model.TaskKey]*model.Fact{},
		plans:   map[model.PlanID]*model.Fact{},
		hands:   standing.Hands{},
		rooms:   map[model.PlaceID]*room{},
		sizes:   map[model.PlantID]*model.Fact{},
		potted:  map[model.PlantID]*model.Fact{},
	}
}

// note takes in one fact. Looks are by far the most, so those that belong to no
// task are passed over before anything is asked about them.
func (l *past) note(f *model.Fact) {
	switch x := f.Body.(type) {
	case *model.Inspection:
		if (!x.Round.IsZero() || !x.Completes.IsZero()) && l.book.Stands(f.ID) {
			l.noteLook(x.Round, x.Plant)
			l.complete(x.Completes, f)
		}
	default:
		if l.book.Stands(f.ID) {
			l.noteRare(f)
		}
	}
}

func (l *past) noteRare(f *model.Fact) {
	switch x := f.Body.(type) {
	case *model.Application:
		l.apps = append(l.apps, f)
		l.complete(x.Completes, f)
	case *model.Handling:
		l.hands.Note(f, x)
		l.noteRoom(f, x)
		l.complete(x.Completes, f)
	case *model.CardReading:
		l.room(x.Place).read(f, x)
		l.complete(x.Completes, f)
	case *model.Temperature:
		l.room(x.Place).heat = later(l.room(x.Place).heat, f)
	case *model.Measurement:
		l.noteSize(f, x)
		l.complete(x.Completes, f)
	case *model.TaskCompleted:
		l.complete(x.Task, f)
	case *model.PlanAccepted:
		l.plans[x.Plan] = f
	case *model.TaskClaimed:
		l.claims[x.Task] = append(l.claims[x.Task], f)
	case *model.TaskPutOff:
		l.delays[x.Task] = f
	case *model.Settled:
		l.settled[x.Task] = f
	}
}

func (l *past) complete(k model.TaskKey, f *model.Fact) {
	if k.IsZero() {
		return
	}
	c := l.done[k]
	if c == nil {
		c = &completion{}
		l.done[k] = c
	}
	c.add(f)
	if l.today.Sub(l.date(f)) < ShareDays {
		l.lately[k] = c
	}
	if c.apps == 2 {
		l.twice[k] = c
	}
	if !ofPlan(k.Rule) && k.Ordinal != math.MaxUint32 { // the last number could have no successor
		l.row(k).completed(k.Ordinal)
	}
}

// ofPlan reports whether a rule is about the steps of a plan, whose number the plan
// says.
func ofPlan(r model.Rule) bool {
	switch r {
	case model.RuleSpray, model.RuleCheck, model.RuleIsolate, model.RuleSoil, model.RuleWash, model.RuleTryLeaf:
		return true
	}
	return false
}

func (l *past) row(k model.TaskKey) *row {
	name := rowKey{k.Rule, k.Subject}
	r := l.rows[name]
	if r == nil {
		r = &row{}
		l.rows[name] = r
	}
	return r
}

// completed forgets the looks of tasks that are over, so that a row never holds
// more than the looks of its last one.
func (r *row) completed(ordinal uint32) {
	if ordinal > r.highest {
		r.highest = ordinal
		r.looks = slices.DeleteFunc(r.looks, func(k look) bool { return k.ordinal <= ordinal })
	}
}

func (l *past) noteLook(k model.TaskKey, p model.PlantID) {
	switch {
	case k.Rule == model.RuleCheck:
		l.looks[k] = append(l.looks[k], p)
	case !ofPlan(k.Rule) && !k.IsZero():
		if r := l.row(k); k.Ordinal > r.highest {
			r.looks = append(r.looks, look{k.Ordinal, p})
		}
	}
}

// next begins the task that follows the last one of a row, and gives the first
// completion of that one, nil if there is none.
func (l *past) next(r model.Rule, subject uuid.UUID) (t *Task, last *model.Fact) {
	t = &Task{Key: model.TaskKey{Rule: r, Subject: subject, Ordinal: 1}}
	known := l.rows[rowKey{r, subject}]
	if known == nil {
		return t, nil
	}
	t.Key.Ordinal = known.highest + 1
	for _, k := range known.looks {
		if k.ordinal == t.Key.Ordinal {
			t.Looked = append(t.Looked, k.plant)
		}
	}
	if known.highest == 0 {
		return t, nil
	}
	return t, l.done[model.TaskKey{Rule: r, Subject: subject, Ordinal: known.highest}].first
}

// date is the day of a fact.
func (l *past) date(f *model.Fact) model.Date { return f.At.Date(l.zone) }
