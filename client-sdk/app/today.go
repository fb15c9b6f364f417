package app

import (
	"context"
	"slices"
	"strings"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/dose"
)

func (a *App) showToday(context.Context, string) Answer {
	return a.screen(screens.SpotToday, screens.Today(a.t, a.todayView()))
}

func (a *App) todayView() screens.TodayView {
	v := screens.TodayView{Date: a.t.Format.DayLong(a.today()), Sample: a.house.Local()}
	a.house.Read(func(b *model.Book) {
		for _, p := range b.Plants {
			if !p.Removed {
				v.Plants++
			}
		}
		all := a.agenda(b)
		for _, x := range all.Breaches {
			if a.concerns(b, x.Members) {
				v.Breaches = append(v.Breaches, a.breachView(b, x))
			}
		}
		for _, f := range all.Flags {
			if a.concerns(b, f.Members) {
				v.Flags = append(v.Flags, a.flagView(b, f))
			}
		}
		v.Shown, v.Guest = a.shown(b), a.isGuest(b)
		mine := a.toShow(b, all)
		due, late := splitLate(mine(all.Today.Tasks))
		if v.Shown == screens.ShowMine {
			v.Hidden = len(all.Today.Tasks) - len(due) - len(late)
		}
		v.Overdue, v.Due = a.batches(b, late), a.batches(b, due)
		for _, t := range all.DoneToday {
			v.Done = append(v.Done, a.doneView(b, t))
		}
		v.Shares = a.shares(b, all)
		v.Tomorrow = a.batches(b, mine(all.Tomorrow.Tasks))
		for _, t := range mine(all.Week.Tasks) {
			day := a.t.Format.Day(t.When())
			if n := len(v.Week); n == 0 || v.Week[n-1].Date != day {
				v.Week = append(v.Week, screens.DayView{Date: day})
			}
			last := &v.Week[len(v.Week)-1]
			last.Batches = append(last.Batches, screens.Batch{Tasks: []screens.TaskView{a.taskView(b, t)}})
		}
	})
	return v
}

func splitLate(tasks []*agenda.Task) (due, late []*agenda.Task) {
	for _, t := range tasks {
		if t.Overdue > 0 {
			late = append(late, t)
		} else {
			due = append(due, t)
		}
	}
	return due, late
}

// batches puts sprays that share a product and their one place together, so that
// one amount is mixed for them; every other task stands alone.
func (a *App) batches(b *model.Book, tasks []*agenda.Task) []screens.Batch {
	var out []screens.Batch
	seen := map[model.TaskID]bool{}
	for _, t := range tasks {
		if seen[t.ID] {
			continue
		}
		same := []*agenda.Task{t}
		for _, u := range tasks {
			if u != t && together(t, u) {
				same = append(same, u)
			}
		}
		batch := screens.Batch{}
		var ids []string
		plants := 0
		for _, u := range same {
			seen[u.ID] = true
			ids = append(ids, taskText(u.Key))
			plants += len(u.Plants)
			batch.Tasks = append(batch.Tasks, a.taskView(b, u))
		}
		batch.ID = strings.Join(ids, ",")
		if len(same) > 1 {
			batch.Product, batch.Place = productName(b, t.Product), a.placeNames(b, t.Places)
			if p := b.Products[t.Product]; p != nil {
				batch.Mix, batch.MixHow = a.mixWords(dose.For(p, plants))
			}
		}
		out = append(out, batch)
	}
	return out
}

func together(t, u *agenda.Task) bool {
	return (t.Key.Rule == model.RuleSpray || t.Key.Rule == model.RuleSoil) && t.Key.Rule == u.Key.Rule && t.Product == u.Product && slices.Equal(t.Places, u.Places) && len(t.Places) == 1
}

func (a *App) placeNames(b *model.Book, ids []model.PlaceID) string {
	var list []string
	for _, id := range ids {
		if p := b.Places[id]; p != nil {
			list = append(list, p.Name)
		}
	}
	return a.t.Format.List(list)
}

