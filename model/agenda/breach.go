package agenda

import (
	"cmp"
	"slices"

	"leafturn/model"
	"leafturn/model/standing"
)

// BreachKind is a limit of a label that what was done did not keep.
type BreachKind uint8

// The limits.
const (
	TooClose  BreachKind = 1 // two applications nearer to each other than the label's interval
	TooMany   BreachKind = 2 // more applications in SeasonDays than the label's most
	NotOnFood BreachKind = 3 // a plant that is eaten, and the label does not name food plants
)

// Breach is a limit that was broken, mostly by two phones that had not heard of each
// other. It cannot be undone; what helps now is to wait, and to look at the plants. One
// that was too close is shown until the next application may be, the others for
// WeekDays.
type Breach struct {
	Kind         BreachKind
	Product      model.ProductID
	Plants       []model.PlantID
	Applications []*model.Fact // those that broke it, in order of doing; the last one did
	Members      []model.MemberID
	Next         model.Date // the next application of the product at the earliest, zero if never
	Want         int        // the label's figure: days, or how many
}

// breaches finds the limits that applications of the last days broke. Two that
// completed one task are a flag of that task and no breach beside it.
func (l *ledger) breaches() []Breach {
	var all []Breach
	apps := slices.Clone(l.apps)
	slices.SortFunc(apps, standing.CompareDone)
	for i, f := range apps {
		x := f.Body.(*model.Application)
		p := l.product(x.Product)
		if l.today.Sub(l.date(f)) > max(p.MinInterval, WeekDays) || p.Means == model.MeansWater {
			continue
		}
		all = append(all, l.tooClose(apps[:i], f, p)...)
		all = append(all, l.tooMany(apps[:i], f, p)...)
		if eaten := l.those(x.Plants, func(y *model.Plant) bool { return y.Edible }); len(eaten) > 0 && !p.EdibleAllowed && l.book.Products[x.Product] != nil && l.today.Sub(l.date(f)) <= WeekDays {
			all = append(all, Breach{Kind: NotOnFood, Product: x.Product, Plants: distinct(eaten), Applications: []*model.Fact{f}, Members: []model.MemberID{f.By}})
		}
	}
	slices.SortFunc(all, compareBreaches)
	return all
}

// tooClose holds an application against the one of the product before it on the same
// plants.
func (l *ledger) tooClose(before []*model.Fact, f *model.Fact, p *model.Product) []Breach {
	next := l.date(f).Add(p.MinInterval)
	if next <= l.today {
		return nil
	}
	x := f.Body.(*model.Application)
	for _, g := range slices.Backward(before) {
		y := g.Body.(*model.Application)
		if l.date(g).Add(p.MinInterval) <= l.date(f) {
			continue
		}
		if both := common(x.Plants, y.Plants); y.Product == x.Product && len(both) > 0 && !oneTask(g, f) {
			return []Breach{{Kind: TooClose, Product: x.Product, Plants: both, Applications: []*model.Fact{g, f}, Members: by(g, f), Next: next, Want: p.MinInterval}}
		}
	}
	return nil
}

// oneTask reports whether two applications completed one task: that was settled, or a
// flag asks about it.
func oneTask(f, g *model.Fact) bool {
	k := f.Body.(*model.Application).Completes
	return !k.IsZero() && k == g.Body.(*model.Application).Completes
}

// tooMany counts the applications up to one of them on each of its plants.
func (l *ledger) tooMany(before []*model.Fact, f *model.Fact, p *model.Product) []Breach {
	if p.MaxPerSeason == 0 || l.today.Sub(l.date(f)) > WeekDays {
		return nil
	}
	b := Breach{Kind: TooMany, Product: p.ID, Applications: []*model.Fact{f}, Members: by(f), Want: p.MaxPerSeason}
	for _, id := range distinct(slices.Clone(f.Body.(*model.Application).Plants)) {
		var days []model.Date
		for _, g := range before {
			y := g.Body.(*model.Application)
			if y.Product == p.ID && slices.Contains(y.Plants, id) && l.date(f).Sub(l.date(g)) < SeasonDays {
				days = append(days, l.date(g))
			}
		}
		if n := len(days) + 1; n > p.MaxPerSeason {
			b.Plants = append(b.Plants, id)
			b.Next = max(b.Next, append(days, l.date(f))[n-p.MaxPerSeason].Add(SeasonDays))
		}
	}
	if len(b.Plants) == 0 {
		return nil
	}
	return []Breach{b}
}

func common(a, b []model.PlantID) []model.PlantID {
	var both []model.PlantID
	for _, id := range a {
		if slices.Contains(b, id) {
			both = append(both, id)
		}
	}
	return distinct(both)
}

func by(facts ...*model.Fact) []model.MemberID {
	var all []model.MemberID
	for _, f := range facts {
		if !slices.Contains(all, f.By) {
			all = append(all, f.By)
		}
	}
	return all
}

func compareBreaches(a, b Breach) int {
	return cmp.Or(
		standing.CompareDone(b.Applications[len(b.Applications)-1], a.Applications[len(a.Applications)-1]),
		cmp.Compare(a.Kind, b.Kind))
}
