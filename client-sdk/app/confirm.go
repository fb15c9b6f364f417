package app

import (
	"context"
	"slices"
	"strings"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/dose"
)

// showConfirm shows the cautions of a spray, or of several that are mixed at once,
// before it can be noted.
func (a *App) showConfirm(_ context.Context, rest string) Answer { return a.confirmScreen(rest, "") }

func (a *App) confirmScreen(batch, problem string) Answer {
	var v *screens.ConfirmView
	a.house.Read(func(b *model.Book) {
		if tasks := a.tasksOf(b, strings.Split(batch, ",")); len(tasks) > 0 {
			v = a.confirmView(b, tasks)
			v.Problem = problem
		}
	})
	if v == nil {
		return Answer{}
	}
	return a.screen(screens.SpotToday, screens.Confirm(a.t, *v))
}

func (a *App) confirmView(b *model.Book, tasks []*agenda.Task) *screens.ConfirmView {
	product := tasks[0].Product
	var plants []model.PlantID
	var places []model.PlaceID
	v := &screens.ConfirmView{Product: productName(b, product)}
	for _, t := range tasks {
		v.Tasks = append(v.Tasks, taskText(t.Key))
		for _, p := range t.Plants {
			if !slices.Contains(plants, p) {
				plants = append(plants, p)
			}
		}
		for _, p := range t.Places {
			if !slices.Contains(places, p) {
				places = append(places, p)
			}
		}
	}
	v.Action, v.Plants, v.Place = a.treatWords(tasks[0].Key.Rule, len(plants)), a.plantNames(b, plants), a.placeNames(b, places)
	if p := b.Products[product]; p != nil {
		mix := dose.For(p, len(plants))
		v.Mix, v.MixHow = a.mixWords(mix)
		v.AmountMl = int(mix.VolumeMl)
		v.Cautions = a.productCautions(p)
		if p.Cautions != "" { // on this screen the label's words stand before all others
			v.OwnLabel, v.Cautions = []string{p.Cautions}, v.Cautions[:len(v.Cautions)-1]
		}
	}
	v.Cautions = append(v.Cautions, a.potCautions(b, tasks)...)
	a.warn(b, v, agenda.CheckApplication(b, a.me(b), product, plants, a.now(), a.zone))
	a.warn(b, v, agenda.CheckTurns(b, a.me(b), tasks, a.zone))
	return v
}

// treatWords says how many plants are treated, and how.
func (a *App) treatWords(rule model.Rule, plants int) string {
	if rule == model.RuleSoil {
		return a.t.Tasks.Soil(plants)
	}
	return a.t.Agenda.Spray(plants)
}

// ofPots are the cautions that depend on the pots and are not in
// what is said of a product anyway.
var ofPots = map[agenda.CautionKind]bool{agenda.OnDryMix: true, agenda.ThenWaterIn: true}

// potCautions are what to mind with these plants, each once.
func (a *App) potCautions(b *model.Book, tasks []*agenda.Task) (out []string) {
	for _, t := range tasks {
		for _, c := range t.Cautions {
			if !ofPots[c.Kind] {
				continue
			}
			for _, words := range a.caution(b, b.Products[t.Product], c) {
				if !slices.Contains(out, words) {
					out = append(out, words)
				}
			}
		}
	}
	return out
}

// breaksLabel are the warnings of what the label or the re-entry time forbids. The others
// leave it to the person.
var breaksLabel = map[agenda.WarningKind]bool{agenda.WithinInterval: true, agenda.TouchedTooEarly: true, agenda.MostPerSeason: true, agenda.NotForFood: true}

// warn puts what speaks against the application where a person cannot miss it.
func (a *App) warn(b *model.Book, v *screens.ConfirmView, warnings []agenda.Warning) {
	for _, w := range warnings {
		if w.Kind == agenda.TryOneLeaf {
			v.Sensitive = names(a.plantNames(b, w.Plants))
			continue
		}
		switch words := a.warningWords(b, w); {
		case words == "":
		case breaksLabel[w.Kind]:
			v.Blocked = append(v.Blocked, words)
		default:
			v.Warnings = append(v.Warnings, words)
		}
	}
}

