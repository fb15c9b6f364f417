package model

import (
	"cmp"
	"slices"
)

// Book is a household as one reads it: the current value of every record, and
// every fact. It is the fold of the household's logs (package sync/merge makes
// it) and the input of everything derived (tasks, standings, timelines).
//
// A Book is not safe for concurrent use, because facts are put in order when
// they are next read.
type Book struct {
	Household Household
	Members   map[MemberID]*Member
	Devices   map[DeviceID]*Device
	Places    map[PlaceID]*Place
	Plants    map[PlantID]*Plant
	Products  map[ProductID]*Product
	Outbreaks map[OutbreakID]*Outbreak

	facts     factList
	byPlant   map[PlantID]*factList
	logs      map[DeviceID]*logFacts
	withdrawn map[FactID]*factList // withdrawals, by the fact they withdraw
	plans     map[OutbreakID]*factList
	same      map[FactID]*Fact    // what a repeat repeats
	repeats   map[FactID][]FactID // of a fact
}

// NewBook makes the book of an empty household.
func NewBook(id HouseholdID) *Book {
	return &Book{
		Household: Household{ID: id},
		Members:   map[MemberID]*Member{},
		Devices:   map[DeviceID]*Device{},
		Places:    map[PlaceID]*Place{},
		Plants:    map[PlantID]*Plant{},
		Products:  map[ProductID]*Product{},
		Outbreaks: map[OutbreakID]*Outbreak{},
		byPlant:   map[PlantID]*factList{},
		logs:      map[DeviceID]*logFacts{},
		withdrawn: map[FactID]*factList{},
		plans:     map[OutbreakID]*factList{},
		same:      map[FactID]*Fact{},
		repeats:   map[FactID][]FactID{},
	}
}

// Grow makes room for n facts more, for those who know that they come.
func (b *Book) Grow(n int) { b.facts.facts = slices.Grow(b.facts.facts, n) }

// GrowLog makes room for n facts more of a device.
func (b *Book) GrowLog(id DeviceID, n int) {
	l := b.log(id)
	l.facts = slices.Grow(l.facts, n)
}

func (b *Book) log(id DeviceID) *logFacts {
	return at(b.logs, id, func(DeviceID) *logFacts { return &logFacts{} })
}

// Add puts a fact into the book. Adding one twice has no further effect.
func (b *Book) Add(f *Fact) {
	if !b.log(f.ID.Device).add(f) {
		return
	}
	b.facts.add(f)
	switch x := f.Body.(type) {
	case *Withdrawn:
		listAt(b.withdrawn, x.Fact).add(f)
	case *PlanAccepted:
		listAt(b.plans, x.Outbreak).add(f)
	}
	b.eachPlant(f.Body, func(id PlantID) { listAt(b.byPlant, id).add(f) })
}

// Repeat notes that an entry says what a fact of the book says and is not to count
// beside it. Whoever names the one means the other.
func (b *Book) Repeat(id FactID, of *Fact) {
	b.same[id] = of
	b.repeats[of.ID] = append(b.repeats[of.ID], id)
}

func listAt[K comparable](m map[K]*factList, id K) *factList {
	return at(m, id, func(K) *factList { return &factList{} })
}

func (b *Book) eachPlant(body Body, do func(PlantID)) {
	switch x := body.(type) {
	case *Inspection:
		do(x.Plant)
	case *Application:
		eachOnce(x.Plants, do)
	case *Handling:
		eachOnce(x.Plants, do)
	case *PlanAccepted:
		eachOnce(x.Plants, do)
	case *Measurement:
		do(x.Plant)
	}
}

func eachOnce(ids []PlantID, do func(PlantID)) {
	for i, id := range ids {
		if !slices.Contains(ids[:i], id) {
			do(id)
		}
	}
}

// Facts gives every fact, withdrawn ones too, in order of writing. The caller
// must not change the slice.
func (b *Book) Facts() []*Fact { return b.facts.sorted() }

