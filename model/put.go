package model

// Put sets one field of a record to its current value, making the record if it
// is new. Package sync/merge calls it with the value that won and when it was written.
func (b *Book) Put(ref Ref, key FieldKey, v Value, when Instant) {
	switch ref.Kind {
	case KindHousehold:
		b.Household.put(key.Field, v)
	case KindMember:
		at(b.Members, MemberID(ref.ID), func(id MemberID) *Member { return &Member{ID: id} }).put(key.Field, v)
	case KindDevice:
		at(b.Devices, DeviceID(ref.ID), func(id DeviceID) *Device { return &Device{ID: id} }).Name = v.Text
	case KindPlace:
		at(b.Places, PlaceID(ref.ID), func(id PlaceID) *Place { return &Place{ID: id} }).put(key.Field, v)
	case KindPlant:
		at(b.Plants, PlantID(ref.ID), func(id PlantID) *Plant { return &Plant{ID: id} }).put(key.Field, v)
	case KindProduct:
		at(b.Products, ProductID(ref.ID), func(id ProductID) *Product { return &Product{ID: id} }).put(key.Field, v, when)
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
	case HouseholdChildren:
		h.Children = v.True()
	case HouseholdPets:
		h.Pets = v.True()
	case HouseholdNoChemicals:
		h.NoChemicals = v.True()
	case HouseholdTurn:
		h.Turn = Turn(v.Int)
	}
}

func (m *Member) put(f Field, v Value) {
	switch f {
	case MemberName:
		m.Name = v.Text
	case MemberDigestAt:
		m.DigestAt = int(v.Int)
	case MemberEvening:
		m.Evening = v.True()
	case MemberQuietFrom:
		m.QuietFrom = int(v.Int)
	case MemberQuietTo:
		m.QuietTo = int(v.Int)
	case MemberAwayFrom:
		m.AwayFrom = Date(v.Int)
	case MemberAwayUntil:
		m.AwayUntil = Date(v.Int)
	case MemberEnds:
		m.Ends = Date(v.Int)
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
	case PlaceCard:
		p.Card = CardColour(v.Int)
	case PlaceTurn:
		p.Turn = Turn(v.Int)
	case PlaceTurnOf:
		p.TurnOf = MemberID(v.ID)
	case PlaceTurnSet:
		p.TurnSet = v.True()
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
	case PlantWeak:
		p.Weak = v.True()
	case PlantThinLeaf:
		p.ThinLeaf = v.True()
	case PlantCuttingOf:
		p.CuttingOf = PlantID(v.ID)
	case PlantPotTop:
		p.PotTop = int(v.Int)
	case PlantPotBottom:
		p.PotBottom = int(v.Int)
	case PlantPotHeight:
		p.PotHeight = int(v.Int)
	}
}

func (p *Product) put(f Field, v Value, when Instant) {
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
	case ProductStockMilli:
		p.StockMilli, p.StockAt = int(v.Int), when
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
	case ProductEdibleAllowed:
		p.EdibleAllowed = v.True()
	case ProductMaxCelsius:
		p.MaxCelsius = int(v.Int)
	case ProductRemoved:
		p.Removed = v.True()
	case ProductSite:
		p.Site = Site(v.Int)
	case ProductMostInRow:
		p.MostInRow = int(v.Int)
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
	case OutbreakSpecies:
		o.Species = int(v.Int)
	case OutbreakAffects:
		o.Affects[PlantID(key.Sub)] = v.True()
	}
}