func (a *App) warningWords(b *model.Book, w agenda.Warning) string {
	f := a.t.Format
	plants := a.list(a.plantNames(b, w.Plants))
	switch w.Kind {
	case agenda.WithinInterval, agenda.WithinHabit:
		by := ""
		if w.Fact != nil {
			by = f.Day(w.Fact.At.Date(a.zone)) + " (" + a.who(b, w.Fact.By) + ")"
		}
		if w.Kind == agenda.WithinHabit {
			return a.t.Common.Dotted(plants, by) + ". " + a.t.Agenda.Practice
		}
		return a.t.Common.Dotted(plants, a.t.Agenda.WhyLabel(f.Days(w.Days), by)) + " " + a.t.Story.FlagNext(f.Day(w.Date))
	case agenda.TouchedTooEarly:
		return a.t.Common.Dotted(plants, a.t.Agenda.Reentry(a.moment(w.Until)))
	case agenda.MostPerSeason:
		return a.t.Common.Dotted(plants, a.t.Common.Dotted(a.t.Product.SeasonLabel, f.Times(w.Count)))
	case agenda.NotForFood:
		return a.t.Common.Dotted(plants, a.t.Cautions.NotFood)
	case agenda.NotAbove:
		return a.t.Cautions.Heat(w.Celsius)
	}
	return a.moreWarning(b, w)
}

// moment is a day and time, for something that ends then.
func (a *App) moment(i model.Instant) string { return a.t.Common.Dotted(a.dayOf(i), a.clock(i)) }

// cautionWords are what to mind for a task.
func (a *App) cautionWords(b *model.Book, t *agenda.Task) []string {
	var out []string
	p := b.Products[t.Product]
	for _, c := range t.Cautions {
		out = append(out, a.caution(b, p, c)...)
	}
	return out
}

func (a *App) caution(b *model.Book, p *model.Product, c agenda.Caution) []string {
	words, plants := a.t.Cautions, a.list(a.plantNames(b, c.Plants))
	switch c.Kind {
	case agenda.LabelFirst:
		if p != nil && p.Cautions != "" {
			return append(slices.Clone(words.First), p.Cautions)
		}
		return words.First
	case agenda.ReentryRunning:
		return []string{a.t.Agenda.Reentry(a.moment(c.Until))}
	case agenda.EdibleNotOnLabel:
		return []string{plants + ": " + words.NotFood}
	case agenda.SeasonReached:
		return []string{a.t.Common.Dotted(a.t.Product.SeasonLabel, a.t.Format.Times(c.Count))}
	case agenda.SprayedLately:
		return []string{a.t.Common.Dotted(a.t.Story.Treated(productName(b, p.ID)), a.dayOf(c.Fact.At))}
	case agenda.RateNotEntered:
		return []string{a.t.Agenda.NoAmount}
	case agenda.GlovesAndAir:
		return words.People[:1]
	case agenda.ChildrenAndPets:
		return words.People[1:]
	case agenda.HotOrSunny:
		if c.Celsius > 0 {
			return []string{words.Heat(c.Celsius)}
		}
		if p != nil {
			return words.Means[p.Means]
		}
	case agenda.OneLeafFirst:
		return []string{a.t.Confirm.LeafTestTitle(plants)}
	case agenda.BeesIfOutdoors:
		return []string{words.Outdoors}
	case agenda.CleanHandsBetween:
		return []string{a.t.Round.Wash}
	}
	return a.moreCaution(b, c)
}

// blockedWords says why a task cannot be done yet, although its day has come.
func (a *App) blockedWords(_ *model.Book, t *agenda.Task) string {
	if t.Key.Rule == model.RuleRound {
		return "" // the other plants of the place can be looked at; the caution names the treated ones
	}
	for _, c := range t.Cautions {
		if c.Kind == agenda.ReentryRunning && c.Until > a.now() && t.When() <= a.today() {
			return a.t.Agenda.HeldBack(a.moment(c.Until))
		}
	}
	return ""
}
