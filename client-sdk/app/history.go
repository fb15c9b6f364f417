package app

import (
	"cmp"
	"encoding/binary"
	"slices"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/evidence"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

// history is an outbreak as the population model takes it: days count from start.
type history struct {
	outbreak model.OutbreakID
	species  refdata.Species
	plant    string
	place    string
	coldest  int
	warmest  int
	assumed  bool
	start    model.Date
	today    model.Date
	opened   int
	looks    []population.Look
	acts     []population.Act // done and planned
	marks    []screens.ForecastMark
	counted  []screens.ForecastPoint
	rests    []string
	counts   []evidence.Count
	treated  model.Date // the first treatment, 0 if there was none
	seed     uint64
}

// gather collects what bears on an outbreak: the plant with most animals counted
// stands for it.
func (a *App) gather(b *model.Book, o *model.Outbreak) (history, bool) {
	species := refdata.Of(o.Pest)
	plants := affected(b, o)
	if len(species) == 0 || len(plants) == 0 || o.Closed != 0 {
		return history{}, false
	}
	worst := slices.MaxFunc(plants, func(x, y *model.Plant) int { return cmp.Compare(countedOn(b, x.ID), countedOn(b, y.ID)) })
	in := history{outbreak: o.ID, species: species[0], plant: worst.Name, today: a.today(), coldest: usualColdest, warmest: usualWarmest, assumed: true,
		seed: binary.BigEndian.Uint64(o.ID[8:])}
	if at := b.Places[worst.Place]; at != nil {
		in.place = at.Name
		if at.Coldest != 0 || at.Warmest != 0 {
			in.coldest, in.warmest, in.assumed = at.Coldest, at.Warmest, false
		}
	}
	first := o.Opened
	for _, f := range b.PlantFacts(worst.ID) {
		if look, ok := f.Body.(*model.Inspection); ok && look.Found() && b.Stands(f.ID) {
			first = min(first, f.At.Date(a.zone))
		}
	}
	if in.today.Sub(first) > population.MaxDays-before-aheadDays-1 {
		first = in.today.Add(-(population.MaxDays - before - aheadDays - 1))
	}
	in.start = first.Add(-before)
	in.opened = before
	a.gatherFacts(b, worst.ID, &in)
	a.gatherPlanned(b, o, &in)
	return in, true
}

// countedOn is how many animals were ever counted on a plant.
func countedOn(b *model.Book, plant model.PlantID) int {
	n := 0
	for _, f := range b.PlantFacts(plant) {
		if look, ok := f.Body.(*model.Inspection); ok && b.Stands(f.ID) {
			for _, x := range look.Findings {
				n += x.Counts.Total()
			}
		}
	}
	return n
}

func (a *App) gatherFacts(b *model.Book, plant model.PlantID, in *history) {
	facts := byTimeSeen(b.PlantFacts(plant))
	slices.Reverse(facts)
	for _, f := range facts {
		day := f.At.Date(a.zone)
		if !b.Stands(f.ID) || day < in.start || day > in.today {
			continue
		}
		n := day.Sub(in.start)
		switch x := f.Body.(type) {
		case *model.Inspection:
			look := population.LookOf(x, n)
			in.looks = append(in.looks, look)
			if !look.Uncounted && x.Found() {
				total := look.Counts[0] + look.Counts[1] + look.Counts[2] + look.Counts[3]
				in.counted = append(in.counted, screens.ForecastPoint{Date: day, Count: float64(total) / look.Effort})
			}
			if !look.Uncounted {
				total := look.Counts[0] + look.Counts[1] + look.Counts[2] + look.Counts[3]
				in.counts = append(in.counts, evidence.Count{Day: day, Animals: total, Effort: 1})
			}
			in.rests = append(in.rests, a.t.Common.Dotted(a.t.Format.Day(day), a.who(b, f.By)))
		case *model.Application:
			means, active := model.MeansContactSpray, ""
			if p := b.Products[x.Product]; p != nil {
				means, active = p.Means, p.Active
			}
			if in.treated == 0 {
				in.treated = day
			}
			in.acts = append(in.acts, population.Act{Day: n, Means: means, Active: active, Parts: x.Parts})
			in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.t.Story.Treated(productName(b, x.Product)), Kind: screens.TaskSpray, Done: true})
		case *model.Handling:
			if x.Kind == model.Rinsed || x.Kind == model.Wiped {
				in.acts = append(in.acts, population.Act{Day: n, Means: model.MeansWater})
				in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.t.Words.Handling[x.Kind], Kind: screens.TaskByHand, Done: true})
			}
		}
	}
}

// gatherPlanned adds the sprays that are still to come.
func (a *App) gatherPlanned(b *model.Book, o *model.Outbreak, in *history) {
	for _, t := range a.agenda(b).Open() {
		if t.Outbreak != o.ID || t.Key.Rule != model.RuleSpray {
			continue
		}
		day := max(t.When(), in.today)
		p := b.Products[t.Product]
		if p == nil || day.Sub(in.today) >= aheadDays {
			continue
		}
		in.acts = append(in.acts, population.Act{Day: day.Sub(in.start), Means: p.Means, Active: p.Active, Parts: []model.Part{model.Underside, model.TopSide, model.Stem}})
		in.marks = append(in.marks, screens.ForecastMark{Date: day, What: a.taskAction(b, t), Kind: screens.TaskSpray})
	}
}
