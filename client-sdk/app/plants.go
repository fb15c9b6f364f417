package app

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"github.com/google/uuid"

	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/standing"
)

// standingWords maps how a plant stands to the catalogue's words for it.
var standingWords = map[standing.Standing]texts.Standing{
	standing.Clear: texts.Clear, standing.Watch: texts.Watch, standing.InTreatment: texts.InTreatment,
	standing.Quarantined: texts.Quarantined, standing.Lost: texts.Lost,
}

func (a *App) showPlants(_ context.Context, rest string) Answer {
	if rest == "new" && a.mayChange() {
		return a.screen(screens.SpotPlants, screens.PlantForm(a.t, screens.PlantFormView{Places: a.places(), Mothers: a.mothers(model.PlantID{})}))
	}
	return a.screen(screens.SpotPlants, screens.Plants(a.t, a.plantsView("")))
}

// search answers while a person types.
func (a *App) search(_ context.Context, e Event) Answer {
	return Answer{Swaps: []Swap{a.swap(screens.IDPlantList, screens.PlantList(a.t, a.plantsView(e.Data.Get("q"))))}}
}

func (a *App) plantsView(query string) screens.PlantsView {
	v := screens.PlantsView{Sample: a.house.Local(), Guest: !a.mayChange(), Query: query, Groups: a.groups(query), Removals: a.removals(model.KindPlant)}
	a.house.Read(func(b *model.Book) {
		for _, p := range b.Plants {
			if !p.Removed {
				v.Total++
			}
		}
	})
	a.markConflicts(v.Groups)
	return v
}

// markConflicts says on which plants' pages there is something to settle. Nobody would
// come upon it otherwise.
func (a *App) markConflicts(groups []screens.PlantGroup) {
	for _, group := range groups {
		for i := range group.Plants {
			row := &group.Plants[i]
			id, err := uuid.Parse(row.ID)
			if err == nil && len(a.house.Conflicts(model.Ref{Kind: model.KindPlant, ID: id})) > 0 {
				row.Note = a.t.Common.Dotted(a.t.Conflict.Row, row.Note)
			}
		}
	}
}

// groups are the living plants by place, those that a query fits.
func (a *App) groups(query string) []screens.PlantGroup {
	query = strings.ToLower(query)
	var out []screens.PlantGroup
	a.house.Read(func(b *model.Book) {
		all := a.standings(b)
		places := append(orderedPlaces(b), &model.Place{Name: a.t.Plants.Title})
		for _, place := range places {
			group := screens.PlantGroup{Place: screens.Named{ID: place.ID.String(), Name: place.Name}}
			for _, p := range plantsAt(b, place.ID) {
				if strings.Contains(strings.ToLower(p.Name+" "+p.Species+" "+place.Name), query) {
					group.Plants = append(group.Plants, a.plantRow(b, p, all[p.ID]))
				}
			}
			group.Water = !place.ID.IsZero() && len(group.Plants) == len(plantsAt(b, place.ID))
			if len(group.Plants) > 0 {
				out = append(out, group)
			}
		}
	})
	return out
}

func (a *App) plantRow(b *model.Book, p *model.Plant, s standing.Status) screens.PlantRow {
	return screens.PlantRow{ID: p.ID.String(), Name: p.Name, Species: p.Species, Standing: standingWords[s.Standing],
		Note: a.standingNote(b, s), Photo: a.lastPhoto(b, p.ID)}
}

// standingNote says in few words why a plant stands so.
func (a *App) standingNote(b *model.Book, s standing.Status) string {
	st, day := a.t.Story, func(d model.Date) string { return a.day(d) }
	switch s.Why {
	case standing.CleanLook:
		return st.WhyClear(day(s.Since))
	case standing.NeverLooked:
		return st.NeverLooked
	case standing.FoundLast:
		return st.WhyWatch(day(s.Since))
	case standing.CameInLately:
		return a.t.Common.Dotted(a.t.Words.Handling[model.CameIn], day(s.Since))
	case standing.KeptApart:
		if end := a.apartUntil(b, s.Plant); end != 0 {
			return a.t.Tasks.ApartUntil(day(s.Since), a.t.Format.Day(end))
		}
		return st.WhyQuarantined(day(s.Since))
	case standing.ThrownOut, standing.Removed:
		return a.t.Words.Handling[model.ThrownOut]
	}
	if o := b.Outbreaks[s.Outbreak]; o != nil {
		if next := a.nextStep(b, o.ID); next != "" && s.Why == standing.UnderPlan {
			return st.WhyTreatment(a.outbreakName(o), next)
		}
		return a.t.Common.Dotted(a.outbreakName(o), day(s.Since))
	}
	return ""
}

// apartUntil is when the look is due that may end a plant's time apart, 0 if none is.
func (a *App) apartUntil(b *model.Book, plant model.PlantID) model.Date {
	for _, t := range a.agenda(b).Open() {
		if t.Key.Rule == model.RuleQuarantine && t.Key.Subject == plant.UUID() {
			return t.When()
		}
	}
	return 0
}

// lastPhoto is the newest photo of a plant, or nil.
func (a *App) lastPhoto(b *model.Book, plant model.PlantID) *screens.Photo {
	for _, f := range byTimeSeen(b.PlantFacts(plant)) {
		look, ok := f.Body.(*model.Inspection)
		if ok && len(look.Photos) > 0 && b.Stands(f.ID) {
			p := a.photosOf(b, f, look)[len(look.Photos)-1]
			return &p
		}
	}
	return nil
}

