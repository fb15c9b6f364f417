package app

import (
	"context"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/standing"
)

// derived is what was derived from the book for one event. Several parts of a
// screen ask for it, and deriving goes through every fact.
type derived struct {
	agenda    *agenda.Agenda
	standings map[model.PlantID]standing.Status
}

// agenda gives the tasks of now.
func (a *App) agenda(b *model.Book) *agenda.Agenda {
	if a.derived.agenda == nil {
		a.derived.agenda = a.tasks.Derive(b, a.now(), a.zone)
	}
	return a.derived.agenda
}

// standings tells how every plant stands now.
func (a *App) standings(b *model.Book) map[model.PlantID]standing.Status {
	if a.derived.standings == nil {
		a.derived.standings = standing.Derive(b, a.now(), a.zone)
	}
	return a.derived.standings
}

// task finds the task of a key, open or done lately, or nil.
func (a *App) task(b *model.Book, key model.TaskKey) *agenda.Task {
	return a.agenda(b).Task(key.ID(b.Household.ID))
}

func (a *App) roundTask(b *model.Book, place model.PlaceID) *agenda.Task {
	return a.agenda(b).Round(place)
}

// taskDone notes a task as done that needs no confirming.
func (a *App) taskDone(ctx context.Context, e Event) Answer {
	key, ok := parseTask(e.Data.Get("task"))
	if !ok {
		return Answer{}
	}
	var body model.Body = &model.TaskCompleted{Task: key}
	a.house.Read(func(b *model.Book) {
		if t := a.task(b, key); t != nil && t.Handling() != 0 && len(t.Plants) > 0 {
			body = &model.Handling{Kind: t.Handling(), Plants: t.Plants, Completes: key}
		}
	})
	ids, failed := a.write(ctx, replica.Seen(body))
	if failed != nil {
		return *failed
	}
	undo := a.undoFacts(ids)
	if key.Rule == model.RuleBuy { // what was bought is for the shelf to know
		return Answer{Go: screens.ProductRoute(model.ProductID(key.Subject).String()), Say: a.t.Tasks.Bought, Undo: undo}
	}
	answer := a.Go(ctx, a.route)
	answer.Say, answer.Undo = a.t.Say.TaskDone, undo
	return answer
}

// apply notes a treatment that was done: one application for each task, so that
// each task is completed by its own.
func (a *App) apply(ctx context.Context, e Event) Answer {
	d := e.Data
	milli, ok := d.Milli("amount")
	if !ok {
		return a.confirmScreen(d.Get("task"), a.t.Say.NeedNumber)
	}
	var parts []model.Part
	for _, text := range d["part"] {
		parts = append(parts, model.Part(Data{"n": {text}}.Int("n")))
	}
	var ops []any
	a.house.Read(func(b *model.Book) { ops = a.applications(b, d, parts, milli/1000) })
	if len(ops) == 0 {
		return Answer{Go: screens.RouteToday}
	}
	ids, failed := a.write(ctx, ops...)
	if failed != nil {
		return *failed
	}
	a.route = screens.RouteToday
	undo := a.undoFacts(ids)
	answer := a.Go(ctx, a.route)
	answer.Go, answer.Say, answer.Undo = screens.RouteToday, a.t.Say.TaskDone, undo
	return answer
}

// applications makes the facts of a confirmed batch. The amount that was used is
// shared among the tasks by their number of plants.
func (a *App) applications(b *model.Book, d Data, parts []model.Part, ml int) []any {
	tasks := a.tasksOf(b, d["task"])
	total := 0
	for _, t := range tasks {
		total += len(t.Plants)
	}
	note := d.Get("note")
	if d.On("leaftest") {
		note = a.t.Common.Dotted(note, a.t.Confirm.LeafTested)
	}
	var ops []any
	for _, t := range tasks {
		ops = append(ops, replica.Seen(&model.Application{Plants: t.Plants, Product: t.Product, Outbreak: t.Outbreak,
			AmountMl: ml * len(t.Plants) / max(total, 1), Parts: parts, Note: note, Completes: t.Key}))
	}
	return ops
}

