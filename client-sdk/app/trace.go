package app

import (
	"slices"
	"strconv"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/trace"
)

// How much of a trace is shown, and from which fit on.
const (
	mostFits  = 5
	mostToSee = 6
	leastFit  = 0.05
	warnedOf  = 0.1 // what may have brought the pest is told to others from here on
)

// traceView says when the pest probably came in, what fits that, and who else to look
// at. It is nil while nobody knows when.
func (a *App) traceView(b *model.Book, in *history, w *trace.Window) *screens.TraceView {
	if w == nil {
		return nil
	}
	first, found := a.firstFinding(b, in.plant)
	if first == nil {
		return nil
	}
	t := a.t.Trace
	v := &screens.TraceView{From: w.Low, To: w.High, Found: first.At.Date(a.zone),
		Why:   t.WindowWhy(in.name, found, a.t.Format.Day(first.At.Date(a.zone)), a.t.Ahead.Celsius(in.coldest), a.t.Ahead.Celsius(in.warmest)),
		Basis: a.t.Ahead.Repeat(trace.Members*len(w.Chance), strconv.FormatUint(in.seed, 10))}
	for _, s := range trace.Suspects(b, in.plant, in.pest, w, a.zone) {
		if s.How == trace.UnknownArrival || s.Fit < leastFit {
			continue
		}
		if len(v.Fits) < mostFits {
			v.Fits = append(v.Fits, a.traceFit(b, in, s))
		}
		if who := a.broughtBy(b, in, s); who != "" && s.Fit >= warnedOf {
			v.Warn = append(v.Warn, screens.TraceWarning{Who: who, Why: t.WarnGiver})
		}
	}
	o := b.Outbreaks[in.outbreak]
	for _, c := range trace.Contacts(b, in.plant, w, in.today, a.zone) {
		if len(v.LookAt) < mostToSee && c.Fit >= leastFit && !o.Affects[c.Plant] { // those are known
			v.LookAt = append(v.LookAt, screens.TracePlant{Plant: a.named(b, c.Plant), Place: a.placeOfPlant(b, c.Plant), Why: a.contactWords(c)})
		}
	}
	for i, c := range trace.Gone(b, in.plant, w, in.today, a.zone) {
		if i < mostToSee && c.Fit >= leastFit && !thrownOut(b, c.Plant) {
			v.Warn = append(v.Warn, screens.TraceWarning{Who: t.Taker(a.named(b, c.Plant).Name), Why: t.WarnTaker})
		}
	}
	return v
}

// thrownOut reports whether a plant went into the rubbish: then nobody has it now.
func thrownOut(b *model.Book, plant model.PlantID) bool {
	return slices.ContainsFunc(b.PlantFacts(plant), func(f *model.Fact) bool {
		x, ok := f.Body.(*model.Handling)
		return ok && x.Kind == model.ThrownOut && b.Stands(f.ID)
	})
}

// firstFinding is the first look that found something on a plant, and what it found.
func (a *App) firstFinding(b *model.Book, plant model.PlantID) (*model.Fact, string) {
	facts := byTimeSeen(b.PlantFacts(plant))
	for i := len(facts) - 1; i >= 0; i-- {
		if look, ok := facts[i].Body.(*model.Inspection); ok && look.Found() && b.Stands(facts[i].ID) {
			var sum model.Counts
			var signs model.Signs
			for _, f := range look.Findings {
				signs |= f.Signs
				for s, n := range f.Counts {
					sum[s] += n
				}
			}
			if sum.Total() > 0 {
				return facts[i], a.t.Format.Counts(sum)
			}
			return facts[i], a.t.Format.Signs(signs)
		}
	}
	return nil, ""
}

func (a *App) named(b *model.Book, id model.PlantID) screens.Named {
	if p := b.Plants[id]; p != nil {
		return screens.Named{ID: id.String(), Name: p.Name}
	}
	return screens.Named{}
}

func (a *App) placeOfPlant(b *model.Book, id model.PlantID) string {
	if p := b.Plants[id]; p != nil {
		return a.placeNames(b, []model.PlaceID{p.Place})
	}
	return ""
}

// traceFit tells what may have brought the pest.
func (a *App) traceFit(b *model.Book, in *history, s trace.Suspect) screens.TraceFit {
	t, other := a.t.Trace, a.named(b, s.Other)
	days := a.t.Format.Days(s.Date.Sub(s.From) + 1)
	f := screens.TraceFit{Date: s.Date, Plant: other}
	switch s.How {
	case trace.CameWithIt:
		f.Title, f.Why = t.CameIn(in.name), t.WhyArrival
	case trace.FromOutdoors:
		f.Title, f.Why = t.Outdoors(in.name), t.WhyOutdoors
	case trace.SickNeighbour:
		f.Date, f.Title, f.Why = max(s.From, in.start), t.Beside(in.name, other.Name), t.WhySick
	case trace.NewNeighbour:
		f.Date, f.Title, f.Why = s.From, t.CameIn(other.Name), t.WhyNew(in.name)
	case trace.MovedBeside:
		f.Title, f.Why = t.Moved(in.name), t.WhyMoved
	case trace.HandledWith:
		f.Title, f.Why = t.Handled(in.name, other.Name), t.WhyHandled
	case trace.FlowersBeside:
		f.Date, f.Title, f.Why = s.From, t.Flowers, t.WhyFlowers(days)
	case trace.CutFrom:
		f.Date, f.Title, f.Why = s.From, t.Cutting(in.name, other.Name), t.WhyCutting
	}
	return f
}

// broughtBy names who outside should know of what came in, "" if nothing did.
func (a *App) broughtBy(b *model.Book, in *history, s trace.Suspect) string {
	switch s.How {
	case trace.CameWithIt:
		return a.t.Trace.Giver(in.name)
	case trace.NewNeighbour:
		return a.t.Trace.Giver(a.named(b, s.Other).Name)
	case trace.FlowersBeside:
		return a.t.Trace.FlowersGiver
	}
	return ""
}

// contactWords says how a plant may have caught the pest.
func (a *App) contactWords(c trace.Contact) string {
	switch c.How {
	case trace.HandledWith:
		return a.t.Trace.HandledOn(a.t.Format.Day(c.Date))
	case trace.CutFrom:
		return a.t.Trace.IsCutting
	}
	return a.t.Trace.WhyNeighbour(a.t.Format.Days(c.Days))
}
