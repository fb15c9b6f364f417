package app

import (
	"context"
	"strconv"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/client-sdk/screens/texts"
	"leafturn/model"
	"leafturn/model/standing"
)

// afterFinding is the finding that was just saved and awaits a decision.
type afterFinding struct {
	fact  model.FactID
	plant model.PlantID
	walk  string // the walk it was part of, "" outside one

	answers asked // what was looked for since, to tell the suspects apart
}

// saveFinding notes the look with its photos, which are kept already. While one is
// still being made ready the form waits for it, so that no look points at a photo that
// is not there.
func (a *App) saveFinding(ctx context.Context, e Event) Answer {
	d := e.Data
	plant, walk := id[model.Plant](d, "plant"), d.Get("place")
	look, ok := readLook(d, plant)
	taken := a.shotsOf(plant)
	if taken.working > 0 {
		taken.save = &e
		return Answer{Keep: true}
	}
	if look.Photos = taken.sums(); !ok && len(look.Photos) == 0 {
		return a.findingAgain(plant, walk, a.t.Say.NeedSigns)
	}
	a.partOf(walk, look)
	ids, failed := a.write(ctx, replica.Seen(look))
	if failed != nil {
		return *failed
	}
	a.shots = nil
	a.readQueue(ctx)
	a.after = &afterFinding{fact: ids[0], plant: plant, walk: walk, answers: askedIn(d)}
	undo := a.undoFacts(ids)
	answer := a.showAfter(ctx)
	answer.Say, answer.Undo = a.t.Say.FindingSaved(a.plantName(plant)), undo
	return answer
}

// findingAgain shows the form again with what is wrong. What was entered stays.
func (a *App) findingAgain(plant model.PlantID, walk, problem string) Answer {
	v := a.findingView(plant, walk)
	v.Problem = problem
	answer := a.screen(findingSpot(walk), screens.Finding(a.t, v))
	answer.Keep = true
	return answer
}

// readLook reads the form. It reports false if nothing was found by it.
func readLook(d Data, plant model.PlantID) (*model.Inspection, bool) {
	var signs model.Signs
	for _, s := range d["sign"] {
		if n, err := strconv.ParseUint(s, 10, 32); err == nil {
			signs |= model.Signs(n)
		}
	}
	for sign, answer := range askedIn(d) {
		if answer == screens.AnswerSeen {
			signs |= sign
		}
	}
	var counts model.Counts
	for i := range counts {
		counts[i] = uint16(min(max(d.Int("count"+strconv.Itoa(i)), 0), 65535))
	}
	look := &model.Inspection{Plant: plant, Damage: uint8(min(max(d.Int("damage"), 0), texts.MostDamage)), Note: d.Get("note")}
	look.Aid, look.Growing, look.Absent = model.Aid(min(max(d.Int("aid"), 0), int(model.PaperTap))), d.On("growing"), absentIn(d)&^signs
	parts := d["part"]
	if len(parts) == 0 {
		parts = []string{strconv.Itoa(int(model.Underside))}
	}
	for i, p := range parts {
		n, err := strconv.Atoi(p)
		if err != nil {
			continue
		}
		f := model.Finding{Part: model.Part(n), Signs: signs}
		if i == 0 {
			f.Counts = counts // the animals were counted once, at the first part named
		}
		look.Findings = append(look.Findings, f)
	}
	look.Looked = lookedIn(d, look.Findings)
	return look, signs != 0 || counts.Total() > 0 || look.Damage > 0
}

// lookedIn is the parts that somebody says were looked at, and with them those at which
// something was found; none if nobody said.
func lookedIn(d Data, findings []model.Finding) model.PartSet {
	var at model.PartSet
	for _, text := range d["looked"] {
		if n, err := strconv.Atoi(text); err == nil && n >= int(model.Underside) && n <= int(model.LeafStalk) {
			at |= model.PartsOf(model.Part(n))
		}
	}
	if at == 0 {
		return 0
	}
	for _, f := range findings {
		at |= model.PartsOf(f.Part)
	}
	return at
}

// absentIn is the signs that somebody looked for and did not see.
func absentIn(d Data) model.Signs {
	var signs model.Signs
	for sign, answer := range askedIn(d) {
		if answer == screens.AnswerAbsent {
			signs |= sign
		}
	}
	return signs
}

func findingSpot(walk string) screens.Spot {
	if walk == "" {
		return screens.SpotPlants
	}
	return screens.SpotRound
}

func (a *App) findingView(plant model.PlantID, walk string) screens.FindingView {
	v := screens.FindingView{Plant: plant.String(), Name: a.plantName(plant), Place: walk, Shots: a.shotsView(a.shotsOf(plant)), Identify: &screens.IdentifyView{Plant: plant.String()}}
	a.house.Read(func(b *model.Book) {
		if p := b.Plants[plant]; p != nil {
			if at := b.Places[p.Place]; at != nil {
				v.Where = at.Name
			}
		}
	})
	return v
}

// showAfter asks what to do about the finding.
func (a *App) showAfter(ctx context.Context) Answer {
	if a.after == nil {
		return a.Go(ctx, screens.RouteToday)
	}
	v := screens.AfterView{Plant: a.after.plant.String(), Name: a.plantName(a.after.plant), Finding: factText(a.after.fact), Next: screens.PlantRoute(a.after.plant.String()), Guest: !a.mayChange()}
	if a.after.walk != "" {
		v.Place, v.Next = a.after.walk, screens.RoundRoute(a.after.walk)
	}
	a.house.Read(func(b *model.Book) {
		if f, ok := b.Fact(a.after.fact); ok {
			if look, ok := f.Body.(*model.Inspection); ok {
				v.Summary = a.lookWords(look)
				v.Photos = a.photosOf(b, f, look)
				v.Guess = likeliest(look, a.after.answers)
				if v.Identify = a.identifyView(look, a.after.answers); v.Identify != nil {
					v.Identify.Finding = v.Finding
				}
			}
		}
		s, _ := standing.Of(b, a.after.plant, a.now(), a.zone)
		v.Isolated = s.Apart
		for _, o := range openOutbreaks(b) {
			if o.Affects[a.after.plant] {
				v.Within = a.outbreakName(o)
				continue
			}
			v.Outbreaks = append(v.Outbreaks, screens.Named{ID: o.ID.String(), Name: a.outbreakName(o)})
		}
	})
	return a.screen(findingSpot(a.after.walk), screens.After(a.t, v))
}

func (a *App) keepWatching(ctx context.Context, e Event) Answer {
	a.after = nil
	if walk := e.Data.Get("place"); walk != "" {
		return Answer{Go: screens.RoundRoute(walk)}
	}
	return Answer{Go: screens.PlantRoute(e.Data.Get("plant"))}
}
