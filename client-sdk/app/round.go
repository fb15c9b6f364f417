package app

import (
	"context"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/refdata"
	"leafturn/model/risk"
	"leafturn/model/standing"
)

// walk is a walk that somebody on this phone is in the middle of: through the
// plants of a place, or of a look that follows a spray. Which plants were looked at
// is in the log, so that another member can go on; what was skipped is only here.
type walk struct {
	id      string // the place's id, or the key of the look
	key     model.TaskKey
	name    string
	stops   []standing.Stop // as it began, so that a finding does not reorder it
	skipped map[model.PlantID]bool
	washed  map[model.PlantID]bool
	found   map[model.PlantID]bool
	risks   map[model.PlantID]string // why a plant should be looked at closely
}

// showRound shows the places, or the next plant of a walk.
func (a *App) showRound(_ context.Context, rest string) Answer {
	if rest == "" {
		return a.screen(screens.SpotRound, screens.Rounds(a.t, a.roundsView()))
	}
	w := a.walkOf(rest)
	if w == nil {
		return Answer{}
	}
	return a.showStep(w)
}

// walkOf goes on with a walk, or begins one.
func (a *App) walkOf(id string) *walk {
	w := a.walks[id]
	if w == nil {
		a.house.Read(func(b *model.Book) { w = a.newWalk(b, id) })
		if w != nil {
			a.walks[id] = w
		}
	}
	return w
}

// walked reports whether the task of a rule is a walk past some plants of its own.
func walked(r model.Rule) bool {
	return r == model.RuleCheck || r == model.RuleQuarantine || r == model.RuleMaintain
}

func (a *App) newWalk(b *model.Book, id string) *walk {
	w := &walk{id: id, skipped: map[model.PlantID]bool{}, washed: map[model.PlantID]bool{}, found: map[model.PlantID]bool{}}
	all := a.standings(b)
	w.risks = a.risks(b)
	if key, ok := parseTask(id); ok {
		task := a.task(b, key)
		if task == nil || !walked(key.Rule) {
			return nil
		}
		w.key, w.name = key, a.taskAction(b, task)
		w.stops = risk.Walk(b, task.Plants, all)
		return w
	}
	place, err := model.ParseID[model.Place](id)
	if err != nil || b.Places[place] == nil {
		return nil
	}
	task := a.roundTask(b, place)
	if task == nil {
		return nil
	}
	w.key, w.name, w.stops = task.Key, b.Places[place].Name, standing.Walk(b, place, all)
	return w
}

// left are the plants of a walk that were neither looked at nor skipped.
func (a *App) left(w *walk) []standing.Stop {
	looked := a.looked(w)
	return slices.DeleteFunc(slices.Clone(w.stops), func(s standing.Stop) bool {
		return w.skipped[s.Plant.ID] || slices.Contains(looked, s.Plant.ID)
	})
}

// looked are the plants that somebody looked at in this walk, on whatever phone.
func (a *App) looked(w *walk) []model.PlantID {
	var out []model.PlantID
	a.house.Read(func(b *model.Book) {
		for _, s := range w.stops {
			for _, f := range b.PlantFacts(s.Plant.ID) {
				look, ok := f.Body.(*model.Inspection)
				if ok && look.Round == w.key && b.Stands(f.ID) {
					out = append(out, s.Plant.ID)
					break
				}
			}
		}
	})
	return out
}

// partOf marks a look as part of a walk; the last one completes the walk's task.
func (a *App) partOf(id string, look *model.Inspection) {
	if id == "" {
		return
	}
	w := a.walkOf(id)
	if w == nil {
		return
	}
	look.Round = w.key
	left := a.left(w)
	if len(left) == 0 || len(left) == 1 && left[0].Plant.ID == look.Plant {
		look.Completes = w.key
	}
	if look.Found() {
		w.found[look.Plant] = true
	}
}

