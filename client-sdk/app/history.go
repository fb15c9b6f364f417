package app

import (
	"cmp"
	"encoding/binary"
	"slices"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/evidence"
	"leafturn/model/plan"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

// How long before and after the models look. Between both lies the time since the
// first finding; all of it must fit into population.MaxDays.
const (
	// before is how long before the first finding the pest may have come in: about
	// two generations of the slowest common pest in a room. Our judgement.
	before = 42
	// after is how far the days to come are laid out: a plan's horizon and half of it
	// more, for telling what a later end would bring.
	after = plan.DefaultHorizon * 3 / 2
)

// A room without a known temperature is taken as this, tenths of a degree Celsius.
const (
	usualColdest = 180
	usualWarmest = 230
)

// history is an outbreak as the models take it: days count from start. It is a copy,
// so that it can be worked on beside the App, and the whole of what the work rests
// on: two that are equal give equal results.
type history struct {
	outbreak model.OutbreakID
	pest     model.Pest
	species  refdata.Species
	plant    model.PlantID // the one with most animals counted, which stands for all
	name     string
	place    string
	coldest  int
	warmest  int
	assumed  bool // nobody has said how warm it is
	start    model.Date
	today    model.Date
	looks    []population.Look
	seen     evidence.History
	done     []population.Act
	planned  []population.Act
	marks    []screens.ForecastMark
	counted  []screens.ForecastPoint
	rests    []string
	counts   []evidence.Count
	treated  model.Date // the first treatment of the plan that rules, or of any; 0 if there was none
	seed     uint64

	plants   []*model.Plant
	shelf    []*model.Product
	past     []plan.Past
	wishes   plan.Wishes
	accepted *model.PlanAccepted // the plan that rules, nil if there is none
	since    model.Date          // when it was accepted
	left     []plan.Step         // its steps that are not done yet
	late     int                 // of those, how many should have been done
}

// gather collects what bears on an outbreak.
func (a *App) gather(b *model.Book, o *model.Outbreak) (history, bool) {
	species := speciesOf(o)
	plants := affected(b, o)
	if species == 0 || len(plants) == 0 || o.Closed != 0 {
		return history{}, false
	}
	worst := slices.MaxFunc(plants, func(x, y *model.Plant) int { return cmp.Compare(countedOn(b, x.ID), countedOn(b, y.ID)) })
	in := history{outbreak: o.ID, pest: o.Pest, species: species, plant: worst.ID, name: worst.Name, today: a.today(),
		coldest: usualColdest, warmest: usualWarmest, assumed: true, seed: binary.BigEndian.Uint64(o.ID[8:])}
	if at := b.Places[worst.Place]; at != nil {
		in.place = at.Name
		if at.Coldest != 0 || at.Warmest != 0 {
			in.coldest, in.warmest, in.assumed = at.Coldest, at.Warmest, false
		}
	}
	first := max(a.firstFound(b, o, worst.ID), in.today.Add(-(population.MaxDays - before - after)))
	in.start = first.Add(-before)
	in.seen = evidence.History{From: in.start, Recall: evidence.CommonRecall()}
	a.gatherFacts(b, &in)
	a.gatherShelf(b, plants, &in)
	a.gatherPlan(b, o, &in)
	in.marks = a.oneADay(in.marks)
	return in, true
}

// oneADay puts what is done on one day into one mark of the picture, products first.
func (a *App) oneADay(marks []screens.ForecastMark) []screens.ForecastMark {
	var out []screens.ForecastMark
	for _, m := range marks {
		i := slices.IndexFunc(out, func(x screens.ForecastMark) bool { return x.Date == m.Date && x.Done == m.Done })
		switch {
		case i < 0:
			out = append(out, m)
		case out[i].What == m.What:
		case m.Kind == screens.TaskSpray:
			out[i].What, out[i].Kind = a.t.Common.Dotted(m.What, out[i].What), m.Kind
		default:
			out[i].What = a.t.Common.Dotted(out[i].What, m.What)
		}
	}
	return out
}

// speciesOf is the species to compute with, 0 if there is none.
func speciesOf(o *model.Outbreak) refdata.Species {
	if s := refdata.Species(o.Species); s.Valid() && s.Pest() == o.Pest {
		return s
	}
	if all := refdata.Of(o.Pest); len(all) > 0 {
		return all[0]
	}
	return 0
}

// firstFound is when the pest was first found on a plant, at the latest the day on
// which the outbreak was opened.
func (a *App) firstFound(b *model.Book, o *model.Outbreak, plant model.PlantID) model.Date {
	first := o.Opened
	for _, f := range b.PlantFacts(plant) {
		if look, ok := f.Body.(*model.Inspection); ok && look.Found() && b.Stands(f.ID) {
			first = min(first, f.At.Date(a.zone))
		}
	}
	return first
}

// countedOn is how many animals were ever counted on a plant.
func countedOn(b *model.Book, plant model.PlantID) int {
	n := 0
	for _, f := range b.PlantFacts(plant) {
		if look, ok := f.Body.(*model.Inspection); ok && b.Stands(f.ID) {
			n += countedIn(look)
		}
	}
	return n
}

func countedIn(look *model.Inspection) int {
	n := 0
	for _, x := range look.Findings {
		n += x.Counts.Total()
	}
	return n
}

// gatherFacts takes down what happened to the plant, in order of days.
func (a *App) gatherFacts(b *model.Book, in *history) {
	facts := byTimeSeen(b.PlantFacts(in.plant))
	slices.Reverse(facts)
	for _, f := range facts {
		day := f.At.Date(a.zone)
		if !b.Stands(f.ID) || day < in.start || day > in.today {
			continue
		}
		switch x := f.Body.(type) {
		case *model.Inspection:
			a.gatherLook(b, f, x, day, in)
		case *model.Application:
			a.gatherTreatment(b, x, day, in)
		case *model.Handling:
			if x.Kind == model.Rinsed || x.Kind == model.Wiped {
				in.done = append(in.done, population.Act{Day: day.Sub(in.start), Means: model.MeansWater})
				in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.t.Words.Handling[x.Kind], Kind: screens.TaskByHand, Done: true})
			}
		}
	}
}

