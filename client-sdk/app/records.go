package app

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/sync/oplog"
)

// write does operations and turns a failure into words on the page.
func (a *App) write(ctx context.Context, ops ...any) ([]model.FactID, *Answer) {
	ids, err := a.house.Do(ctx, ops...)
	a.derived = derived{}
	if err != nil {
		return nil, &Answer{Say: a.words(err), Status: a.t.Status.NotSaved}
	}
	return ids, nil
}

func (a *App) savePlace(ctx context.Context, e Event) Answer {
	d := e.Data
	place, name, rhythm := id[model.Place](d, "place"), d.Get("name"), d.Int("rhythm")
	if rhythm != 14 {
		rhythm = 7
	}
	coldest, cold := d.Tenths("coldest")
	warmest, warm := d.Tenths("warmest")
	problem := ""
	switch {
	case name == "":
		problem = a.t.Say.NeedName
	case !cold || !warm || coldest > warmest || (d.Get("coldest") == "") != (d.Get("warmest") == ""):
		problem = a.t.Say.NeedNumber
	}
	if problem != "" {
		v := screens.PlaceFormView{Name: name, Rhythm: rhythm, Coldest: d.Get("coldest"), Warmest: d.Get("warmest"), Card: model.CardColour(d.Int("card")), Problem: problem}
		if !place.IsZero() {
			v.Place = place.String()
			a.house.Read(func(b *model.Book) { v.Turns, _ = a.placeTurns(b, b.Places[place]) })
			v.Turn = d.Get("turn")
		}
		return a.screen(screens.SpotHousehold, screens.PlaceForm(a.t, v))
	}
	op := a.placeOp(place, name, rhythm)
	if _, asked := d["card"]; asked {
		op.Fields = append(op.Fields, replica.To(model.PlaceCard, model.Int(min(max(d.Int("card"), 0), int(model.BlueCard)))))
	}
	if _, asked := d["turn"]; asked {
		op.Fields = append(op.Fields, turnFields(d)...)
	}
	if d.Get("coldest") != "" {
		op.Fields = append(op.Fields, replica.To(model.PlaceColdest, model.Int(coldest)), replica.To(model.PlaceWarmest, model.Int(warmest)))
	}
	if op = a.changed(op); len(op.Fields) > 0 {
		if _, failed := a.write(ctx, op); failed != nil {
			return *failed
		}
	}
	return Answer{Go: screens.RouteHousehold, Say: a.t.Say.Saved}
}

// placeOp sets a place's name and rhythm, making the place if it has no id yet.
func (a *App) placeOp(place model.PlaceID, name string, rhythm int) *oplog.Set {
	fields := []oplog.Setting{replica.To(model.PlaceName, model.Text(name)), replica.To(model.PlaceRoundEvery, model.Int(rhythm))}
	if place.IsZero() {
		place = model.PlaceID(a.house.NewID())
		order := 0
		a.house.Read(func(b *model.Book) { order = len(b.Places) })
		fields = append(fields, replica.To(model.PlaceOrder, model.Int(order)))
	}
	return replica.Set(model.KindPlace, place, fields...)
}

// savePlant adds a plant or changes one, and its place too if that is new.
func (a *App) savePlant(ctx context.Context, e Event) Answer {
	d := e.Data
	plant, name := id[model.Plant](d, "plant"), d.Get("name")
	place, ops := a.placeOf(d)
	problem := ""
	switch {
	case name == "":
		problem = a.t.Say.NeedName
	case place.IsZero():
		problem = a.t.Say.NeedPlace
	}
	if problem != "" {
		return a.plantProblem(d, plant, problem)
	}
	isNew := plant.IsZero()
	if isNew {
		plant = model.PlantID(a.house.NewID())
	}
	ops = append(ops, replica.Set(model.KindPlant, plant, a.plantFields(d, plant, place, isNew)...))
	if isNew && d.On("arrived") {
		ops = append(ops, replica.Seen(&model.Handling{Kind: model.CameIn, Plants: []model.PlantID{plant}, Place: place}))
	}
	if _, failed := a.write(ctx, ops...); failed != nil {
		return *failed
	}
	switch {
	case d.On("first"):
		answer := a.Go(ctx, screens.RouteFirst)
		answer.Say, answer.Focus = a.t.Say.PlantAdded(name), "first-name"
		return answer
	case isNew:
		return Answer{Go: screens.RoutePlants, Say: a.t.Say.PlantAdded(name)}
	}
	return Answer{Go: screens.PlantRoute(plant.String()), Say: a.t.Say.Saved}
}

// placeOf is the place that a form names, and the operation that makes it if it is
// a new one.
func (a *App) placeOf(d Data) (model.PlaceID, []any) {
	if name := d.Get("newplace"); name != "" {
		var same model.PlaceID
		a.house.Read(func(b *model.Book) {
			for _, p := range b.Places {
				if !p.Removed && strings.EqualFold(p.Name, name) {
					same = p.ID
				}
			}
		})
		if !same.IsZero() {
			return same, nil
		}
		op := a.placeOp(model.PlaceID{}, name, 7)
		return model.PlaceID(op.Record.ID), []any{op}
	}
	return id[model.Place](d, "place"), nil
}