// PlantFacts gives the facts about one plant, withdrawn ones too, in order of writing.
func (b *Book) PlantFacts(id PlantID) []*Fact {
	if l := b.byPlant[id]; l != nil {
		return l.sorted()
	}
	return nil
}

// DeviceFacts gives the facts that one device wrote, in the order of its log. The
// caller must not change the slice.
func (b *Book) DeviceFacts(id DeviceID) []*Fact {
	if l := b.logs[id]; l != nil {
		return l.facts
	}
	return nil
}

// Fact finds a fact by its id, or by that of a repeat.
func (b *Book) Fact(id FactID) (*Fact, bool) {
	if f := b.same[id]; f != nil {
		return f, true
	}
	if l := b.logs[id.Device]; l != nil {
		return l.find(id.Seq)
	}
	return nil, false
}

// Plans gives the plans accepted for an outbreak that stand, in order of writing.
// The last one rules.
func (b *Book) Plans(o OutbreakID) []*Fact {
	var standing []*Fact
	if l := b.plans[o]; l != nil {
		for _, f := range l.sorted() {
			if b.Stands(f.ID) {
				standing = append(standing, f)
			}
		}
	}
	return standing
}

// Stands reports whether a fact counts: nobody has withdrawn it.
func (b *Book) Stands(id FactID) bool { return b.WithdrawnBy(id) == nil }

// WithdrawnBy gives the earliest fact that withdrew this one or a repeat of it, and
// that was not itself withdrawn, or nil. A withdrawal counts only if it was written
// after what it withdraws, so that two can never withdraw each other.
func (b *Book) WithdrawnBy(id FactID) *Fact {
	if b.withdrawn[id] == nil && b.same[id] == nil && len(b.repeats[id]) == 0 {
		return nil // so it is with nearly every fact, and all are asked about
	}
	target, _ := b.Fact(id)
	if target == nil || len(b.repeats[target.ID]) == 0 {
		return b.withdrawal(id, target)
	}
	first := b.withdrawal(target.ID, target)
	for _, again := range b.repeats[target.ID] {
		if w := b.withdrawal(again, target); w != nil && (first == nil || CompareFacts(w, first) < 0) {
			first = w
		}
	}
	return first
}

// withdrawal gives the earliest that names an id and counts.
func (b *Book) withdrawal(id FactID, target *Fact) *Fact {
	l := b.withdrawn[id]
	if l == nil {
		return nil
	}
	for _, w := range l.sorted() {
		if (target == nil || CompareFacts(target, w) < 0) && b.Stands(w.ID) {
			return w
		}
	}
	return nil
}

// Len is the number of facts.
func (b *Book) Len() int { return len(b.facts.facts) }

// CompareFacts orders facts by when they were written, then by id: the same
// order on every phone.
func CompareFacts(a, c *Fact) int {
	if a.Stamp != c.Stamp {
		return cmp.Compare(a.Stamp, c.Stamp)
	}
	return a.ID.Compare(c.ID)
}

// Admit puts a device and its member into the book. The member's role is the
// caller's to set: whoever is in the book without a role may no longer write.
func (b *Book) Admit(d Device) {
	at(b.Members, d.Member, func(id MemberID) *Member { return &Member{ID: id} })
	dev := at(b.Devices, d.ID, func(id DeviceID) *Device { return &Device{ID: id} })
	dev.Member, dev.Key, dev.Since, dev.Ended = d.Member, d.Key, d.Since, d.Ended
}

// EachPhoto gives every photo that a fact shows, withdrawn facts' too, in order of
// writing. A photo that several facts show comes several times.
func (b *Book) EachPhoto(do func(PhotoSum, *Fact)) {
	for _, f := range b.Facts() {
		switch x := f.Body.(type) {
		case *Inspection:
			for _, sum := range x.Photos {
				do(sum, f)
			}
		case *CardReading:
			if x.Photo != (PhotoSum{}) {
				do(x.Photo, f)
			}
		case *Measurement:
			do(x.Photo, f)
		}
	}
}
