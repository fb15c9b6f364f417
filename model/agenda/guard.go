package agenda

import (
	"time"

	"leafturn/model"
	"leafturn/model/standing"
)

// WarningKind says what speaks against an application that is about to be logged.
type WarningKind uint8

// The warnings, gravest first.
const (
	WithinInterval  WarningKind = 1  // Fact treated Plants with it, and the label asks for Days days: not before Date
	TouchedTooEarly WarningKind = 2  // the re-entry time of Fact runs on Plants until Until
	MostPerSeason   WarningKind = 3  // Plants had Count applications in the last SeasonDays: the label's most
	NotForFood      WarningKind = 4  // Plants are eaten, and the label does not name food plants
	WithinHabit     WarningKind = 5  // the label's interval is not entered, and Fact is less than Days days ago, the least of common practice
	TryOneLeaf      WarningKind = 6  // Plants are sensitive
	NotAbove        WarningKind = 7  // the label says not above Celsius
	LabelNotEntered WarningKind = 8  // the product is not on the shelf, so no limit is known
	PlantNotThere   WarningKind = 9  // Plants are gone, or unknown here
	MaybeTreated    WarningKind = 10 // a member said to do it by the claim Fact, and that phone has not been heard from since: Plants may have been treated
	TooWarm         WarningKind = 11 // it is Tenths warm at Plants, by Fact or the place's record, and the label says not above Celsius
	MixWet          WarningKind = 12 // it goes into dry mix, and Fact watered Plants less than WetFor days ago
	Thirsty         WarningKind = 13 // Plants were last watered by Fact, Days days ago
	Tender          WarningKind = 14 // Plants are weak, or Fact repotted them less than PottedFor days ago
	MostInRow       WarningKind = 15 // Plants had Count applications in a row: the label's most
	TheirTurn       WarningKind = 16 // it was Member's turn from Date on, and nothing that Member wrote since has arrived: Plants may have been treated
)

// Warning is one thing that speaks against an application. It forbids nothing:
// what was done must be logged all the same.
type Warning struct {
	Kind    WarningKind
	Plants  []model.PlantID
	Fact    *model.Fact // whose By and At say by whom and when
	Member  model.MemberID
	Date    model.Date
	Until   model.Instant
	Days    int
	Count   int
	Celsius int
	Tenths  int
}

// CheckApplication tells what speaks against a member's applying a product to plants
// now, by all that this phone knows. A phone that was long out of touch knows less.
func CheckApplication(b *model.Book, by model.MemberID, product model.ProductID, plants []model.PlantID, now model.Instant, zone *time.Location) []Warning {
	l := plantLedger(b, plants, now, zone)
	l.noteElsewhere()
	p := l.product(product)
	var all []Warning
	if b.Products[product] == nil {
		all = append(all, Warning{Kind: LabelNotEntered})
	}
	all = append(all, l.tooSoon(p, plants)...)
	all = append(all, l.maybeTreated(by, p.ID, plants)...)
	all = append(all, l.stillHeld(plants)...)
	if p.MaxPerSeason > 0 {
		if most, full := l.atLimit(p, plants); len(full) > 0 {
			all = append(all, Warning{Kind: MostPerSeason, Plants: full, Count: most})
		}
	}
	all = append(all, l.inRow(p, plants)...)
	return append(all, l.traits(p, plants)...)
}

// tooSoon holds each plant's last application against the label's interval, or
// against common practice where the label's is not known.
func (l *ledger) tooSoon(p *model.Product, plants []model.PlantID) []Warning {
	w := Warning{Kind: WithinInterval, Days: p.MinInterval}
	if w.Days == 0 {
		w = Warning{Kind: WithinHabit, Days: DefaultCourse().IntervalMin}
	}
	if p.Means == model.MeansWater && p.MinInterval == 0 { // rinsing too often harms nobody
		return nil
	}
	l.eachUse(p.ID, plants, func(f *model.Fact, on []model.PlantID) {
		if l.date(f).Add(w.Days) <= l.today {
			return
		}
		w.Plants = distinct(append(w.Plants, on...))
		if w.Fact == nil || standing.CompareDone(w.Fact, f) < 0 {
			w.Fact, w.Date = f, l.date(f).Add(w.Days)
		}
	})
	if w.Fact == nil {
		return nil
	}
	return []Warning{w}
}

func (l *ledger) stillHeld(plants []model.PlantID) []Warning {
	w := Warning{Kind: TouchedTooEarly}
	for _, id := range plants {
		h, ok := l.reentry[id]
		if !ok {
			continue
		}
		w.Plants = append(w.Plants, id)
		if h.until > w.Until {
			w.Until, w.Fact = h.until, h.by
		}
	}
	if w.Fact == nil {
		return nil
	}
	return []Warning{w}
}

// traits are the warnings that rest on records alone.
func (l *ledger) traits(p *model.Product, plants []model.PlantID) []Warning {
	var all []Warning
	add := func(kind WarningKind, on []model.PlantID) {
		if len(on) > 0 {
			all = append(all, Warning{Kind: kind, Plants: on})
		}
	}
	if p.Means != model.MeansWater {
		if !p.EdibleAllowed {
			add(NotForFood, l.those(plants, func(x *model.Plant) bool { return x.Edible }))
		}
		add(TryOneLeaf, l.those(plants, func(x *model.Plant) bool { return x.Sensitive }))
		all = append(all, l.waterWarnings(p, plants)...)
		all = append(all, l.tender(plants)...)
	}
	if c, ok := l.heatCaution(plants, p); ok {
		all = append(all, Warning{Kind: TooWarm, Plants: c.Plants, Fact: c.Fact, Tenths: c.Tenths, Celsius: p.MaxCelsius})
	} else if p.MaxCelsius > 0 {
		all = append(all, Warning{Kind: NotAbove, Celsius: p.MaxCelsius})
	}
	var gone []model.PlantID
	for _, id := range plants {
		if !l.hands.Living(l.book.Plants[id]) {
			gone = append(gone, id)
		}
	}
	add(PlantNotThere, gone)
	return all
}
