package app

import (
	"context"
	"math"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/photo/leaf"
)

// lookEdge is the size at which leaves are measured: photo/leaf works on no more.
const lookEdge = 640

// measuring is the leaf that is being measured.
type measuring struct {
	sum     model.PhotoSum
	plant   model.PlantID
	working bool
	problem string
	found   leaf.Measurement
	drawn   []model.Point // the outline as a person corrects it; nil while nobody does
	chosen  int           // the point of it that moves
}

// showMeasure shows what a photo says about its leaf, and has it measured if it is not.
func (a *App) showMeasure(ctx context.Context, sum model.PhotoSum) Answer {
	f, look := a.lookWith(sum)
	if look == nil {
		return Answer{}
	}
	var work Work
	if x := a.leaf; x == nil || x.sum != sum {
		a.leaf = &measuring{sum: sum, plant: look.Plant}
		work = a.measure(ctx, a.leaf)
	}
	var v screens.MeasureView
	a.house.Read(func(b *model.Book) { v = a.measureView(b, f, look, a.leaf) })
	answer := a.screen(screens.SpotPlants, screens.Measure(a.t, v))
	answer.Work = work
	return answer
}

// lookWith is the look that shows a photo, nil if none does.
func (a *App) lookWith(sum model.PhotoSum) (fact *model.Fact, look *model.Inspection) {
	a.house.Read(func(b *model.Book) {
		b.EachPhoto(func(s model.PhotoSum, f *model.Fact) {
			if x, ok := f.Body.(*model.Inspection); ok && s == sum {
				fact, look = f, x
			}
		})
	})
	return fact, look
}

// measure is the work that measures a leaf, inside its corrected outline if there is one.
func (a *App) measure(ctx context.Context, x *measuring) Work {
	x.working, x.problem = true, ""
	house, server, room := a.house, a.server, a.o.Darkroom
	var o leaf.Options
	for _, p := range x.drawn {
		o.Outline = append(o.Outline, leaf.Point{X: float64(p.X) / whole, Y: float64(p.Y) / whole})
	}
	return func(tell func(func(context.Context) Answer)) {
		data, _, err := house.PhotoBytes(ctx, server, x.sum, 0)
		found := leaf.Measurement{}
		if err == nil {
			img, broken := room.Look(data, lookEdge)
			if err = broken; err == nil {
				found = leaf.Measure(img, o)
			}
		}
		tell(func(context.Context) Answer { return a.measured(x, found, err) })
	}
}

func (a *App) measured(x *measuring, found leaf.Measurement, err error) Answer {
	if a.leaf != x {
		return Answer{}
	}
	x.working, x.found = false, found
	if err != nil {
		x.problem = a.words(err)
	}
	return a.figure(x)
}

// figure redraws what is said of the leaf, and leaves the photo alone.
func (a *App) figure(x *measuring) Answer {
	var v screens.MeasureView
	f, look := a.lookWith(x.sum)
	a.house.Read(func(b *model.Book) { v = a.measureView(b, f, look, x) })
	return Answer{Swaps: []Swap{a.swap(screens.IDMarks, screens.Outline(a.t, v)), a.swap(screens.IDFigure, screens.Figure(a.t, v))}}
}

func (a *App) measureView(b *model.Book, f *model.Fact, look *model.Inspection, x *measuring) screens.MeasureView {
	v := screens.MeasureView{Sum: x.sum.String(), Working: x.working, Problem: x.problem, Correcting: x.drawn != nil, Chosen: x.chosen, Outline: x.drawn}
	for i, p := range a.photosOf(b, f, look) {
		if look.Photos[i] == x.sum {
			v.Photo = p
		}
	}
	if m := measuredIn(b, x.sum); m != nil {
		v.Noted = a.t.Measure.Noted[m.Verdict](a.share(m))
	}
	switch {
	case x.working || x.problem != "":
	case x.found.Verdict != leaf.Measured:
		v.CannotTell = a.t.Measure.CannotTell[x.found.Reason.String()]
	default:
		m := x.fact(model.Unchecked)
		v.Share, v.Method = a.share(m), a.t.Measure.Method(m.Method, m.Confidence)
	}
	if v.Outline == nil {
		v.Outline = outlineOf(x.found)
	}
	return v
}

// share is a measured share with its interval, in words.
func (a *App) share(m *model.Measurement) string {
	percent := func(n int) float64 { return float64(min(max(n, 0), whole)) / 100 }
	return a.t.Measure.Share(percent(m.Damaged), percent(m.Damaged-m.Uncertain), percent(m.Damaged+m.Uncertain))
}

// measuredIn is the last measurement of a photo that stands.
func measuredIn(b *model.Book, sum model.PhotoSum) *model.Measurement {
	var last *model.Fact
	b.EachPhoto(func(s model.PhotoSum, f *model.Fact) {
		if _, ok := f.Body.(*model.Measurement); ok && s == sum && b.Stands(f.ID) && (last == nil || f.At >= last.At) {
			last = f
		}
	})
	if last == nil {
		return nil
	}
	return last.Body.(*model.Measurement)
}

// whole is a share of one, as facts hold it.
const whole = 10_000

func (x *measuring) fact(v model.Verdict) *model.Measurement {
	m := &model.Measurement{Plant: x.plant, Photo: x.sum, Method: int(x.found.Version), Damaged: parts(x.found.Damaged), Uncertain: parts(x.found.Uncertain),
		Confidence: int(math.Round(100 * x.found.Confidence)), Verdict: v}
	if v == model.Outlined {
		m.Outline = x.drawn
	}
	return m
}

func parts(share float64) int { return min(max(int(math.Round(share*whole)), 0), whole) }

// noteMeasure notes the figure with what the person says of it.
func (a *App) noteMeasure(ctx context.Context, e Event) Answer {
	x := a.leaf
	if x == nil || x.sum.String() != e.Data.Get("sum") || x.working || x.found.Verdict != leaf.Measured {
		return Answer{}
	}
	verdict := model.Rejected
	switch {
	case e.Data.On("agree") && x.found.Corrected:
		verdict = model.Outlined
	case e.Data.On("agree"):
		verdict = model.Agreed
	}
	m := x.fact(verdict)
	if verdict != model.Rejected {
		a.house.Read(func(b *model.Book) { m.Completes = a.agenda(b).Match(m) })
	}
	ids, failed := a.write(ctx, replica.Seen(m))
	if failed != nil {
		return *failed
	}
	undo := a.undoFacts(ids)
	answer := a.Go(ctx, a.route)
	answer.Top, answer.Say, answer.Undo = false, a.t.Measure.Said, undo
	return answer
}