// gatherLook takes a look as evidence. The same eyes on the same leaves are not new
// evidence: a look that found nothing counts only as far as it is new.
func (a *App) gatherLook(b *model.Book, f *model.Fact, x *model.Inspection, day model.Date, in *history) {
	in.seen.Events = append(in.seen.Events, lookAt(x, f.By, day))
	look := population.LookOf(x, day.Sub(in.start))
	if !x.Found() {
		look.Effort *= in.seen.Fresh(len(in.seen.Events) - 1)
	}
	if look.Effort > 0 {
		in.looks = append(in.looks, look)
	}
	if !look.Uncounted {
		total := countedIn(x)
		if x.Found() {
			in.counted = append(in.counted, screens.ForecastPoint{Date: day, Count: float64(total) / look.Effort})
		}
		in.counts = append(in.counts, evidence.Count{Day: day, Animals: total, Effort: 1})
	}
	in.rests = append(in.rests, a.t.Common.Dotted(a.t.Format.Day(day), a.t.Clear.Looked(a.who(b, f.By), a.partWords(partsIn(x.Looked)), x.Found())))
}

// lookAt is a look as evidence of whose eyes were where. Where nobody said which
// parts were looked at, it is taken as a look all over the plant.
func lookAt(x *model.Inspection, who model.MemberID, day model.Date) evidence.Event {
	e := evidence.Event{Day: day, Who: who, Found: x.Found()}
	parts := partsIn(x.Looked)
	if len(parts) == 0 {
		parts = model.Parts
	}
	for _, p := range parts {
		e.Parts = append(e.Parts, evidence.Seen{Part: p})
	}
	return e
}

func partsIn(s model.PartSet) []model.Part {
	var parts []model.Part
	for _, p := range model.Parts {
		if s.Has(p) {
			parts = append(parts, p)
		}
	}
	return parts
}

func (a *App) gatherTreatment(b *model.Book, x *model.Application, day model.Date, in *history) {
	act := population.Act{Day: day.Sub(in.start), Means: model.MeansContactSpray, Parts: slices.Clone(x.Parts)}
	if p := b.Products[x.Product]; p != nil {
		act.Means, act.Active = p.Means, p.Active
	}
	if in.treated == 0 {
		in.treated = day
	}
	in.done = append(in.done, act)
	in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.t.Story.Treated(productName(b, x.Product)), Kind: screens.TaskSpray, Done: true})
}