func (a *App) showStep(w *walk) Answer {
	left := a.left(w)
	if len(left) == 0 {
		return a.endWalk(w)
	}
	stop := left[0]
	n := len(w.stops) - len(left) + 1
	if stop.WashBefore && !w.washed[stop.Plant.ID] {
		v := screens.WashView{Place: w.id, PlaceName: w.name, N: n, Of: len(w.stops)}
		for _, s := range left {
			v.Next = append(v.Next, s.Plant.Name)
		}
		return a.screen(screens.SpotRound, screens.Wash(a.t, v))
	}
	return a.screen(screens.SpotRound, screens.Step(a.t, a.stepView(w, stop, n)))
}

func (a *App) stepView(w *walk, stop standing.Stop, n int) screens.StepView {
	p, s := stop.Plant, stop.Status
	v := screens.StepView{Place: w.id, PlaceName: w.name, N: n, Of: len(w.stops), Plant: p.ID.String(), Name: p.Name, Species: p.Species,
		Standing: standingWords[s.Standing], LookAt: a.t.LookAt.Any, Risk: w.risks[p.ID]}
	a.house.Read(func(b *model.Book) {
		v.Photo = a.lastPhoto(b, p.ID)
		v.Last, v.Held = a.lastLook(s), a.held(b, p.ID)
		parts := partsToSee(b.Outbreaks[s.Outbreak])
		v.Parts, v.Confirms = model.PartsOf(parts...), a.partWords(parts)
		if o := b.Outbreaks[s.Outbreak]; o != nil && len(a.t.LookAt.Pest[o.Pest]) > 0 {
			v.LookAt = a.t.LookAt.Pest[o.Pest]
		}
	})
	if s.Affected || s.Standing == standing.Quarantined || s.Standing == standing.InTreatment {
		v.Affected = a.t.Round.Affected(a.t.Words.Standing[v.Standing])
	}
	return v
}

func (a *App) lastLook(s standing.Status) string {
	st := a.t.Story
	switch {
	case s.LastLook == nil:
		return st.NeverLooked
	case s.LastLook == s.LastFound:
		return st.LastFinding(a.dayOf(s.LastFound.At), a.lookWords(s.LastFound.Body.(*model.Inspection)))
	}
	return st.LastClean(a.dayOf(s.LastLook.At))
}

// endWalk says what the walk found, and forgets it.
func (a *App) endWalk(w *walk) Answer {
	delete(a.walks, w.id)
	a.still = true // its address begins the next round
	v := screens.RoundDoneView{PlaceName: w.name, Looked: len(a.looked(w))}
	a.house.Read(func(b *model.Book) {
		for _, s := range w.stops {
			named := screens.Named{ID: s.Plant.ID.String(), Name: s.Plant.Name}
			if w.found[s.Plant.ID] {
				v.Found = append(v.Found, named)
			}
			if w.key.Rule == model.RuleQuarantine && s.Status.Apart && !w.found[s.Plant.ID] && !w.skipped[s.Plant.ID] {
				v.Apart = append(v.Apart, named)
			}
			if w.skipped[s.Plant.ID] {
				v.Skipped = append(v.Skipped, named)
			}
		}
		today := a.today()
		for _, t := range a.agenda(b).Open() {
			if t.Key.Rule != model.RuleRound {
				continue
			}
			place := model.PlaceID(t.Key.Subject)
			if place.String() == w.id {
				v.Next = a.t.Round.NextDue(a.t.Format.DayNear(t.When(), today))
			} else if t.When() <= today && b.Places[place] != nil {
				v.Other = append(v.Other, screens.Named{ID: place.String(), Name: b.Places[place].Name})
			}
		}
	})
	return a.screen(screens.SpotRound, screens.RoundDone(a.t, v))
}

func (a *App) startRound(_ context.Context, e Event) Answer {
	return Answer{Go: screens.RoundRoute(e.Data.Get("place"))}
}