// tasksOf are the applications that the keys name and that still have plants.
func (a *App) tasksOf(b *model.Book, keys []string) []*agenda.Task {
	all := a.agenda(b)
	var out []*agenda.Task
	for _, text := range keys {
		key, ok := parseTask(text)
		if !ok || key.Rule != model.RuleSpray && key.Rule != model.RuleSoil {
			continue
		}
		if t := all.Task(key.ID(b.Household.ID)); t != nil && len(t.Plants) > 0 {
			out = append(out, t)
		}
	}
	return out
}

func (a *App) claim(ctx context.Context, e Event) Answer {
	key, ok := parseTask(e.Data.Get("task"))
	if !ok {
		return Answer{}
	}
	return a.noteOnTask(ctx, &model.TaskClaimed{Task: key, Until: a.untilTonight()}, a.t.Say.Claimed)
}

// giveBack ends the member's own claim. It ends a moment before it is written, so that
// nobody takes the phone for one that was silent while it meant to do the task.
func (a *App) giveBack(ctx context.Context, e Event) Answer {
	key, ok := parseTask(e.Data.Get("task"))
	if !ok {
		return Answer{}
	}
	return a.noteOnTask(ctx, &model.TaskClaimed{Task: key, Until: a.now() - 1}, a.t.Tasks.GaveBack)
}

func (a *App) putOff(ctx context.Context, e Event) Answer {
	key, ok := parseTask(e.Data.Get("task"))
	until, err := model.ParseDate(e.Data.Get("until"))
	if !ok || err != nil {
		return Answer{}
	}
	reason := model.PutOffReason(e.Data.Int("reason"))
	if reason == 0 {
		reason = model.OtherWhy
	}
	return a.noteOnTask(ctx, &model.TaskPutOff{Task: key, Until: until, Reason: reason}, a.t.Say.PutOff(a.day(until)))
}

// settle ends the flag of a treatment that two people noted: it was one, and one
// note is withdrawn, or both happened, and both count.
func (a *App) settle(ctx context.Context, e Event) Answer {
	if e.Data.Get("how") == "one" {
		return a.withdraw(ctx, e)
	}
	key, ok := parseTask(e.Data.Get("task"))
	if !ok {
		return Answer{}
	}
	return a.noteOnTask(ctx, &model.Settled{Task: key}, a.t.Say.Settled)
}

func (a *App) noteOnTask(ctx context.Context, body model.Body, say string) Answer {
	ids, failed := a.write(ctx, replica.Seen(body))
	if failed != nil {
		return *failed
	}
	undo := a.undoFacts(ids)
	answer := a.Go(ctx, a.route)
	answer.Say, answer.Undo = say, undo
	return answer
}

// water notes a watering of a place, of all that lives there, or of one plant. Rounds
// ride on it, and what goes into the soil depends on it.
func (a *App) water(ctx context.Context, e Event) Answer {
	x := &model.Handling{Kind: model.Watered, Place: id[model.Place](e.Data, "place")}
	if plant := id[model.Plant](e.Data, "plant"); !plant.IsZero() {
		x.Plants = []model.PlantID{plant}
	} else {
		a.house.Read(func(b *model.Book) {
			if t := a.roundTask(b, x.Place); t != nil {
				x.Plants = t.Plants
			}
		})
	}
	if len(x.Plants) == 0 {
		return Answer{}
	}
	return a.noteOnTask(ctx, x, a.wateredWords(x.Plants))
}

// wateredWords says that plants were watered, and which of them must hold their water
// because something in their soil has to stay there.
func (a *App) wateredWords(plants []model.PlantID) string {
	words := a.t.Tasks.WaterSaid
	a.house.Read(func(b *model.Book) {
		for _, t := range a.agenda(b).Open() {
			for _, c := range t.Cautions {
				on := slices.DeleteFunc(slices.Clone(c.Plants), func(p model.PlantID) bool { return !slices.Contains(plants, p) })
				if t.Key.Rule == model.RuleRound && c.Kind == agenda.HoldWater && len(on) > 0 {
					words += ". " + a.t.Tasks.HoldWater(a.list(a.plantNames(b, on)), a.t.Format.Day(c.Date))
				}
			}
		}
	})
	return words
}