// gatherShelf takes down what a plan must know besides: plants, labels, what was
// applied in a season, and what the household chose.
func (a *App) gatherShelf(b *model.Book, plants []*model.Plant, in *history) {
	for _, p := range plants {
		in.plants = append(in.plants, copied(p))
	}
	for _, p := range b.Products { // those taken away too: they say so as a plan's refusal
		x := copied(p)
		if p.StockMilli > 0 { // 0 would say that nobody knows
			x.StockMilli = max(1, agenda.StockLeft(b, p))
		}
		in.shelf = append(in.shelf, x)
	}
	slices.SortFunc(in.shelf, func(x, y *model.Product) int { return model.CompareIDs(x.ID, y.ID) })
	for _, f := range b.Facts() {
		x, ok := f.Body.(*model.Application)
		if !ok || !b.Stands(f.ID) || b.Products[x.Product] == nil {
			continue
		}
		day := f.At.Date(a.zone)
		if day > in.today || in.today.Sub(day) > agenda.SeasonDays {
			continue
		}
		in.past = append(in.past, plan.Past{Product: copied(b.Products[x.Product]), Plants: slices.Clone(x.Plants), Day: day, Parts: slices.Clone(x.Parts)})
	}
	h := &b.Household
	in.wishes = plan.Wishes{NoChemicals: h.NoChemicals, Children: h.Children, Pets: h.Pets}
}

func copied[T any](x *T) *T {
	y := *x
	return &y
}

// gatherPlan takes down the plan that rules and what is left of it, on the days on
// which that falls by now.
func (a *App) gatherPlan(b *model.Book, o *model.Outbreak, in *history) {
	plans := b.Plans(o.ID)
	if len(plans) == 0 {
		return
	}
	ruling := plans[len(plans)-1]
	in.accepted, in.since = copied(ruling.Body.(*model.PlanAccepted)), ruling.At.Date(a.zone)
	in.treated = a.firstOfPlan(b, in)
	for _, t := range a.agenda(b).Open() {
		if t.Step == nil || t.Plan.Plan != in.accepted.Plan || !t.Step.Product.IsZero() && b.Products[t.Step.Product] == nil {
			continue
		}
		day := max(t.When(), in.today)
		step := plan.Step{Day: day, Kind: plan.Kind(t.Step.Kind), Product: t.Step.Product}
		in.left = append(in.left, step)
		if t.Overdue > 0 {
			in.late++
		}
		if act, ok := actOf(b, step); ok && day.Sub(in.today) < aheadDays {
			act.Day = day.Sub(in.start)
			in.planned = append(in.planned, act)
			in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.taskAction(b, t), Kind: taskKinds[t.Key.Rule]})
		}
	}
	slices.SortStableFunc(in.left, func(x, y plan.Step) int { return x.Day.Sub(y.Day) })
}

// firstOfPlan is the day of the first treatment that the ruling plan asked for on the
// plant: whether that plan works is what people want to know. Until it is done the first
// treatment of all counts.
func (a *App) firstOfPlan(b *model.Book, in *history) model.Date {
	day := model.Date(0)
	for _, f := range b.PlantFacts(in.plant) {
		x, ok := f.Body.(*model.Application)
		if on := f.At.Date(a.zone); ok && b.Stands(f.ID) && x.Completes.Subject == in.accepted.Plan.UUID() && (day == 0 || on < day) {
			day = on
		}
	}
	return cmp.Or(day, in.treated)
}

// actOf is what a step does to the pest; false for looks and leaves that are tried.
func actOf(b *model.Book, s plan.Step) (population.Act, bool) {
	switch s.Kind {
	case plan.Rinse, plan.Wipe:
		return population.Act{Means: model.MeansWater}, true
	case plan.Spray, plan.IntoMix:
		if p := b.Products[s.Product]; p != nil {
			return population.Act{Means: p.Means, Active: p.Active}, true
		}
	}
	return population.Act{}, false
}
