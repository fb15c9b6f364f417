package app

import (
	"slices"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/agenda"
)

// taskWords says what to do for the kinds of tasks that are not named by their plants
// alone.
func (a *App) taskWords(b *model.Book, t *agenda.Task) string {
	w, n := a.t.Tasks, len(t.Plants)
	plants := func() string { return a.list(a.plantNames(b, t.Plants)) }
	switch t.Key.Rule {
	case model.RuleSoil:
		return w.Soil(n)
	case model.RuleWash:
		if agenda.Prunes(t.Key) {
			return w.Prune(n)
		}
		if t.Step != nil && t.Step.Kind == model.StepWipe {
			return w.Wipe(n)
		}
		return w.Rinse(n)
	case model.RuleTryLeaf:
		return w.TryLeaf(n)
	case model.RuleCardRead:
		return w.CardRead(a.placeNames(b, t.Places))
	case model.RuleCardNew:
		return w.CardNew(a.placeNames(b, t.Places))
	case model.RuleQuarantine:
		return w.Quarantine(plants())
	case model.RuleMaintain:
		return w.Maintain(a.outbreakName(b.Outbreaks[t.Outbreak]), n)
	case model.RuleBuy:
		return w.Buy(productName(b, t.Product))
	case model.RuleMeasure:
		return w.Measure(plants())
	}
	return ""
}

// turnWords says whose turn a task is, if it is anybody's.
func (a *App) turnWords(b *model.Book, t *agenda.Task) string {
	switch t.Turn {
	case model.MemberID{}:
		return ""
	case a.me(b):
		return a.t.Tasks.Turn
	}
	return a.t.Tasks.TurnOf(a.who(b, t.Turn))
}

// windowWords says within which days a task is best done.
func (a *App) windowWords(t *agenda.Task) []string {
	day := a.t.Format.Day
	switch {
	case t.Latest == 0 || t.Projected:
		return nil
	case t.Earliest != 0 && t.Earliest < t.Latest:
		return []string{a.t.Tasks.Best(day(t.Earliest), day(t.Latest))}
	}
	return []string{a.t.Tasks.By(day(t.Latest))}
}

// moreReason tells the reasons that come from a plan's search, a place, a card, an
// arrival, the shelf or a measured leaf.
func (a *App) moreReason(b *model.Book, r agenda.Reason) string {
	w, f := a.t.Tasks, a.t.Format
	day, days := f.Day(r.Date), f.Days(r.Days)
	switch r.Because {
	case agenda.WasFound:
		return w.Found(day)
	case agenda.OutbreakOpened:
		return w.Opened(day)
	case agenda.PlanAccepted:
		return w.Accepted(a.who(b, r.Fact.By), day)
	case agenda.PlanSays:
		return a.whyStep(b, r.Step)
	case agenda.SeasonFull:
		return w.Season(f.Times(r.Count), day)
	case agenda.Untouchable:
		return w.Touch(day)
	case agenda.PestNear:
		return w.PestNear(a.t.Words.Pest[r.Pest], days)
	case agenda.WarmAndFast:
		return w.WarmAndFast(a.t.Words.Pest[r.Pest], a.t.Ahead.Celsius(r.Tenths), days)
	case agenda.CutFlowers:
		return w.Cut(day, days)
	case agenda.WithWatering:
		return w.WithWater
	}
	return a.loneReason(b, r)
}

func (a *App) loneReason(b *model.Book, r agenda.Reason) string {
	w, f := a.t.Tasks, a.t.Format
	day, days := f.Day(r.Date), f.Days(r.Days)
	switch r.Because {
	case agenda.CardHangs:
		return w.CardHangs
	case agenda.LastReading:
		return w.CardLast(day, f.Days(agenda.CardEvery))
	case agenda.CardHung:
		return w.CardHung(day, f.Days(agenda.CardLasts))
	case agenda.CameIn:
		return w.CameIn(day)
	case agenda.SetApart:
		return w.SetApart(day)
	case agenda.OutbreakClosed:
		return w.Closed(day)
	case agenda.ApartFor:
		return w.ApartFor(days)
	case agenda.LastLook:
		return w.LastLook(day)
	case agenda.MaintainEvery:
		return w.Rhythm(days)
	case agenda.RunsOut:
		unit := model.RateMlPerLitre
		if p := b.Products[r.Product]; p != nil {
			unit = p.RateUnit
		}
		return w.RunsOut(f.Stock(unit, r.Have), f.Stock(unit, r.Want), day)
	case agenda.WasMeasured:
		return w.Measured(day)
	case agenda.BadlyDamaged:
		return w.Damaged(day)
	case agenda.SameLeaf:
		return w.SameLeaf(day)
	}
	return ""
}

