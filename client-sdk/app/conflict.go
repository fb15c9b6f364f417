package app

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// refText and parseRef are how a record travels to the page and back.
func refText(r model.Ref) string { return strconv.Itoa(int(r.Kind)) + "." + r.ID.String() }

func parseRef(text string) (model.Ref, bool) {
	kind, id, _ := strings.Cut(text, ".")
	k, err1 := strconv.ParseUint(kind, 10, 8)
	u, err2 := uuid.Parse(id)
	return model.Ref{Kind: model.Kind(k), ID: u}, err1 == nil && err2 == nil
}

// plantLabel is what the form calls a plant's field, "" for one that no person sets.
func (a *App) plantLabel(f model.Field) string {
	p, c := a.t.PlantForm, a.t.Conflict
	return map[model.Field]string{
		model.PlantName: p.NameLabel, model.PlantSpecies: p.SpeciesLabel, model.PlantPlace: p.PlaceLabel, model.PlantNote: a.t.Common.Note,
		model.PlantEdible: p.EdibleLabel, model.PlantSensitive: p.SensitiveLabel, model.PlantWeak: p.WeakLabel, model.PlantThinLeaf: p.ThinLabel,
		model.PlantCuttingOf: p.MotherLabel, model.PlantPotTop: c.PotTop, model.PlantPotBottom: c.PotBottom, model.PlantPotHeight: c.Pot,
	}[f]
}

// conflicts are the fields of a plant that people set without knowing of each other.
func (a *App) conflicts(plant model.PlantID) []screens.Conflict {
	ref := model.Ref{Kind: model.KindPlant, ID: plant.UUID()}
	found, decide := a.house.Conflicts(ref), a.mayChange()
	var out []screens.Conflict
	a.house.Read(func(b *model.Book) {
		for _, c := range found {
			x := screens.Conflict{Record: refText(ref), Key: strconv.Itoa(int(c.Key.Field)), Field: a.plantLabel(c.Key.Field), Decide: decide}
			for _, w := range append([]merge.Write{c.Now}, c.Lost...) {
				x.Values = append(x.Values, screens.ConflictValue{Write: factText(w.By), Value: a.valueText(b, w.Value), By: a.writer(b, w)})
			}
			out = append(out, x)
		}
	})
	return out
}

// mayChange reports whether this phone may change records, which guests may not.
func (a *App) mayChange() bool {
	role := a.house.Role()
	return role == model.Keeper || role == model.Helper
}

// writer is who wrote a setting, and when.
func (a *App) writer(b *model.Book, w merge.Write) string {
	at := model.Instant(w.Stamp.Millis())
	return a.t.Conflict.By(a.author(b, w.By.Device), a.dayOf(at), a.clock(at))
}

// author names the member whose phone wrote.
func (a *App) author(b *model.Book, d model.DeviceID) string {
	if x := b.Devices[d]; x != nil {
		return a.who(b, x.Member)
	}
	return a.who(b, model.MemberID{})
}

// valueText is a value as a person reads it.
func (a *App) valueText(b *model.Book, v model.Value) string {
	c := a.t.Conflict
	text := v.Text
	switch v.Type {
	case model.TypeBool:
		text = c.No
		if v.True() {
			text = c.Yes
		}
	case model.TypeInt:
		text = c.Millimetres(int(v.Int))
	case model.TypeID:
		if p := b.Places[model.PlaceID(v.ID)]; p != nil {
			text = p.Name
		} else if p := b.Plants[model.PlantID(v.ID)]; p != nil {
			text = p.Name
		}
	}
	if text == "" {
		return c.Nothing
	}
	return text
}

// choose settles a conflict for one of its values.
func (a *App) choose(ctx context.Context, e Event) Answer {
	ref, ok := parseRef(e.Data.Get("record"))
	by, known := parseFact(e.Data.Get("write"))
	if !ok || !known {
		return Answer{}
	}
	say := a.t.Conflict.Chosen
	if err := a.house.Choose(ctx, ref, model.FieldKey{Field: model.Field(e.Data.Int("field"))}, by); err != nil {
		say = a.words(err)
	}
	answer := a.Go(ctx, a.route)
	answer.Say = say
	return answer
}

