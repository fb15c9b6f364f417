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
	}
}

// Grow makes room for n facts more, for those who know that they come.
func (b *Book) Grow(n int) { b.facts.facts = slices.Grow(b.facts.facts, n) }

// Add puts a fact into the book. Adding one twice has no further effect.
func (b *Book) Add(f *Fact) {
	if !at(b.logs, f.ID.Device, func(DeviceID) *logFacts { return &logFacts{} }).add(f) {
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

// Fact finds a fact by its id.
func (b *Book) Fact(id FactID) (*Fact, bool) {
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

// WithdrawnBy gives the earliest fact that withdrew this one and that was not
// itself withdrawn, or nil. A withdrawal counts only if it was written after what
// it withdraws, so that two can never withdraw each other.
func (b *Book) WithdrawnBy(id FactID) *Fact {
	l := b.withdrawn[id]
	if l == nil {
		return nil
	}
	target, _ := b.Fact(id)
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

// at finds an entry, or makes it.
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
	case PlaceColdest:
		p.Coldest = int(v.Int)
	case PlaceWarmest:
		p.Warmest = int(v.Int)
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