// nothingFound notes a clean look in one tap.
func (a *App) nothingFound(ctx context.Context, e Event) Answer {
	plant, walk := id[model.Plant](e.Data, "plant"), e.Data.Get("place")
	look := &model.Inspection{Plant: plant, Looked: shownParts(e.Data.Int("looked"))}
	a.partOf(walk, look)
	ids, failed := a.write(ctx, replica.Seen(look))
	if failed != nil {
		return *failed
	}
	undo := a.undoFacts(ids)
	answer := a.Go(ctx, a.route)
	answer.Say, answer.Undo = a.t.Say.NothingFound(a.plantName(plant)), undo
	return answer
}

// shownParts are the parts that the screen of a clean look named, which the tap
// confirms.
func shownParts(n int) model.PartSet {
	return model.PartSet(max(n, 0)) & model.PartsOf(model.Parts...)
}

// usualParts are where most pests sit: what a look at a plant without a known pest
// names.
var usualParts = []model.Part{model.Underside, model.NewGrowth}

// partsToSee are the parts to look at on a plant, by the pest it is watched for.
func partsToSee(o *model.Outbreak) []model.Part {
	if o == nil {
		return usualParts
	}
	profile, err := refdata.Get(speciesOf(o))
	if err != nil {
		return usualParts // nobody knows the pest
	}
	return profile.LookAt()
}

func (a *App) foundSomething(_ context.Context, e Event) Answer {
	return Answer{Go: screens.FindingRoute(e.Data.Get("plant"), e.Data.Get("place"))}
}

// skip passes a plant over. If it was the last one, and some were looked at, the
// round is over: nobody has to come back for a plant that was left out on purpose.
func (a *App) skip(ctx context.Context, e Event) Answer {
	w := a.walkOf(e.Data.Get("place"))
	if w == nil {
		return Answer{}
	}
	plant := id[model.Plant](e.Data, "plant")
	w.skipped[plant] = true
	if len(a.left(w)) == 0 && len(a.looked(w)) > 0 {
		if _, failed := a.write(ctx, replica.Seen(&model.TaskCompleted{Task: w.key})); failed != nil {
			return *failed
		}
	}
	answer := a.showStep(w)
	answer.Say = a.t.Say.Skipped(a.plantName(plant))
	return answer
}

func (a *App) handsWashed(_ context.Context, e Event) Answer {
	w := a.walkOf(e.Data.Get("place"))
	if w == nil {
		return Answer{}
	}
	if left := a.left(w); len(left) > 0 {
		w.washed[left[0].Plant.ID] = true
	}
	return a.showStep(w)
}

// stopRound leaves a walk; what was looked at stays, and anybody can go on.
func (a *App) stopRound(context.Context, Event) Answer { return Answer{Go: screens.RouteToday} }

func (a *App) roundsView() screens.RoundsView {
	v := screens.RoundsView{Sample: a.house.Local(), Guest: !a.mayChange()}
	a.house.Read(func(b *model.Book) {
		v.First = a.atRisk(b)
		for _, p := range orderedPlaces(b) {
			row := screens.RoundPlace{ID: p.ID.String(), Name: p.Name, Plants: len(plantsAt(b, p.ID)), Rhythm: a.rhythm(p), State: texts.Later}
			if t := a.roundTask(b, p.ID); t != nil {
				row.State, row.DueWords = a.dueState(t)
				row.Done, row.Running = len(t.Looked), len(t.Looked) > 0
				row.Last = a.lastRound(b, t)
			}
			v.Places = append(v.Places, row)
		}
	})
	return v
}

// lastRound says who completed the round before, and when.
func (a *App) lastRound(b *model.Book, t *agenda.Task) string {
	for _, r := range t.Why {
		if r.Because == agenda.LastRound && r.Fact != nil {
			return a.t.Round.Last(a.who(b, r.Fact.By), a.day(r.Date))
		}
	}
	return ""
}