// removals are records of some kinds that were removed while others changed them.
func (a *App) removals(kinds ...model.Kind) []screens.Removal {
	var out []screens.Removal
	found, decide := a.house.Removals(), a.mayChange()
	a.house.Read(func(b *model.Book) {
		for _, x := range found {
			if !slices.Contains(kinds, x.Record.Kind) {
				continue
			}
			name := a.recordName(b, x.Record)
			var words []string
			if len(x.Beside) > 0 {
				words = append(words, a.t.Conflict.Removed(name, a.author(b, x.By.By.Device), a.editors(b, x), a.edited(x)))
			}
			if len(x.Since) > 0 {
				words = append(words, a.t.Conflict.RemovedUnknown(name, a.author(b, x.By.By.Device), a.noters(b, x)))
			}
			out = append(out, screens.Removal{Record: refText(x.Record), Name: name, Decide: decide, Words: strings.Join(words, " ")})
		}
	})
	return out
}

// editors names who changed what was removed, each once.
func (a *App) editors(b *model.Book, x merge.Removal) string {
	var devices []model.DeviceID
	for _, edit := range x.Beside {
		devices = append(devices, edit.By.Device)
	}
	return a.authors(b, devices)
}

// noters names who noted something of what was removed, each once.
func (a *App) noters(b *model.Book, x merge.Removal) string {
	var devices []model.DeviceID
	for _, f := range x.Since {
		devices = append(devices, f.ID.Device)
	}
	return a.authors(b, devices)
}

func (a *App) authors(b *model.Book, devices []model.DeviceID) string {
	var names []string
	for _, d := range devices {
		if name := a.author(b, d); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return a.t.Format.List(names)
}

// edited names the fields that were changed, each once.
func (a *App) edited(x merge.Removal) string {
	var labels []string
	for _, edit := range x.Beside {
		label := a.t.Conflict.Facts
		if x.Record.Kind == model.KindPlant {
			label = strings.ToLower(a.plantLabel(edit.Key.Field))
		}
		if !slices.Contains(labels, label) {
			labels = append(labels, label)
		}
	}
	return a.t.Format.List(labels)
}

func (a *App) recordName(b *model.Book, ref model.Ref) string {
	switch ref.Kind {
	case model.KindPlant:
		if p := b.Plants[model.PlantID(ref.ID)]; p != nil {
			return p.Name
		}
	case model.KindPlace:
		if p := b.Places[model.PlaceID(ref.ID)]; p != nil {
			return p.Name
		}
	case model.KindMember:
		return a.who(b, model.MemberID(ref.ID))
	case model.KindOutbreak:
		if o := b.Outbreaks[model.OutbreakID(ref.ID)]; o != nil {
			return a.outbreakName(o)
		}
	}
	if name := productName(b, model.ProductID(ref.ID)); name != "" {
		return name
	}
	return a.t.Members.OtherEntry
}

// bringBack shows a removed record again, with all that was changed in it.
func (a *App) bringBack(ctx context.Context, e Event) Answer {
	return a.decideRemoval(ctx, e, false, a.t.Conflict.Back)
}

// leaveRemoved removes a record again, with what was changed in it seen.
func (a *App) leaveRemoved(ctx context.Context, e Event) Answer {
	return a.decideRemoval(ctx, e, true, a.t.Conflict.Left)
}

// notGone takes back that a plant is gone, which was noted when it was removed. Else it
// would be on its list again and nobody would be asked to look at it.
func (a *App) notGone(ref model.Ref) []any {
	if ref.Kind != model.KindPlant {
		return nil
	}
	var ops []any
	a.house.Read(func(b *model.Book) {
		for _, f := range b.PlantFacts(model.PlantID(ref.ID)) {
			x, ok := f.Body.(*model.Handling)
			if ok && x.Kind == model.ThrownOut && len(x.Plants) == 1 && b.Stands(f.ID) {
				ops = append(ops, replica.Seen(&model.Withdrawn{Fact: f.ID}))
			}
		}
	})
	return ops
}

func (a *App) decideRemoval(ctx context.Context, e Event, removed bool, say func(name string) string) Answer {
	ref, ok := parseRef(e.Data.Get("record"))
	if !ok {
		return Answer{}
	}
	name := ""
	for _, x := range a.house.Removals() {
		if x.Record == ref {
			a.house.Read(func(b *model.Book) { name = a.recordName(b, ref) })
			ops := []any{&oplog.Set{Record: ref, Fields: []oplog.Setting{{Key: x.Key, Value: model.Bool(removed)}}}}
			if !removed {
				ops = append(ops, a.notGone(ref)...)
			}
			if _, failed := a.write(ctx, ops...); failed != nil {
				return *failed
			}
		}
	}
	if name == "" {
		return Answer{Say: replica.ErrSettled.Words}
	}
	answer := a.Go(ctx, a.route)
	answer.Say = say(name)
	return answer
}
