package app

import (
	"context"
	"image"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/photo/card"
)

// cardEdge is the size at which cards are read: specks are small.
const cardEdge = 2048

// carding is the sticky card that is being counted.
type carding struct {
	place   model.PlaceID
	sum     model.PhotoSum
	working bool
	problem string
	read    *card.Reading // nil before a photo was counted
	size    image.Point
	rings   []card.Speck // as the person has set them right
	taking  bool         // a tap takes a ring away
	turn    int          // how often the rings were changed
}

// showCard shows the form for the card of a place.
func (a *App) showCard(_ context.Context, rest string) Answer {
	place, err := model.ParseID[model.Place](rest)
	known := false
	a.house.Read(func(b *model.Book) { known = b.Places[place] != nil })
	if err != nil || !known {
		return Answer{}
	}
	if a.card == nil || a.card.place != place {
		a.card = &carding{place: place}
	}
	return a.screen(screens.SpotToday, screens.Card(a.t, a.cardView(a.card)))
}

// cardPhoto keeps the photo of a card and counts what is on it.
func (a *App) cardPhoto(ctx context.Context, e Event) Answer {
	x := &carding{place: id[model.Place](e.Data, "place"), working: true}
	if len(e.Files) == 0 {
		return Answer{}
	}
	a.card = x
	house, room, file := a.house, a.o.Darkroom, e.Files[0].Bytes
	answer := a.screen(screens.SpotToday, screens.Card(a.t, a.cardView(x)))
	answer.Work = func(tell func(func(context.Context) Answer)) {
		p, err := develop(ctx, house, room, file, false)
		var read card.Reading
		var size image.Point
		if err == nil {
			var data []byte
			var img image.Image
			if data, _, err = house.PhotoBytes(ctx, nil, p.sum, 0); err == nil {
				img, err = room.Look(data, cardEdge)
			}
			if err == nil {
				read, size = card.Read(img), img.Bounds().Size()
			}
		}
		tell(func(context.Context) Answer { return a.countedCard(x, p.sum, read, size, err) })
	}
	return answer
}

func (a *App) countedCard(x *carding, sum model.PhotoSum, read card.Reading, size image.Point, err error) Answer {
	if a.card != x {
		return Answer{}
	}
	x.working = false
	if err != nil {
		x.problem = a.words(err)
	} else {
		x.sum = sum
		x.counted(read, size)
	}
	if a.route != screens.CardRoute(x.place.String()) {
		return Answer{}
	}
	return a.screen(screens.SpotToday, screens.Card(a.t, a.cardView(x)))
}

func (a *App) cardView(x *carding) screens.CardView {
	v := screens.CardView{Place: x.place.String(), Working: x.working, Problem: x.problem, Colour: model.YellowCard}
	a.house.Read(func(b *model.Book) {
		if p := b.Places[x.place]; p != nil {
			v.Name = p.Name
			if p.Card != model.NoCard {
				v.Colour = p.Card
			}
		}
		v.Before = a.readings(b, x.place)
	})
	if x.read == nil {
		return v
	}
	v.Photo = &screens.Photo{Sum: x.sum.String(), Alt: a.t.Card.PhotoOf(v.Name)}
	if x.read.CannotTell != card.Readable {
		v.Cannot = a.t.Card.Cannot[string(x.read.CannotTell)]
	} else {
		v.Counted = a.t.Card.Counted(x.read.Count, x.read.Low, x.read.High)
	}
	v.Count, v.Taking, v.Turn = x.total(), x.taking, x.turn
	w, h := x.long()
	for _, s := range x.rings {
		v.Rings = append(v.Rings, screens.Ring{X: s.At.X * w, Y: s.At.Y * h, RX: s.Radius * w, RY: s.Radius * h})
	}
	return v
}

// mostReadings is how many earlier readings of a card are shown.
const mostReadings = 8

// readings are the last readings of a place's card, the newest first.
func (a *App) readings(b *model.Book, place model.PlaceID) []string {
	var out []string
	for _, f := range byTimeSeen(b.Facts()) {
		if r, ok := f.Body.(*model.CardReading); ok && r.Place == place && b.Stands(f.ID) && len(out) < mostReadings {
			out = append(out, a.t.Card.Reading(a.t.Format.Day(f.At.Date(a.zone)), r.Count, a.t.Words.Pest[r.Pest], r.Replaced))
		}
	}
	return out
}

// saveCard notes the count that the person confirms.
func (a *App) saveCard(ctx context.Context, e Event) Answer {
	place := id[model.Place](e.Data, "place")
	fact := &model.CardReading{Place: place, Colour: model.YellowCard, Count: min(max(e.Data.Int("count"), 0), 9999), Counted: -1, Replaced: e.Data.On("replaced"), Note: e.Data.Get("note")}
	if pest := model.Pest(e.Data.Int("pest")); slices.Contains(model.Pests, pest) {
		fact.Pest = pest
	}
	if e.Data.Int("colour") == int(model.BlueCard) {
		fact.Colour = model.BlueCard
	}
	if x := a.card; x != nil && x.place == place && x.read != nil {
		fact.Photo = x.sum
		if x.read.CannotTell == card.Readable {
			fact.Counted = x.read.Count
		}
	}
	a.house.Read(func(b *model.Book) { fact.Completes = a.agenda(b).Match(fact) })
	ids, failed := a.write(ctx, replica.Seen(fact))
	if failed != nil {
		return *failed
	}
	a.card = nil
	a.readQueue(ctx)
	a.route = screens.RouteToday
	undo := a.undoFacts(ids)
	answer := a.Go(ctx, screens.RouteToday)
	answer.Go, answer.Say, answer.Undo = screens.RouteToday, a.t.Measure.Said, undo
	return answer
}
