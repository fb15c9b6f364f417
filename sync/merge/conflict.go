package merge

import (
	"slices"

	"leafturn/model"
	"leafturn/sync/hlc"
)

// Conflict is a field that people set without knowing of each other: one setting
// counts, and the others lost against it.
type Conflict struct {
	Key  model.FieldKey
	Now  Write
	Lost []Write // never empty
}

// Conflicts gives the conflicts of a record, in a fixed order. Whether it is removed is
// not among them, see Removals.
func (s *State) Conflicts(ref model.Ref) []Conflict {
	var out []Conflict
	for _, key := range sortedKeys(s.registers[ref], compareFieldKeys) {
		if key == removedKey(ref.Kind) {
			continue
		}
		if lost := s.Lost(ref, key); len(lost) > 0 {
			out = append(out, Conflict{Key: key, Now: s.Current(ref, key), Lost: lost})
		}
	}
	return out
}

// Lost gives the settings that no later author had seen and that did not win: what
// somebody wrote while somebody else wrote something different. A value that somebody
// wrote again later is judged by that later setting.
func (s *State) Lost(ref model.Ref, key model.FieldKey) []Write {
	ws := s.registers[ref][key]
	if len(ws) < 2 {
		return nil
	}
	seen := map[model.FactID]bool{}
	for _, w := range ws {
		if !w.void {
			seen[w.Over] = true
		}
	}
	now := current(ws)
	var lost []Write
	for i, w := range ws {
		again := func(later Write) bool { return !later.void && later.Value == w.Value }
		if !w.void && !seen[w.By] && w.Value != now.Value && !slices.ContainsFunc(ws[i+1:], again) {
			lost = append(lost, w)
		}
	}
	return lost
}

// Removal is a record that somebody removed while others changed it: whoever removed
// it had not seen their settings, or they noted something later because they did not know
// that it was removed. All that is kept, and shows again when the record is brought back.
type Removal struct {
	Record model.Ref
	Key    model.FieldKey // of the field that says so
	By     Write
	Beside []Edit        // the settings that were not seen
	Since  []*model.Fact // what others noted of a plant after that; one of the two is not empty
}

// Edit is a setting and its field.
type Edit struct {
	Key model.FieldKey
	Write
}

// Removals gives the records that are removed and were changed beside that, in a fixed
// order.
func (s *State) Removals() []Removal {
	var out []Removal
	for _, ref := range sortedKeys(s.registers, compareRefs) {
		by := s.Current(ref, removedKey(ref.Kind))
		if !by.Value.True() {
			continue
		}
		x := Removal{Record: ref, Key: removedKey(ref.Kind), By: by, Beside: s.beside(ref, by), Since: s.since(ref, by)}
		if len(x.Beside)+len(x.Since) > 0 {
			out = append(out, x)
		}
	}
	return out
}

// beside finds the settings that whoever removed a record had not seen: those of
// others that come after the last setting of the record that the removal names.
func (s *State) beside(ref model.Ref, removal Write) []Edit {
	seen := placeOfWrite(removal)
	for _, ws := range s.registers[ref] {
		for _, w := range ws {
			if w.By == removal.Over {
				seen = placeOfWrite(w)
			}
		}
	}
	var out []Edit
	for _, key := range sortedKeys(s.registers[ref], compareFieldKeys) {
		w := s.Current(ref, key)
		if key != removedKey(ref.Kind) && w.By.Device != removal.By.Device && placeOfWrite(w).compare(seen) > 0 {
			out = append(out, Edit{Key: key, Write: w})
		}
	}
	return out
}

// since finds what others noted of a plant after it was removed, but for those who noted
// that it is gone. What they noted before that, whoever removed it was later than.
func (s *State) since(ref model.Ref, removal Write) []*model.Fact {
	if ref.Kind != model.KindPlant {
		return nil
	}
	var out []*model.Fact
	for _, f := range s.book.PlantFacts(model.PlantID(ref.ID)) {
		x, handled := f.Body.(*model.Handling)
		gone := handled && x.Kind == model.ThrownOut
		if f.ID.Device != removal.By.Device && hlc.Stamp(f.Stamp) > removal.Stamp && !gone && s.book.Stands(f.ID) {
			out = append(out, f)
		}
	}
	return out
}

func placeOfWrite(w Write) place { return place{w.Stamp, w.By} }

// Over is what a new setting of a field names as seen: the one that counts now. To
// remove a record, or to bring it back, is about all its fields, so that names the last
// setting of any of them.
func (s *State) Over(ref model.Ref, key model.FieldKey) model.FactID {
	if key != removedKey(ref.Kind) {
		return s.Current(ref, key).By
	}
	var last Write
	for _, ws := range s.registers[ref] {
		if w := current(ws); w != nil && placeOfWrite(last).compare(placeOfWrite(*w)) < 0 {
			last = *w
		}
	}
	return last.By
}

// removedKey is the field that says that a record is removed, the zero key for kinds
// that nobody removes.
func removedKey(k model.Kind) model.FieldKey {
	switch k {
	case model.KindPlant:
		return model.FieldKey{Field: model.PlantRemoved}
	case model.KindPlace:
		return model.FieldKey{Field: model.PlaceRemoved}
	case model.KindProduct:
		return model.FieldKey{Field: model.ProductRemoved}
	}
	return model.FieldKey{}
}
