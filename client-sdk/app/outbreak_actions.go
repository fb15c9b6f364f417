package app

import (
	"cmp"
	"context"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/sync/oplog"
)

func openOutbreaks(b *model.Book) []*model.Outbreak {
	var out []*model.Outbreak
	for _, o := range b.Outbreaks {
		if o.Closed == 0 {
			out = append(out, o)
		}
	}
	slices.SortFunc(out, newestOutbreak)
	return out
}

func newestOutbreak(x, y *model.Outbreak) int {
	return cmp.Or(cmp.Compare(y.Opened, x.Opened), model.CompareIDs(x.ID, y.ID))
}

// affected are the living plants of an outbreak, by name.
func affected(b *model.Book, o *model.Outbreak) []*model.Plant {
	var out []*model.Plant
	for id, yes := range o.Affects {
		if p := b.Plants[id]; yes && p != nil && !p.Removed {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(x, y *model.Plant) int {
		return cmp.Or(cmp.Compare(x.Name, y.Name), model.CompareIDs(x.ID, y.ID))
	})
	return out
}

func affects(plant model.PlantID, yes bool) oplog.Setting {
	return oplog.Setting{Key: model.FieldKey{Field: model.OutbreakAffects, Sub: plant.UUID()}, Value: model.Bool(yes)}
}

func (a *App) openOutbreak(ctx context.Context, e Event) Answer {
	plant := id[model.Plant](e.Data, "plant")
	if plant.IsZero() {
		return Answer{}
	}
	outbreak := model.OutbreakID(a.house.NewID())
	op := replica.Set(model.KindOutbreak, outbreak,
		replica.To(model.OutbreakPest, model.Int(model.Pest(e.Data.Int("pest")))),
		replica.To(model.OutbreakOpened, model.Int(a.today())),
		affects(plant, true))
	if _, failed := a.write(ctx, op); failed != nil {
		return *failed
	}
	a.after = nil
	return Answer{Go: screens.OutbreakRoute(outbreak.String()), Say: a.t.Say.OutbreakOpened}
}

func (a *App) addToOutbreak(ctx context.Context, e Event) Answer {
	plant, outbreak := id[model.Plant](e.Data, "plant"), id[model.Outbreak](e.Data, "outbreak")
	if plant.IsZero() || outbreak.IsZero() {
		return Answer{}
	}
	if _, failed := a.write(ctx, replica.Set(model.KindOutbreak, outbreak, affects(plant, true))); failed != nil {
		return *failed
	}
	a.after = nil
	return Answer{Go: screens.OutbreakRoute(outbreak.String()), Say: a.t.Say.Saved}
}

func (a *App) setPest(ctx context.Context, e Event) Answer {
	outbreak := id[model.Outbreak](e.Data, "outbreak")
	op := replica.Set(model.KindOutbreak, outbreak, replica.To(model.OutbreakPest, model.Int(model.Pest(e.Data.Int("pest")))))
	if _, failed := a.write(ctx, op); failed != nil {
		return *failed
	}
	answer := a.Go(ctx, a.route)
	answer.Say = a.t.Say.Saved
	return answer
}

func (a *App) closeOutbreak(ctx context.Context, e Event) Answer {
	outbreak := id[model.Outbreak](e.Data, "outbreak")
	closing := func(day model.Date) *oplog.Set {
		return replica.Set(model.KindOutbreak, outbreak, replica.To(model.OutbreakClosed, model.Int(day)))
	}
	if _, failed := a.write(ctx, closing(a.today())); failed != nil {
		return *failed
	}
	return Answer{Go: screens.RouteOutbreaks, Say: a.t.Say.OutbreakClosed, Undo: a.undoBy(closing(0))}
}
