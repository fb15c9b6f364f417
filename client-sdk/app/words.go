package app

import (
	"strings"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// This file puts facts into words, for every screen alike.

func (a *App) outbreakName(o *model.Outbreak) string { return a.t.Words.Pest[o.Pest] }

// me is whose phone this is, by the book that is being read.
func (a *App) me(b *model.Book) model.MemberID {
	if d := b.Devices[a.house.Device()]; d != nil {
		return d.Member
	}
	return model.MemberID{}
}

// who names a member; someone whose name has not arrived yet is named by role.
func (a *App) who(b *model.Book, m model.MemberID) string {
	if x := b.Members[m]; x != nil {
		if x.Name != "" {
			return x.Name
		}
		return a.t.Words.Role[x.Role]
	}
	return a.t.Words.Role[model.Helper]
}

func (a *App) day(d model.Date) string { return a.t.Format.DayNear(d, a.today()) }

func (a *App) dayOf(i model.Instant) string { return a.day(i.Date(a.zone)) }

// by is who did something and at what time of day.
func (a *App) by(b *model.Book, f *model.Fact) string {
	return a.t.Story.By(a.who(b, f.By), a.clock(f.At))
}

func (a *App) partWords(parts []model.Part) string {
	names := make([]string, len(parts))
	for i, p := range parts {
		names[i] = strings.ToLower(a.t.Words.Part[p])
	}
	return a.t.Format.List(names)
}

// lookWords is what a look found, in one sentence.
func (a *App) lookWords(look *model.Inspection) string {
	f := a.t.Format
	var found []string
	for _, x := range look.Findings {
		found = append(found, f.Finding(a.t.Words.Part[x.Part], f.Signs(x.Signs), f.Counts(x.Counts)))
	}
	words := strings.Join(found, ". ")
	if look.Damage > 0 {
		words = a.t.Common.Dotted(words, a.t.Story.Damage(int(look.Damage), a.t.Words.Damage[int(look.Damage)]))
	}
	return words
}

// photosOf are the photos of a look, described for people who do not see them.
func (a *App) photosOf(b *model.Book, f *model.Fact, look *model.Inspection) []screens.Photo {
	name := ""
	if p := b.Plants[look.Plant]; p != nil {
		name = p.Name
	}
	var out []screens.Photo
	for _, sum := range look.Photos {
		out = append(out, screens.Photo{Sum: sum.String(), Alt: a.t.Story.PhotoOf(name, a.t.Format.Day(f.At.Date(a.zone)))})
	}
	return out
}

func (a *App) plantNames(b *model.Book, ids []model.PlantID) []screens.Named {
	var out []screens.Named
	for _, id := range ids {
		if p := b.Plants[id]; p != nil {
			out = append(out, screens.Named{ID: id.String(), Name: p.Name})
		}
	}
	return out
}

func names(list []screens.Named) []string {
	out := make([]string, len(list))
	for i, n := range list {
		out[i] = n.Name
	}
	return out
}

// list joins the names of things the way the language does.
func (a *App) list(named []screens.Named) string { return a.t.Format.List(names(named)) }

// entry tells one fact as a line of a timeline; nil for facts that tell nothing
// about a plant.
func (a *App) entry(b *model.Book, f *model.Fact, doubled map[model.FactID]bool) *screens.TimelineEntry {
	e := &screens.TimelineEntry{By: a.by(b, f), Doubled: doubled[f.ID]}
	if a.mayTakeBack(b, f.ID) {
		e.Fact = factText(f.ID)
	}
	switch x := f.Body.(type) {
	case *model.Inspection:
		e.Kind, e.Title, e.Note = screens.EntryClean, a.t.Story.LookedClean, x.Note
		if x.Found() {
			e.Kind, e.Title, e.Detail = screens.EntryFinding, a.t.Story.Found, a.lookWords(x)
		}
		e.Photos = a.photosOf(b, f, x)
	case *model.Application:
		e.Kind, e.Title, e.Note = screens.EntrySpray, a.t.Story.Treated(productName(b, x.Product)), x.Note
		if len(x.Parts) > 0 {
			e.Detail = a.t.Story.On(a.partWords(x.Parts))
		}
		if x.AmountMl > 0 {
			e.Detail = a.t.Common.Dotted(e.Detail, a.t.Format.Ml(x.AmountMl))
		}
	case *model.Handling:
		e.Kind, e.Title, e.Note = screens.EntryHandled, a.t.Words.Handling[x.Kind], x.Note
		if p := b.Places[x.Place]; p != nil {
			e.Detail = p.Name
		}
	default:
		return nil
	}
	if w := b.WithdrawnBy(f.ID); w != nil {
		e.Withdrawn = a.t.Common.Dotted(a.who(b, w.By), w.Body.(*model.Withdrawn).Note)
	}
	return e
}

func productName(b *model.Book, id model.ProductID) string {
	if p := b.Products[id]; p != nil {
		return p.Name
	}
	return ""
}

// timeline tells facts by day, the newest first. keep chooses among them.
func (a *App) timeline(b *model.Book, facts []*model.Fact, keep func(*model.Fact) bool) []screens.TimelineDay {
	days, _ := a.page(b, facts, keep, len(facts))
	return days
}

// page is the days of a timeline from the newest on, as many as hold so many entries, and
// whether there are older ones. A day is never cut in two.
func (a *App) page(b *model.Book, facts []*model.Fact, keep func(*model.Fact) bool, most int) (days []screens.TimelineDay, older bool) {
	doubled, last := a.doubled(b), model.Date(0)
	for _, f := range byTimeSeen(facts) {
		if !keep(f) {
			continue
		}
		e := a.entry(b, f, doubled)
		if e == nil {
			continue
		}
		if day := f.At.Date(a.zone); len(days) == 0 || day != last {
			if most <= 0 {
				return days, true
			}
			days, last = append(days, screens.TimelineDay{Date: a.t.Format.DayFar(day, a.today())}), day
		}
		on := &days[len(days)-1]
		on.Entries = append(on.Entries, *e)
		most--
	}
	return days, false
}
