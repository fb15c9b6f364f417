package app

import (
	"context"
	"fmt"
	"image"
	"slices"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/photo/align"
)

// comparing is two photos of a leaf that are laid over each other.
type comparing struct {
	plant         model.PlantID
	before, after model.PhotoSum
	working       bool
	problem       string
	sizes         [2]image.Point
	found         align.Result
	hand          *byHand // nil while nobody points anything out
	byHand        bool    // a person has laid them over each other
}

// showRecovery shows how a plant's leaves came on. The oldest and the newest photo are
// compared until somebody chooses others.
func (a *App) showRecovery(ctx context.Context, plant model.PlantID, sheet bool) Answer {
	var sums []model.PhotoSum
	a.house.Read(func(b *model.Book) { sums = photosInTime(b, plant) })
	if sheet {
		var v screens.RecoveryView
		a.house.Read(func(b *model.Book) { v = a.recoveryView(b, plant) })
		return a.screen(screens.SpotPlants, screens.RecoverySheet(a.t, v))
	}
	var work Work
	if x := a.pair; len(sums) > 1 && (x == nil || x.plant != plant || !slices.Contains(sums, x.before) || !slices.Contains(sums, x.after)) {
		a.pair = &comparing{plant: plant, before: sums[0], after: sums[len(sums)-1]}
		work = a.align(ctx, a.pair)
	}
	var v screens.RecoveryView
	a.house.Read(func(b *model.Book) { v = a.recoveryView(b, plant) })
	answer := a.screen(screens.SpotPlants, screens.Recovery(a.t, v))
	answer.Work = work
	return answer
}

// looksInTime are the looks at a plant that stand, the oldest first.
func looksInTime(b *model.Book, plant model.PlantID) []*model.Fact {
	looks := slices.DeleteFunc(byTimeSeen(b.PlantFacts(plant)), func(f *model.Fact) bool {
		_, ok := f.Body.(*model.Inspection)
		return !ok || !b.Stands(f.ID)
	})
	slices.Reverse(looks)
	return looks
}

func photosInTime(b *model.Book, plant model.PlantID) []model.PhotoSum {
	var sums []model.PhotoSum
	for _, f := range looksInTime(b, plant) {
		sums = append(sums, f.Body.(*model.Inspection).Photos...)
	}
	return sums
}

// align is the work that lays the newer photo over the older one.
func (a *App) align(ctx context.Context, x *comparing) Work {
	x.working, x.problem = true, ""
	house, server, room := a.house, a.server, a.o.Darkroom
	return func(tell func(func(context.Context) Answer)) {
		var looks [2]image.Image
		var err error
		for i, sum := range []model.PhotoSum{x.before, x.after} {
			var data []byte
			if data, _, err = house.PhotoBytes(ctx, server, sum, 0); err == nil {
				looks[i], err = room.Look(data, lookEdge)
			}
			if err != nil {
				break
			}
		}
		var found align.Result
		if err == nil {
			found = align.Find(looks[0], looks[1])
		}
		tell(func(context.Context) Answer { return a.aligned(x, looks, found, err) })
	}
}

func (a *App) aligned(x *comparing, looks [2]image.Image, found align.Result, err error) Answer {
	if a.pair != x {
		return Answer{}
	}
	x.working, x.found = false, found
	if err != nil {
		x.problem = a.words(err)
		return a.showPair(x)
	}
	x.sizes = [2]image.Point{looks[0].Bounds().Size(), looks[1].Bounds().Size()}
	return a.showPair(x)
}

func (a *App) showPair(x *comparing) Answer {
	var v screens.RecoveryView
	a.house.Read(func(b *model.Book) { v = a.recoveryView(b, x.plant) })
	return Answer{Swaps: []Swap{a.swap(screens.IDCompare, screens.Compare(a.t, v.Plant, v.Compare))}}
}

// compare lays two other photos over each other.
func (a *App) compare(ctx context.Context, e Event) Answer {
	plant := id[model.Plant](e.Data, "plant")
	before, err1 := model.ParsePhotoSum(e.Data.Get("before"))
	after, err2 := model.ParsePhotoSum(e.Data.Get("after"))
	if err1 != nil || err2 != nil {
		return Answer{}
	}
	a.pair = &comparing{plant: plant, before: before, after: after}
	work := a.align(ctx, a.pair)
	answer := a.showPair(a.pair)
	answer.Work = work
	return answer
}

