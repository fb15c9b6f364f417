package simtest_test

import (
	"fmt"
	"time"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// What people write. The ids are those of package mergetest's bodies, so that its
// facts are about this household.

var (
	plants = []model.PlantID{mergetest.ID[model.Plant]("fern"), mergetest.ID[model.Plant]("ivy"), mergetest.ID[model.Plant]("lemon")}
	places = []model.PlaceID{mergetest.ID[model.Place]("sill"), mergetest.ID[model.Place]("bathroom")}
	soap   = mergetest.ID[model.Product]("soap")
	thrips = mergetest.ID[model.Outbreak]("thrips")
)

// furniture is what the founder writes on the first evening.
func furniture() []any {
	out := []any{
		replica.Set(model.KindProduct, soap, replica.To(model.ProductName, model.Text("soap")), replica.To(model.ProductMinInterval, model.Int(5))),
		replica.Set(model.KindOutbreak, thrips, replica.To(model.OutbreakPest, model.Int(model.PestThrips)), replica.To(model.OutbreakOpened, model.Int(20_700))),
	}
	for i, id := range places {
		out = append(out, replica.Set(model.KindPlace, id, replica.To(model.PlaceName, model.Text(fmt.Sprintf("place %d", i)))))
	}
	for i, id := range plants {
		out = append(out, replica.Set(model.KindPlant, id, replica.To(model.PlantName, model.Text(fmt.Sprintf("plant %d", i))),
			replica.To(model.PlantPlace, model.IDValue(places[i%2]))))
	}
	return append(out, replica.Seen(mergetest.Facts(model.FactID{}, plants...)["plan"]))
}

// body is something that a person may write: settings that several quarrel about,
// looks with notes of their own, and now and then a fact of any kind.
func (w *world) body(p *phone) (body any, words string) {
	plant := pick(w.random, plants)
	text := fmt.Sprintf("%x", w.random.Uint32())
	switch w.random.IntN(8) {
	case 0, 1:
		return replica.Set(model.KindPlant, plant, replica.To(model.PlantName, model.Text(text))), "the name " + text
	case 2:
		return replica.Set(model.KindPlant, plant, replica.To(model.PlantPlace, model.IDValue(pick(w.random, places)))), "where a plant stands"
	case 3:
		return replica.Set(model.KindPlace, pick(w.random, places), replica.To(model.PlaceRoundEvery, model.Int(1+w.random.Int64N(9)))), "a rhythm"
	case 4:
		return replica.Set(model.KindHousehold, p.Household(), replica.To(model.HouseholdName, model.Text(text))), "the household's name"
	case 5:
		name := pick(w.random, mergetest.FactNames())
		return replica.Seen(mergetest.Facts(w.someFact(p), plants...)[name]), "a fact: " + name
	case 6:
		if id := w.someFact(p); id.Seq > 1 {
			return replica.Seen(&model.Withdrawn{Fact: id}), fmt.Sprintf("that %v does not count", id)
		}
	}
	return replica.Seen(&model.Inspection{Plant: plant, Note: text}), "the look " + text
}

// isSaidAgain lets somebody write what is there already, as phones do that do not know it
// yet; and perhaps take it back, which takes back both.
func (w *world) isSaidAgain() error {
	p := w.somePhone()
	id := w.someFact(p)
	var f *model.Fact
	p.Read(func(b *model.Book) { f, _ = b.Fact(id) })
	if f == nil || f.ID.Device == p.Device() {
		return nil
	}
	if _, back := f.Body.(*model.Withdrawn); back {
		return nil
	}
	w.say("%s says again %v", p.name, f.ID)
	bodies := []any{&model.Fact{At: f.At, By: f.By, Body: f.Body}}
	if w.random.IntN(2) == 0 {
		again := model.FactID{Device: p.Device(), Seq: p.Vector()[p.Device()] + 1}
		bodies = append(bodies, replica.Seen(&model.Withdrawn{Fact: again}))
	}
	return p.do(bodies...)
}

// someFact is a fact that the phone knows.
func (w *world) someFact(p *phone) model.FactID {
	id := model.FactID{Device: p.Device(), Seq: 1}
	p.Read(func(b *model.Book) {
		if facts := b.Facts(); len(facts) > 0 {
			id = pick(w.random, facts).ID
		}
	})
	return id
}

// agenda is what the phone says is to be done.
func (p *phone) agenda() (a *agenda.Agenda) {
	p.Read(func(b *model.Book) { a = agenda.Derive(b, model.Instant(p.w.now), time.UTC) })
	return a
}

// work takes up one of the tasks that the phone shows, nil if there is none.
func (w *world) work(p *phone) (body any, words string) {
	open := p.agenda().Open()
	if len(open) == 0 {
		return nil, ""
	}
	t := pick(w.random, open)
	words = fmt.Sprintf("task %d of rule %d", t.Key.Ordinal, t.Key.Rule)
	switch w.random.IntN(6) {
	case 0:
		return replica.Seen(&model.TaskClaimed{Task: t.Key, Until: model.Instant(w.now + hour)}), "claims " + words
	case 1:
		return replica.Seen(&model.TaskPutOff{Task: t.Key, Until: model.Instant(w.now).Date(time.UTC) + 2, Reason: model.TooHot}), "puts off " + words
	}
	if t.Key.Rule == model.RuleSpray && len(t.Plants) > 0 {
		return replica.Seen(&model.Application{Plants: t.Plants, Product: soap, Outbreak: thrips, Completes: t.Key}), "sprays for " + words
	}
	return replica.Seen(&model.TaskCompleted{Task: t.Key}), "completes " + words
}

// glance looks at the tasks of a phone: a task keeps its id for ever, and an id
// its task.
func (w *world) glance(p *phone) error {
	if w.random.IntN(4) > 0 {
		return nil
	}
	for _, t := range p.agenda().Open() {
		id, seen := w.ids[t.Key]
		key, taken := w.tasks[t.ID]
		if seen && id != t.ID || taken && key != t.Key {
			return fmt.Errorf("%s: task %v has changed its id", p.name, t.Key)
		}
		w.ids[t.Key], w.tasks[t.ID] = t.ID, t.Key
	}
	return nil
}

// lastOf is a register's write with the greatest stamp, then device, then number.
func lastOf(writes []merge.Write) merge.Write {
	var last merge.Write
	for _, one := range writes {
		if one.Stamp > last.Stamp || one.Stamp == last.Stamp && one.By.Compare(last.By) > 0 {
			last = one
		}
	}
	return last
}

// settings gathers all writes of each register from the operations themselves.
func settings(ops []*oplog.Op) map[model.Ref]map[model.FieldKey][]merge.Write {
	out := map[model.Ref]map[model.FieldKey][]merge.Write{}
	for _, op := range ops {
		s, ok := op.Body.(*oplog.Set)
		if !ok {
			continue
		}
		if out[s.Record] == nil {
			out[s.Record] = map[model.FieldKey][]merge.Write{}
		}
		for _, f := range s.Fields {
			out[s.Record][f.Key] = append(out[s.Record][f.Key], merge.Write{By: op.ID, Stamp: op.Stamp, Value: f.Value, Over: f.Over})
		}
	}
	return out
}