// moreCaution tells the cautions about water and heat.
func (a *App) moreCaution(b *model.Book, c agenda.Caution) []string {
	w, f := a.t.Tasks, a.t.Format
	plants := a.list(a.plantNames(b, c.Plants))
	switch c.Kind {
	case agenda.OnDryMix:
		if c.Fact != nil {
			return []string{w.OnDryMix, w.WetMix(plants, f.Day(c.Fact.At.Date(a.zone)))}
		}
		return []string{w.OnDryMix}
	case agenda.ThenWaterIn:
		return []string{w.WaterIn(f.Days(c.Days), f.Times(c.Count))}
	case agenda.NotBoneDry:
		return []string{w.NotBoneDry}
	case agenda.HoldWater:
		return []string{w.HoldWater(plants, f.Day(c.Date))}
	case agenda.NowTooWarm:
		return []string{w.TooWarm(a.t.Ahead.Celsius(c.Tenths), c.Celsius)}
	}
	return nil
}

// held is why a plant must not be touched or watered through now: its re-entry time runs,
// or what went into its soil must stay there. The round of its place knows both.
func (a *App) held(b *model.Book, plant model.PlantID) (out []string) {
	p := b.Plants[plant]
	if p == nil {
		return nil
	}
	t := a.roundTask(b, p.Place)
	if t == nil {
		return nil
	}
	for _, c := range t.Cautions {
		switch {
		case !slices.Contains(c.Plants, plant):
		case c.Kind == agenda.ReentryRunning && c.Until > a.now():
			out = append(out, a.t.Agenda.HeldBack(a.moment(c.Until)))
		case c.Kind == agenda.HoldWater:
			out = append(out, a.t.Tasks.HoldWater(p.Name, a.t.Format.Day(c.Date)))
		}
	}
	return out
}

// moreWarning tells the warnings about what may have been done elsewhere, about heat,
// and about plants that are wet, dry or tender.
func (a *App) moreWarning(b *model.Book, x agenda.Warning) string {
	w, f := a.t.Tasks, a.t.Format
	plants := a.list(a.plantNames(b, x.Plants))
	switch x.Kind {
	case agenda.MaybeTreated:
		return w.MaybeTreated(plants, a.who(b, x.Fact.By), f.Day(x.Fact.At.Date(a.zone)))
	case agenda.TheirTurn:
		return w.TheirTurn(plants, a.who(b, x.Member), f.Day(x.Date))
	case agenda.TooWarm:
		return w.TooWarm(a.t.Ahead.Celsius(x.Tenths), x.Celsius)
	case agenda.MixWet:
		return w.WetMix(plants, f.Day(x.Fact.At.Date(a.zone)))
	case agenda.Thirsty:
		return w.Thirsty(plants, f.Days(x.Days))
	case agenda.LabelNotEntered:
		return w.NoLabel
	case agenda.PlantNotThere:
		return w.NotThere
	case agenda.Tender:
		return w.Tender(plants)
	case agenda.MostInRow:
		return w.InRow(plants, f.Times(x.Count))
	}
	return ""
}

var breachKinds = map[agenda.BreachKind]texts.Breach{
	agenda.TooClose: texts.TooClose, agenda.TooMany: texts.TooMany, agenda.NotOnFood: texts.NotOnFood,
}

func (a *App) breachView(b *model.Book, x agenda.Breach) screens.BreachView {
	kind := breachKinds[x.Kind]
	v := screens.BreachView{Product: productName(b, x.Product), Plants: a.list(a.plantNames(b, x.Plants)),
		Words: a.t.Tasks.Breach[kind], Label: a.t.Tasks.Want(kind, x.Want)}
	if x.Next != 0 {
		v.Next = a.t.Story.FlagNext(a.t.Format.Day(x.Next))
	}
	for _, f := range x.Applications {
		v.Times = append(v.Times, screens.FlagTime{By: a.who(b, f.By), When: a.t.Common.Dotted(a.dayOf(f.At), a.clock(f.At))})
	}
	return v
}