// byTimeSeen are facts by when they were seen or done, the newest first.
func byTimeSeen(facts []*model.Fact) []*model.Fact {
	out := slices.Clone(facts)
	slices.SortFunc(out, func(x, y *model.Fact) int {
		return cmp.Or(cmp.Compare(y.At, x.At), model.CompareFacts(y, x))
	})
	return out
}

func (a *App) showPlant(ctx context.Context, rest string) Answer {
	text, sub := cutRoute(rest)
	plant, err := model.ParseID[model.Plant](text)
	if err != nil {
		return Answer{}
	}
	known := false
	a.house.Read(func(b *model.Book) { known = b.Plants[plant] != nil })
	if !known {
		return Answer{}
	}
	sub, walk := cutRoute(sub)
	switch {
	case sub == "edit" && a.mayChange():
		return a.screen(screens.SpotPlants, screens.PlantForm(a.t, a.plantForm(plant)))
	case sub == "recovery":
		return a.showRecovery(ctx, plant, walk == "sheet")
	case sub == "finding":
		return a.screen(findingSpot(walk), screens.Finding(a.t, a.findingView(plant, walk)))
	}
	return a.screen(screens.SpotPlants, screens.Plant(a.t, a.plantView(plant)))
}

func (a *App) plantForm(plant model.PlantID) screens.PlantFormView {
	v := screens.PlantFormView{Plant: plant.String(), Places: a.places(), Mothers: a.mothers(plant)}
	a.house.Read(func(b *model.Book) {
		p := b.Plants[plant]
		v.Name, v.Species, v.Place, v.Note, v.Edible, v.Sensitive = p.Name, p.Species, p.Place.String(), p.Note, p.Edible, p.Sensitive
		v.Thin, v.Weak, v.Mother = p.ThinLeaf, p.Weak, ""
		if b.Plants[p.CuttingOf] != nil {
			v.Mother = p.CuttingOf.String()
		}
	})
	return v
}

func (a *App) plantView(plant model.PlantID) screens.PlantView {
	var v screens.PlantView
	places := a.places()
	conflicts, guest := a.conflicts(plant), !a.mayChange()
	a.house.Read(func(b *model.Book) {
		p := b.Plants[plant]
		s, _ := standing.Of(b, plant, a.now(), a.zone)
		v = screens.PlantView{ID: plant.String(), Name: p.Name, Species: p.Species, Standing: standingWords[s.Standing], Why: a.standingNote(b, s),
			Photo: a.lastPhoto(b, plant), Note: p.Note, Edible: p.Edible, Sensitive: p.Sensitive, Isolated: s.Apart, Outdoors: isOut(b, plant), Gone: p.Removed, Guest: guest, Conflicts: conflicts}
		parts := partsToSee(b.Outbreaks[s.Outbreak])
		v.Parts, v.Confirms = model.PartsOf(parts...), a.partWords(parts)
		if at := b.Places[p.Place]; at != nil {
			v.Place = screens.Named{ID: at.ID.String(), Name: at.Name}
		}
		for _, x := range places {
			if x.ID != v.Place.ID {
				v.Places = append(v.Places, x)
			}
		}
		for _, o := range openOutbreaks(b) {
			if o.Affects[plant] {
				v.Outbreaks = append(v.Outbreaks, screens.Named{ID: o.ID.String(), Name: a.outbreakName(o)})
			}
		}
		v.Tasks, v.Held = a.plantTasks(b, plant), a.held(b, plant)
		v.Timeline, v.Older = a.told(b, plant)
	})
	return v
}

// isOut reports whether a plant went outdoors and nobody noted that it is back.
func isOut(b *model.Book, plant model.PlantID) bool {
	for _, f := range byTimeSeen(b.PlantFacts(plant)) {
		x, ok := f.Body.(*model.Handling)
		if ok && b.Stands(f.ID) && (x.Kind == model.WentOut || x.Kind == model.BackIn || x.Kind == model.CameIn) {
			return x.Kind == model.WentOut
		}
	}
	return false
}

func (a *App) showPhoto(ctx context.Context, rest string) Answer {
	text, sub := cutRoute(rest)
	sum, err := model.ParsePhotoSum(text)
	if err != nil {
		return Answer{}
	}
	if sub == "measure" {
		return a.showMeasure(ctx, sum)
	}
	var v *screens.PhotoView
	a.house.Read(func(b *model.Book) {
		for _, f := range b.Facts() {
			look, ok := f.Body.(*model.Inspection)
			if !ok || !slices.Contains(look.Photos, sum) {
				continue
			}
			photo := a.photosOf(b, f, look)[slices.Index(look.Photos, sum)]
			v = &screens.PhotoView{Photo: photo, Caption: a.t.Common.Dotted(photo.Alt, a.by(b, f)), Back: screens.PlantRoute(look.Plant.String()), BackTo: a.t.Bar.Plants}
			if p := b.Plants[look.Plant]; p != nil {
				v.BackTo = p.Name
			}
			if m := measuredIn(b, sum); m != nil {
				v.Noted = a.t.Measure.Noted[m.Verdict](a.share(m))
			}
		}
	})
	if v == nil {
		return Answer{}
	}
	return a.screen(screens.SpotPlants, screens.PhotoScreen(a.t, *v))
}
