package app

import (
	"context"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
)

func (a *App) plantName(plant model.PlantID) string {
	name := ""
	a.house.Read(func(b *model.Book) {
		if p := b.Plants[plant]; p != nil {
			name = p.Name
		}
	})
	return name
}

// handle notes something done to a plant and shows the same screen anew.
func (a *App) handle(ctx context.Context, plant model.PlantID, kind model.HandlingKind, say string) Answer {
	done := &model.Handling{Kind: kind, Plants: []model.PlantID{plant}}
	a.house.Read(func(b *model.Book) { done.Completes = a.agenda(b).Match(done) })
	ids, failed := a.write(ctx, replica.Seen(done))
	if failed != nil {
		return *failed
	}
	undo := a.undoFacts(ids)
	answer := a.Go(ctx, a.route)
	answer.Say, answer.Undo = say, undo
	return answer
}

func (a *App) isolate(ctx context.Context, e Event) Answer {
	plant := id[model.Plant](e.Data, "plant")
	return a.handle(ctx, plant, model.Isolated, a.t.Say.Isolated(a.plantName(plant)))
}

func (a *App) release(ctx context.Context, e Event) Answer {
	plant := id[model.Plant](e.Data, "plant")
	return a.handle(ctx, plant, model.Released, a.t.Say.Released(a.plantName(plant)))
}

func (a *App) wentOut(ctx context.Context, e Event) Answer {
	plant := id[model.Plant](e.Data, "plant")
	return a.handle(ctx, plant, model.WentOut, a.t.Say.WentOut(a.plantName(plant)))
}

func (a *App) backIn(ctx context.Context, e Event) Answer {
	plant := id[model.Plant](e.Data, "plant")
	return a.handle(ctx, plant, model.BackIn, a.t.Say.BackIn(a.plantName(plant)))
}

// tend notes what was done to a plant by hand.
func (a *App) tend(ctx context.Context, e Event) Answer {
	plant, kind := id[model.Plant](e.Data, "plant"), model.HandlingKind(e.Data.Int("kind"))
	if !slices.Contains(screens.Tended, kind) {
		return Answer{}
	}
	return a.handle(ctx, plant, kind, a.t.Common.Dotted(a.plantName(plant), a.t.Words.Handling[kind]))
}

// cutCameIn notes flowers or produce, which bring pests to a place as plants do.
func (a *App) cutCameIn(ctx context.Context, e Event) Answer {
	ids, failed := a.write(ctx, replica.Seen(&model.Handling{Kind: model.CutCameIn, Place: id[model.Place](e.Data, "place")}))
	if failed != nil {
		return *failed
	}
	return Answer{Say: a.t.Say.CutCameIn, Undo: a.undoFacts(ids)}
}

// noteHeat notes how warm it was at a place.
func (a *App) noteHeat(ctx context.Context, e Event) Answer {
	coldest, cold := e.Data.Tenths("coldest")
	warmest, warm := e.Data.Tenths("warmest")
	if !cold || !warm || coldest > warmest || e.Data.Get("coldest") == "" || e.Data.Get("warmest") == "" {
		return Answer{Say: a.t.Say.NeedNumber, Keep: true}
	}
	return a.noteOnTask(ctx, &model.Temperature{Place: id[model.Place](e.Data, "place"), Coldest: coldest, Warmest: warmest}, a.t.Tasks.HeatSaid)
}

func (a *App) move(ctx context.Context, e Event) Answer {
	plant, place := id[model.Plant](e.Data, "plant"), id[model.Place](e.Data, "place")
	var from model.PlaceID
	name := ""
	a.house.Read(func(b *model.Book) {
		if p := b.Plants[plant]; p != nil {
			from = p.Place
		}
		if p := b.Places[place]; p != nil {
			name = p.Name
		}
	})
	if name == "" || from == place {
		return Answer{}
	}
	ids, failed := a.write(ctx,
		replica.Set(model.KindPlant, plant, replica.To(model.PlantPlace, model.IDValue(place))),
		replica.Seen(&model.Handling{Kind: model.Moved, Plants: []model.PlantID{plant}, Place: place}))
	if failed != nil {
		return *failed
	}
	undo := a.undoFacts(ids, replica.Set(model.KindPlant, plant, replica.To(model.PlantPlace, model.IDValue(from))))
	answer := a.Go(ctx, a.route)
	answer.Say, answer.Undo = a.t.Say.Moved(a.plantName(plant), name), undo
	return answer
}

func (a *App) gone(ctx context.Context, e Event) Answer {
	plant := id[model.Plant](e.Data, "plant")
	ids, failed := a.write(ctx,
		replica.Set(model.KindPlant, plant, replica.To(model.PlantRemoved, model.Bool(true))),
		replica.Seen(&model.Handling{Kind: model.ThrownOut, Plants: []model.PlantID{plant}}))
	if failed != nil {
		return *failed
	}
	undo := a.undoFacts(ids, replica.Set(model.KindPlant, plant, replica.To(model.PlantRemoved, model.Bool(false))))
	return Answer{Go: screens.RoutePlants, Say: a.t.Say.Gone(a.plantName(plant)), Undo: undo}
}

// withdraw takes back a fact that should not have been written.
func (a *App) withdraw(ctx context.Context, e Event) Answer {
	fact, ok := parseFact(e.Data.Get("fact"))
	if !ok {
		return Answer{}
	}
	_, failed := a.write(ctx, replica.Seen(&model.Withdrawn{Fact: fact, Note: e.Data.Get("note")}))
	if failed != nil {
		return *failed
	}
	answer := a.Go(ctx, a.route)
	answer.Say = a.t.Say.Withdrawn
	return answer
}
