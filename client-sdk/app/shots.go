package app

import (
	"context"
	"slices"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// shots are the photos of the finding that is being noted. They are kept on this phone
// already, and nothing shows them until the finding is saved.
type shots struct {
	plant   model.PlantID
	taken   []developed
	working int    // that are being made ready
	problem string // with the last one
	save    *Event // the form, if it was sent before all of them were ready
}

// shotsOf are the photos taken for a plant; another plant begins anew.
func (a *App) shotsOf(plant model.PlantID) *shots {
	if a.shots == nil || a.shots.plant != plant {
		a.shots = &shots{plant: plant}
	}
	return a.shots
}

func (s *shots) sums() []model.PhotoSum {
	var out []model.PhotoSum
	for _, p := range s.taken {
		out = append(out, p.sum)
	}
	return out
}

// addPhoto keeps the photos that were just taken, in place of an earlier one if it was
// taken again.
func (a *App) addPhoto(ctx context.Context, e Event) Answer {
	s, house, room := a.shotsOf(id[model.Plant](e.Data, "plant")), a.house, a.o.Darkroom
	s.working, s.problem = s.working+len(e.Files), ""
	again, full := e.Data.Get("shot"), e.Data.On("full")
	answer := a.showShots(s)
	answer.Work = func(tell func(func(context.Context) Answer)) {
		for _, f := range e.Files {
			p, err := develop(ctx, house, room, f.Bytes, full)
			tell(func(ctx context.Context) Answer { return a.tookPhoto(ctx, s, again, p, err) })
		}
	}
	return answer
}

// tookPhoto shows a photo that is kept now, and saves the form if it waited for it.
func (a *App) tookPhoto(ctx context.Context, s *shots, again string, p developed, err error) Answer {
	s.working--
	if a.shots != s {
		return Answer{} // the form is gone; a photo that nothing shows is forgotten in time
	}
	if err != nil {
		s.problem = a.words(err)
	} else {
		s.taken = slices.DeleteFunc(s.taken, func(x developed) bool { return x.sum == p.sum || x.sum.String() == again })
		s.taken = append(s.taken, p)
	}
	if s.save == nil || s.working > 0 {
		return a.showShots(s)
	}
	form := *s.save
	s.save = nil
	if s.problem != "" {
		return a.findingAgain(s.plant, form.Data.Get("place"), s.problem)
	}
	return a.saveFinding(ctx, form)
}

func (a *App) removePhoto(_ context.Context, e Event) Answer {
	s := a.shotsOf(id[model.Plant](e.Data, "plant"))
	s.problem = ""
	s.taken = slices.DeleteFunc(s.taken, func(p developed) bool { return p.sum.String() == e.Data.Get("shot") })
	return a.showShots(s)
}

func (a *App) showShots(s *shots) Answer {
	return Answer{Swaps: []Swap{a.swap(screens.IDShots, screens.Shots(a.t, a.shotsView(s)))}}
}

func (a *App) shotsView(s *shots) screens.ShotsView {
	v := screens.ShotsView{Plant: s.plant.String(), Working: s.working, Problem: s.problem}
	for _, p := range s.taken {
		v.Taken = append(v.Taken, screens.Shot{Photo: screens.Photo{Sum: p.sum.String(), Alt: a.t.Finding.PhotoAlt}, Doubt: a.t.Photos.Doubt[p.doubt.String()]})
	}
	return v
}
