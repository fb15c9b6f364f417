package agenda

import (
	"slices"
	"time"

	"leafturn/model"
	"leafturn/model/standing"
)

// noteElsewhere adds to a ledger of some plants what is not written about plants:
// claims, what was ticked off, and temperatures.
func (l *ledger) noteElsewhere() {
	for _, f := range l.book.Facts() {
		switch f.Body.(type) {
		case *model.TaskClaimed, *model.TaskCompleted, *model.Temperature:
			if l.book.Stands(f.ID) {
				l.noteRare(f)
			}
		}
	}
}

// maybeTreated finds steps that another member said to do with the product on the
// plants, that nobody has noted as done, and whose phone has not been heard from since
// the claim: it may have been done.
func (l *ledger) maybeTreated(by model.MemberID, p model.ProductID, plants []model.PlantID) []Warning {
	var all []Warning
	for k, claims := range l.claims {
		accepted := l.plans[model.PlanID(k.Subject)]
		if accepted == nil || l.done[k] != nil {
			continue
		}
		plan := accepted.Body.(*model.PlanAccepted)
		step := plan.Step(k)
		both := common(plants, plan.Plants)
		if step == nil || !step.Applies() || step.Product != p || len(both) == 0 {
			continue
		}
		if last := claims[len(claims)-1]; last.By != by && l.silentSince(last) {
			all = append(all, Warning{Kind: MaybeTreated, Plants: both, Fact: last})
		}
	}
	slices.SortFunc(all, func(a, b Warning) int { return standing.CompareDone(a.Fact, b.Fact) })
	return all
}

// silentSince reports whether a claim holds, or its phone has written nothing that
// arrived here since it ended: one that was heard from would have said what was done.
func (l *ledger) silentSince(claim *model.Fact) bool {
	until := claim.Body.(*model.TaskClaimed).Until
	if l.today.Sub(until.Date(l.zone)) > ClaimDoubt {
		return false
	}
	if until > l.now {
		return true
	}
	facts := l.book.DeviceFacts(claim.ID.Device)
	return len(facts) == 0 || facts[len(facts)-1].At <= until
}

// CheckTurns tells which of some treatments are another member's turn, of whom
// nothing has arrived since they were due: whoever sprays without a network has
// treated the plants already, and nobody here knows.
func CheckTurns(b *model.Book, by model.MemberID, treatments []*Task, zone *time.Location) []Warning {
	var all []Warning
	for _, t := range treatments {
		if !t.Turn.IsZero() && t.Turn != by && !heardSince(b, t.Turn, t.When(), zone) {
			all = append(all, Warning{Kind: TheirTurn, Plants: t.Plants, Member: t.Turn, Date: t.When()})
		}
	}
	return all
}

// heardSince reports whether a fact of a member from a day or later has arrived.
func heardSince(b *model.Book, m model.MemberID, day model.Date, zone *time.Location) bool {
	return slices.ContainsFunc(b.Facts(), func(f *model.Fact) bool { return f.By == m && f.At.Date(zone) >= day })
}

// inRow counts the applications of the product in a row on each plant: those since
// another product with another mode of action was used. Products without one, such as
// soap, neither add to a row nor break it.
func (l *ledger) inRow(p *model.Product, plants []model.PlantID) []Warning {
	if p.MostInRow == 0 {
		return nil
	}
	apps := slices.Clone(l.apps)
	slices.SortFunc(apps, standing.CompareDone)
	w := Warning{Kind: MostInRow}
	for _, id := range plants {
		n := 0
		for _, f := range slices.Backward(apps) {
			x := f.Body.(*model.Application)
			if !slices.Contains(x.Plants, id) {
				continue
			}
			if other := l.product(x.Product); x.Product != p.ID && other.Group != "" && other.Group != p.Group {
				break
			} else if x.Product == p.ID {
				n++
			}
		}
		if n >= p.MostInRow {
			w.Plants, w.Count = append(w.Plants, id), max(w.Count, n)
		}
	}
	if w.Count == 0 {
		return nil
	}
	return []Warning{w}
}

// waterWarnings are about plants that were watered too lately or too long ago. Where
// nobody notes waterings there are none.
func (l *ledger) waterWarnings(p *model.Product, plants []model.PlantID) []Warning {
	if p.Means == model.MeansSystemicSoil {
		if on, by := l.wet(plants); by != nil {
			return []Warning{{Kind: MixWet, Plants: on, Fact: by}}
		}
		return nil
	}
	w := Warning{Kind: Thirsty}
	for _, id := range plants {
		f := l.lastWatered(id)
		if f == nil {
			continue
		}
		if days := l.today.Sub(l.date(f)); days > ThirstyAfter {
			w.Plants, w.Fact, w.Days = append(w.Plants, id), f, max(w.Days, days)
		}
	}
	if w.Fact == nil {
		return nil
	}
	return []Warning{w}
}

// tender are plants that are weak, or were repotted lately.
func (l *ledger) tender(plants []model.PlantID) []Warning {
	w := Warning{Kind: Tender}
	for _, id := range plants {
		x, potted := l.book.Plants[id], l.potted[id]
		lately := potted != nil && l.today.Sub(l.date(potted)) < PottedFor
		if x == nil || !x.Weak && !lately {
			continue
		}
		w.Plants = append(w.Plants, id)
		if lately {
			w.Fact = later(w.Fact, potted)
		}
	}
	if len(w.Plants) == 0 {
		return nil
	}
	return []Warning{w}
}