var taskKinds = map[model.Rule]screens.TaskKind{
	model.RuleRound: screens.TaskRound, model.RuleSpray: screens.TaskSpray, model.RuleCheck: screens.TaskCheck, model.RuleIsolate: screens.TaskIsolate,
	model.RuleSoil: screens.TaskSoil, model.RuleWash: screens.TaskWash, model.RuleTryLeaf: screens.TaskTryLeaf,
	model.RuleCardRead: screens.TaskSticky, model.RuleCardNew: screens.TaskSticky, model.RuleQuarantine: screens.TaskCheck, model.RuleMaintain: screens.TaskCheck,
	model.RuleBuy: screens.TaskBuy, model.RuleMeasure: screens.TaskMeasure,
}

func (a *App) taskAction(b *model.Book, t *agenda.Task) string {
	n := len(t.Plants)
	switch t.Key.Rule {
	case model.RuleRound:
		return a.t.Agenda.Round(a.placeNames(b, t.Places))
	case model.RuleSpray:
		return a.t.Agenda.Spray(n)
	case model.RuleCheck:
		return a.t.Agenda.Check(n)
	case model.RuleIsolate:
		return a.t.Agenda.Apart(n)
	}
	return a.taskWords(b, t)
}

func (a *App) dueState(t *agenda.Task) (texts.DueState, string) {
	today, when := a.today(), t.When()
	switch {
	case t.State == agenda.Done:
		return texts.Done, a.t.Words.DueState[texts.Done]
	case t.Overdue > 0:
		return texts.Overdue, a.t.Agenda.Since(a.t.Format.Day(t.Due))
	case when <= today:
		return texts.Due, a.t.Agenda.Today
	case when.Sub(today) == 1:
		return texts.Soon, a.t.Today.Tomorrow
	}
	return texts.Later, a.t.Format.Day(when)
}

func (a *App) taskView(b *model.Book, t *agenda.Task) screens.TaskView {
	v := screens.TaskView{ID: taskText(t.Key), Kind: taskKinds[t.Key.Rule], Action: a.taskAction(b, t), Later: t.When() > a.today(),
		Why: append(a.whyWords(b, t), a.windowWords(t)...), Cautions: a.cautionWords(b, t), Blocked: a.blockedWords(b, t)}
	v.State, v.DueWords = a.dueState(t)
	if t.Key.Rule != model.RuleRound {
		v.Plants, v.Place = a.plantNames(b, t.Plants), a.placeNames(b, t.Places)
	}
	switch t.Key.Rule {
	case model.RuleRound:
		place := model.PlaceID(t.Key.Subject).String()
		v.Open, v.Water = screens.RoundRoute(place), place
	case model.RuleCardRead:
		v.Open = screens.CardRoute(model.PlaceID(t.Key.Subject).String())
	case model.RuleCheck, model.RuleQuarantine, model.RuleMaintain:
		v.Open = screens.RoundRoute(v.ID)
	case model.RuleSpray, model.RuleSoil, model.RuleTryLeaf:
		v.Product = productName(b, t.Product)
		if _, how := a.mixWords(t.Mix); how != "" {
			v.Amount = how
		}
	}
	for _, c := range t.Claims {
		if c.By == a.me(b) {
			v.Mine, v.Claim = true, a.t.Agenda.ClaimedMe(a.clock(c.Until))
			break
		}
	}
	if len(t.Claims) == 0 {
		v.Claim = a.turnWords(b, t)
	}
	if len(t.Claims) > 0 && !v.Mine {
		v.Claim = a.t.Agenda.ClaimedBy(a.who(b, t.Claims[0].By), a.clock(t.Claims[0].Until))
	}
	for n := 1; n <= 3; n++ {
		day := a.today().Add(n)
		v.PutOff = append(v.PutOff, screens.Named{ID: day.String(), Name: a.day(day)})
	}
	return v
}

func (a *App) doneView(b *model.Book, t *agenda.Task) screens.DoneView {
	first := t.Done.First
	return screens.DoneView{Action: a.taskAction(b, t), Plants: a.list(a.plantNames(b, t.Plants)), By: a.t.Agenda.DoneBy(a.who(b, first.By), a.clock(first.At)),
		Mine: first.By == a.me(b)}
}

