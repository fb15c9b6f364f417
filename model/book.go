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
	index     map[FactID]*Fact
	withdrawn map[FactID]*Fact // what was withdrawn, by the fact that did it
}

// factList is facts in order of writing, sorted when it is next read.
type factList struct {
	facts []*Fact
	dirty bool
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
		index:     map[FactID]*Fact{},
		withdrawn: map[FactID]*Fact{},
	}
}

// Add puts a fact into the book. Adding one twice has no further effect.
func (b *Book) Add(f *Fact) {
	if _, ok := b.index[f.ID]; ok {
		return
	}
	b.index[f.ID] = f
	b.facts.add(f)
	if w, ok := f.Body.(*Withdrawn); ok {
		b.withdraw(w.Fact, f)
	}
	b.eachPlant(f.Body, func(id PlantID) {
		l := b.byPlant[id]
		if l == nil {
			l = &factList{}
			b.byPlant[id] = l
		}
		l.add(f)
	})
}

// withdraw keeps the earliest withdrawal, so that the order of arrival shows nowhere.
func (b *Book) withdraw(target FactID, by *Fact) {
	if old := b.withdrawn[target]; old == nil || CompareFacts(by, old) < 0 {
		b.withdrawn[target] = by
	}
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

// Fact finds a fact by its id.
func (b *Book) Fact(id FactID) (*Fact, bool) {
	f, ok := b.index[id]
	return f, ok
}

// Stands reports whether a fact counts: nobody has withdrawn it.
func (b *Book) Stands(id FactID) bool { return b.withdrawn[id] == nil }

// WithdrawnBy gives the fact that withdrew this one, or nil.
func (b *Book) WithdrawnBy(id FactID) *Fact { return b.withdrawn[id] }

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

func (l *factList) add(f *Fact) {
	if n := len(l.facts); n > 0 && CompareFacts(l.facts[n-1], f) > 0 {
		l.dirty = true
	}
	l.facts = append(l.facts, f)
}

func (l *factList) sorted() []*Fact {
	if l.dirty {
		slices.SortFunc(l.facts, CompareFacts)
		l.dirty = false
	}
	return l.facts
}

// Put sets one field of a record to its current value, making the record if it
// is new. Package sync/merge calls it with the value that won.
func (b *Book) Put(ref Ref, key FieldKey, v Value) {
	switch ref.Kind {
	case KindHousehold:
		b.Household.put(key.Field, v)
	case KindMember:
		at(b.Members, MemberID(ref.ID), func(id MemberID) *Member { return &Member{ID: id} }).Name = v.Text
	case KindDevice:
		at(b.Devices, DeviceID(ref.ID), func(id DeviceID) *Device { return &Device{ID: id} }).Name = v.Text
	case KindPlace:
		at(b.Places, PlaceID(ref.ID), func(id PlaceID) *Place { return &Place{ID: id} }).put(key.Field, v)
	case KindPlant:
		at(b.Plants, PlantID(ref.ID), func(id PlantID) *Plant { return &Plant{ID: id} }).put(key.Field, v)
	case KindProduct:
		at(b.Products, ProductID(ref.ID), func(id ProductID) *Product { return &Product{ID: id} }).put(key.Field, v)
	case KindOutbreak:
		at(b.Outbreaks, OutbreakID(ref.ID), newOutbreak).put(key, v)
	}
}

func at[K comparable, V any](m map[K]*V, id K, make func(K) *V) *V {
	if r, ok := m[id]; ok {
		return r
	}
	r := make(id)
	m[id] = r
	return r
}

func newOutbreak(id OutbreakID) *Outbreak {
	return &Outbreak{ID: id, Affects: map[PlantID]bool{}}
}

func (h *Household) put(f Field, v Value) {
	switch f {
	case HouseholdName:
		h.Name = v.Text
	case HouseholdZone:
		h.Zone = v.Text
	}
}

func (p *Place) put(f Field, v Value) {
	switch f {
	case PlaceName:
		p.Name = v.Text
	case PlaceRoundEvery:
		p.RoundEvery = int(v.Int)
	case PlaceOrder:
		p.Order = int(v.Int)
	case PlaceRemoved:
		p.Removed = v.True()
	}
}

func (p *Plant) put(f Field, v Value) {
	switch f {
	case PlantName:
		p.Name = v.Text
	case PlantSpecies:
		p.Species = v.Text
	case PlantPlace:
		p.Place = PlaceID(v.ID)
	case PlantNote:
		p.Note = v.Text
	case PlantEdible:
		p.Edible = v.True()
	case PlantSensitive:
		p.Sensitive = v.True()
	case PlantRemoved:
		p.Removed = v.True()
	}
}

func (p *Product) put(f Field, v Value) {
	switch f {
	case ProductName:
		p.Name = v.Text
	case ProductMeans:
		p.Means = Means(v.Int)
	case ProductActive:
		p.Active = v.Text
	case ProductGroup:
		p.Group = v.Text
	case ProductRateUnit:
		p.RateUnit = RateUnit(v.Int)
	case ProductRateMilli:
		p.RateMilli = int(v.Int)
	case ProductMixPerPlantMl:
		p.MixPerPlantMl = int(v.Int)
	default:
		p.putLimit(f, v)
	}
}

// putLimit sets the fields that bound the use of a product.
func (p *Product) putLimit(f Field, v Value) {
	switch f {
	case ProductMinInterval:
		p.MinInterval = int(v.Int)
	case ProductMaxPerSeason:
		p.MaxPerSeason = int(v.Int)
	case ProductReentryHours:
		p.ReentryHours = int(v.Int)
	case ProductPests:
		p.Pests = v.Text
	case ProductCautions:
		p.Cautions = v.Text
	case ProductStockMilli:
		p.StockMilli = int(v.Int)
	case ProductEdibleAllowed:
		p.EdibleAllowed = v.True()
	case ProductMaxCelsius:
		p.MaxCelsius = int(v.Int)
	case ProductRemoved:
		p.Removed = v.True()
	}
}

func (o *Outbreak) put(key FieldKey, v Value) {
	switch key.Field {
	case OutbreakPest:
		o.Pest = Pest(v.Int)
	case OutbreakNote:
		o.Note = v.Text
	case OutbreakOpened:
		o.Opened = Date(v.Int)
	case OutbreakClosed:
		o.Closed = Date(v.Int)
	case OutbreakAffects:
		o.Affects[PlantID(key.Sub)] = v.True()
	}
}

// Admit puts a member and one of its devices into the book.
func (b *Book) Admit(d Device, role Role) {
	m := at(b.Members, d.Member, func(id MemberID) *Member { return &Member{ID: id} })
	// A second phone of a member never lowers the member's role.
	if m.Role == 0 || role < m.Role {
		m.Role = role
	}
	dev := at(b.Devices, d.ID, func(id DeviceID) *Device { return &Device{ID: id} })
	dev.Member, dev.Key, dev.Since = d.Member, d.Key, d.Since
}