// shot is a photo of a plant's leaf with what was measured in it, nil if nothing was.
type shot struct {
	sum    model.PhotoSum
	photo  screens.Photo
	day    model.Date
	figure *model.Measurement
}

// shown reports whether the figure is one to go by.
func (s shot) shown() bool { return s.figure != nil && s.figure.Verdict != model.Rejected }

// shotsInTime are a plant's photos, the oldest first, and the newest method by which any
// of them was measured.
func (a *App) shotsInTime(b *model.Book, plant model.PlantID) (shots []shot, method int) {
	for _, f := range looksInTime(b, plant) {
		look := f.Body.(*model.Inspection)
		for i, p := range a.photosOf(b, f, look) {
			s := shot{sum: look.Photos[i], photo: p, day: f.At.Date(a.zone), figure: measuredIn(b, look.Photos[i])}
			if s.shown() {
				method = max(method, s.figure.Method)
			}
			shots = append(shots, s)
		}
	}
	return shots, method
}

// marks are what bears on how the leaves come on, by date.
func (a *App) marks(b *model.Book, plant model.PlantID) []screens.RecoveryMark {
	var out []screens.RecoveryMark
	for _, f := range looksInTime(b, plant) {
		if f.Body.(*model.Inspection).Growing {
			out = append(out, screens.RecoveryMark{Date: f.At.Date(a.zone), What: a.t.Recovery.Growing, Good: true})
		}
	}
	for _, f := range b.PlantFacts(plant) {
		if x, ok := f.Body.(*model.Application); ok && b.Stands(f.ID) {
			out = append(out, screens.RecoveryMark{Date: f.At.Date(a.zone), What: a.t.Story.Treated(productName(b, x.Product))})
		}
	}
	slices.SortStableFunc(out, func(x, y screens.RecoveryMark) int { return x.Date.Sub(y.Date) })
	return out
}

func (a *App) recoveryView(b *model.Book, plant model.PlantID) screens.RecoveryView {
	v := screens.RecoveryView{Plant: plant.String(), Name: b.Plants[plant].Name, Marks: a.marks(b, plant), Today: a.t.Format.Day(a.today())}
	shots, method := a.shotsInTime(b, plant)
	photos := map[model.PhotoSum]screens.Photo{}
	for _, s := range shots {
		photos[s.sum] = s.photo
		row := screens.RecoveryShot{Photo: s.photo, Date: a.t.Format.Day(s.day)}
		if s.shown() {
			m := s.figure
			row.Share = a.share(m)
			if m.Method == method {
				v.Trend = append(v.Trend, screens.TrendPoint{Date: s.day, Share: m.Damaged, Low: max(m.Damaged-m.Uncertain, 0), High: min(m.Damaged+m.Uncertain, whole), Words: row.Share})
			} else {
				v.Older++
			}
		}
		v.Shots = append(v.Shots, row)
	}
	if x := a.pair; x != nil && x.plant == plant && len(v.Shots) > 1 {
		v.Compare = x.view(a, photos)
	}
	if x := a.packing; x != nil && x.plant == plant {
		v.Packing = screens.PackingView{Plant: v.Plant, Working: true, Done: x.done, Of: x.of}
	}
	v.Packing.Plant = v.Plant
	return v
}

// thousand is the longer side of a photo in the drawing of two.
const thousand = 1000

func (x *comparing) view(a *App, photos map[model.PhotoSum]screens.Photo) screens.CompareView {
	v := screens.CompareView{Before: photos[x.before], After: photos[x.after], Working: x.working, Problem: x.problem}
	if x.working || x.problem != "" {
		return v
	}
	if x.hand != nil {
		hand := x.hand.view(x)
		hand.Before, hand.After = v.Before, v.After
		v.Hand = &hand
		return v
	}
	v.ByHand = x.byHand
	if x.found.CannotAlign != align.Aligned {
		v.Cannot = a.t.Recovery.Cannot[string(x.found.CannotAlign)]
		return v
	}
	scaled := func(p image.Point) (w, h int) {
		long := max(p.X, p.Y, 1)
		return p.X * thousand / long, p.Y * thousand / long
	}
	v.Width, v.Height = scaled(x.sizes[0])
	v.AfterWidth, v.AfterHeight = scaled(x.sizes[1])
	s := x.found.Similarity.Inverse()
	v.Matrix = fmt.Sprintf("matrix(%.5f %.5f %.5f %.5f %.2f %.2f)", s.A, s.B, -s.B, s.A, s.X*thousand, s.Y*thousand)
	return v
}