// plantFields are the fields that a form sets: all for a new plant, else those
// that changed, so that an edit elsewhere of another field is not touched.
func (a *App) plantFields(d Data, plant model.PlantID, place model.PlaceID, isNew bool) []oplog.Setting {
	var old model.Plant
	a.house.Read(func(b *model.Book) {
		if p := b.Plants[plant]; p != nil {
			old = *p
		}
	})
	var fields []oplog.Setting
	set := func(f model.Field, v model.Value, changed bool) {
		if changed {
			fields = append(fields, replica.To(f, v))
		}
	}
	set(model.PlantName, model.Text(d.Get("name")), old.Name != d.Get("name"))
	set(model.PlantPlace, model.IDValue(place), old.Place != place)
	set(model.PlantSpecies, model.Text(d.Get("species")), old.Species != d.Get("species"))
	set(model.PlantNote, model.Text(d.Get("note")), old.Note != d.Get("note"))
	set(model.PlantEdible, model.Bool(d.On("edible")), old.Edible != d.On("edible"))
	set(model.PlantSensitive, model.Bool(d.On("sensitive")), old.Sensitive != d.On("sensitive"))
	mother := id[model.Plant](d, "mother")
	set(model.PlantThinLeaf, model.Bool(d.On("thin")), old.ThinLeaf != d.On("thin"))
	set(model.PlantWeak, model.Bool(d.On("weak")), old.Weak != d.On("weak"))
	set(model.PlantCuttingOf, model.IDValue(mother), old.CuttingOf != mother)
	if len(fields) == 0 && !isNew {
		fields = append(fields, replica.To(model.PlantName, model.Text(d.Get("name"))))
	}
	return fields
}

func (a *App) plantProblem(d Data, plant model.PlantID, problem string) Answer {
	if d.On("first") {
		v := a.firstView()
		v.Problem = problem
		return a.screen("", screens.First(a.t, v))
	}
	v := screens.PlantFormView{Name: d.Get("name"), Species: d.Get("species"), Place: d.Get("place"), Places: a.places(), Note: d.Get("note"),
		Edible: d.On("edible"), Sensitive: d.On("sensitive"), Thin: d.On("thin"), Weak: d.On("weak"),
		Mother: d.Get("mother"), Mothers: a.mothers(plant), Problem: problem}
	if !plant.IsZero() {
		v.Plant = plant.String()
	}
	return a.screen(screens.SpotPlants, screens.PlantForm(a.t, v))
}

// mothers are the plants that one may have been cut from, by name.
func (a *App) mothers(plant model.PlantID) []screens.Named {
	var out []screens.Named
	a.house.Read(func(b *model.Book) {
		for id, p := range b.Plants {
			if id != plant && p.Name != "" && !p.Removed {
				out = append(out, screens.Named{ID: id.String(), Name: p.Name})
			}
		}
	})
	slices.SortFunc(out, func(x, y screens.Named) int {
		return cmp.Or(strings.Compare(x.Name, y.Name), strings.Compare(x.ID, y.ID))
	})
	return out
}

// places are the places in their order, for choosing one.
func (a *App) places() []screens.Named {
	var out []screens.Named
	a.house.Read(func(b *model.Book) {
		for _, p := range orderedPlaces(b) {
			out = append(out, screens.Named{ID: p.ID.String(), Name: p.Name})
		}
	})
	return out
}