func (a *App) flagView(b *model.Book, f agenda.Flag) screens.FlagView {
	v := screens.FlagView{Task: taskText(f.Key), Action: a.treatWords(f.Key.Rule, len(f.Plants)), Plants: a.list(a.plantNames(b, f.Plants)),
		Meaning: a.t.Story.FlagMeaning, NextDate: a.t.Story.FlagNext(a.t.Format.Day(f.Next))}
	for _, x := range f.Applications {
		v.Times = append(v.Times, screens.FlagTime{By: a.who(b, x.By), When: a.t.Common.Dotted(a.dayOf(x.At), a.clock(x.At))})
		if a.mayTakeBack(b, x.ID) {
			v.Fact = factText(x.ID)
		}
	}
	return v
}

// doubled are the applications behind flags that nobody has settled.
func (a *App) doubled(b *model.Book) map[model.FactID]bool {
	out := map[model.FactID]bool{}
	for _, f := range a.agenda(b).Flags {
		for _, x := range f.Applications {
			out[x.ID] = true
		}
	}
	return out
}

// plantTasks are the open tasks of a plan that touch a plant.
func (a *App) plantTasks(b *model.Book, plant model.PlantID) []screens.TaskView {
	var out []screens.TaskView
	for _, t := range a.agenda(b).Open() {
		if t.Key.Rule != model.RuleRound && !t.Projected && slices.Contains(t.Plants, plant) {
			out = append(out, a.taskView(b, t))
		}
	}
	return out
}

// nextStep says what comes next for an outbreak, and when.
func (a *App) nextStep(b *model.Book, o model.OutbreakID) string {
	for _, t := range a.agenda(b).Open() {
		if t.Outbreak == o {
			return strings.ToLower(a.taskAction(b, t)[:1]) + a.taskAction(b, t)[1:] + " " + a.day(t.When())
		}
	}
	return ""
}

// whyWords tells the chain of reasons behind a task's date, with the figures.
func (a *App) whyWords(b *model.Book, t *agenda.Task) []string {
	var out []string
	last, practice := "", false
	for _, r := range t.Why {
		switch r.Because {
		case agenda.LastStep, agenda.LastRound, agenda.StepBefore, agenda.Treated:
			last = a.t.Format.Day(r.Date)
		}
		if words := a.reasonWords(b, r, last); words != "" {
			out = append(out, words)
		}
		practice = practice || r.Because == agenda.PlanInterval && inBand(r)
	}
	if practice {
		out = append([]string{a.t.Agenda.Practice}, out...)
	}
	return out
}

// inBand reports whether an interval rests on common practice.
func inBand(r agenda.Reason) bool {
	d := agenda.DefaultCourse()
	return r.Basis == model.CommonPractice && r.Days >= d.IntervalMin && r.Days <= d.IntervalMax
}

func (a *App) reasonWords(b *model.Book, r agenda.Reason, last string) string {
	ag, f := a.t.Agenda, a.t.Format
	switch r.Because {
	case agenda.NeverLooked:
		return a.t.Story.NeverLooked + "."
	case agenda.RoundEvery:
		rhythm := a.t.Words.Rhythm[r.Days]
		if rhythm == "" {
			rhythm = f.Days(r.Days)
		}
		if last == "" {
			return ag.WhyNever(rhythm)
		}
		return ag.WhyRound(rhythm, last)
	case agenda.FirstDay:
		return ag.WhyFirst(f.Day(r.Date))
	case agenda.PlanInterval:
		if r.Basis == model.Computed { // its steps need not be sprays
			return a.t.Tasks.After(f.Days(r.Days), last)
		}
		return ag.WhySpray(f.Days(r.Days), last)
	case agenda.LabelInterval:
		return ag.WhyLabel(f.Days(r.Days), f.Day(r.Date))
	case agenda.CheckAfter:
		return ag.WhyCheck(f.Days(r.Days), last)
	case agenda.KeepApart:
		return ag.WhyApart
	case agenda.PlanSays:
		return a.whyStep(b, r.Step)
	case agenda.DoneTwice:
		return a.t.Story.FlagNext(f.Day(r.Date))
	case agenda.WasPutOff:
		if r.Fact != nil {
			return ag.WhyPutOff(a.who(b, r.Fact.By), strings.ToLower(a.t.Words.PutOffReason[r.PutOff])) + " " + ag.PutOffTill(f.Day(r.Date))
		}
	default:
		return a.moreReason(b, r)
	}
	return ""
}