func orderedPlaces(b *model.Book) []*model.Place {
	var out []*model.Place
	for _, p := range b.Places {
		if !p.Removed {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(x, y *model.Place) int {
		return cmp.Or(cmp.Compare(x.Order, y.Order), strings.Compare(x.Name, y.Name), model.CompareIDs(x.ID, y.ID))
	})
	return out
}

// plantsAt are the living plants of a place by name; the zero place gives those
// that stand nowhere known.
func plantsAt(b *model.Book, place model.PlaceID) []*model.Plant {
	var out []*model.Plant
	for _, p := range b.Plants {
		home := p.Place
		if at := b.Places[home]; at == nil || at.Removed {
			home = model.PlaceID{}
		}
		if !p.Removed && p.Name != "" && home == place {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(x, y *model.Plant) int {
		return cmp.Or(strings.Compare(strings.ToLower(x.Name), strings.ToLower(y.Name)), model.CompareIDs(x.ID, y.ID))
	})
	return out
}

// changed leaves out of an operation the fields that hold their value already, so
// that saving a form does not undo what somebody else sets in another field.
func (a *App) changed(op *oplog.Set) *oplog.Set {
	op.Fields = slices.DeleteFunc(op.Fields, func(f oplog.Setting) bool { return a.house.Value(op.Record, f.Key) == f.Value })
	return op
}

// saveProduct takes down a label.
func (a *App) saveProduct(ctx context.Context, e Event) Answer {
	d := e.Data
	product := id[model.Product](d, "product")
	fields, ok := productFields(d)
	problem := ""
	switch {
	case d.Get("name") == "":
		problem = a.t.Say.NeedName
	case d.Int("means") == 0 || d.Int("unit") == 0:
		problem = a.t.Say.NeedChoice // a guess here would be a guess about the label
	case !ok:
		problem = a.t.Say.NeedNumber
	}
	if problem != "" {
		return a.screen(screens.SpotHousehold, screens.ProductForm(a.t, productForm(d, problem)))
	}
	if product.IsZero() {
		product = model.ProductID(a.house.NewID())
	}
	said := a.stockSaid(product, fields)
	if op := a.changed(replica.Set(model.KindProduct, product, fields...)); len(op.Fields)+len(said) > 0 {
		op.Fields = append(slices.DeleteFunc(op.Fields, func(f oplog.Setting) bool { return f.Key.Field == model.ProductStockMilli }), said...)
		if _, failed := a.write(ctx, op); failed != nil {
			return *failed
		}
	}
	return Answer{Go: screens.RouteHousehold, Say: a.t.Say.Saved}
}

// stockSaid is the stock of a form if it says something else than what the shelf reckons.
// It is written even if it is the number that stood there before what was used since: that
// much was bought again.
func (a *App) stockSaid(product model.ProductID, fields []oplog.Setting) (said []oplog.Setting) {
	left := 0
	a.house.Read(func(b *model.Book) {
		if p := b.Products[product]; p != nil {
			left = agenda.StockLeft(b, p)
		}
	})
	for _, f := range fields {
		if f.Key.Field == model.ProductStockMilli && f.Value.Int != int64(left) {
			said = append(said, f)
		}
	}
	return said
}

func productFields(d Data) ([]oplog.Setting, bool) {
	means, unit := d.Int("means"), d.Int("unit")
	rate, ok1 := d.Milli("rate")
	stock, ok2 := d.Milli("stock")
	fields := []oplog.Setting{
		replica.To(model.ProductName, model.Text(d.Get("name"))),
		replica.To(model.ProductMeans, model.Int(means)),
		replica.To(model.ProductActive, model.Text(d.Get("active"))),
		replica.To(model.ProductGroup, model.Text(d.Get("group"))),
		replica.To(model.ProductRateUnit, model.Int(unit)),
		replica.To(model.ProductRateMilli, model.Int(rate)),
		replica.To(model.ProductStockMilli, model.Int(stock)),
		replica.To(model.ProductPests, model.Text(d.Get("pests"))),
		replica.To(model.ProductCautions, model.Text(d.Get("cautions"))),
		replica.To(model.ProductSite, model.Int(min(max(d.Int("site"), 0), int(model.SiteRuledOut)))),
		replica.To(model.ProductEdibleAllowed, model.Bool(d.On("edible"))),
	}
	ok := ok1 && ok2
	for _, n := range []struct {
		field model.Field
		name  string
	}{
		{model.ProductMixPerPlantMl, "perplant"}, {model.ProductMinInterval, "interval"}, {model.ProductMaxPerSeason, "season"},
		{model.ProductReentryHours, "reentry"}, {model.ProductMaxCelsius, "maxheat"}, {model.ProductMostInRow, "inrow"},
	} {
		milli, fine := d.Milli(n.name)
		spec, _ := model.Spec(model.KindProduct, n.field)
		ok = ok && fine && milli%1000 == 0 && int64(milli/1000) <= spec.Max
		fields = append(fields, replica.To(n.field, model.Int(milli/1000)))
	}
	return fields, ok
}

// productForm shows the form as it was sent, with what is wrong.
func productForm(d Data, problem string) screens.ProductFormView {
	return screens.ProductFormView{
		Product: d.Get("product"), Name: d.Get("name"), Means: model.Means(d.Int("means")), Active: d.Get("active"), Group: d.Get("group"),
		Unit: model.RateUnit(d.Int("unit")), Rate: d.Get("rate"), PerPlant: d.Get("perplant"), Interval: d.Get("interval"),
		Season: d.Get("season"), InRow: d.Get("inrow"), Site: model.Site(d.Int("site")), Reentry: d.Get("reentry"), MaxHeat: d.Get("maxheat"), Pests: d.Get("pests"), Cautions: d.Get("cautions"),
		Stock: d.Get("stock"), Edible: d.On("edible"), Problem: problem,
	}
}

func (a *App) removeProduct(ctx context.Context, e Event) Answer {
	product := id[model.Product](e.Data, "product")
	op := replica.Set(model.KindProduct, product, replica.To(model.ProductRemoved, model.Bool(true)))
	if _, failed := a.write(ctx, op); failed != nil {
		return *failed
	}
	back := replica.Set(model.KindProduct, product, replica.To(model.ProductRemoved, model.Bool(false)))
	return Answer{Go: screens.RouteHousehold, Say: a.t.Say.Saved, Undo: a.undoBy(back)}
}
