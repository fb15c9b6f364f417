package agenda

import (
	"cmp"
	"slices"

	"leafturn/model"
	"leafturn/model/standing"
)

// roundTasks makes the round that comes next for each place where plants live.
func (l *ledger) roundTasks() []*Task {
	var tasks []*Task
	for _, place := range sortedBy(l.book.Places, comparePlaces) {
		if plants := l.living[place.ID]; len(plants) > 0 && !place.Removed {
			tasks = append(tasks, l.roundTask(place, plants))
		}
	}
	return tasks
}

func (l *ledger) roundTask(place *model.Place, plants []*model.Plant) *Task {
	t, last := l.next(model.RuleRound, place.ID.UUID())
	t.Plants, t.Places = plantIDs(plants), []model.PlaceID{place.ID}
	every, why := l.rhythm(place, plants)
	if last == nil {
		t.Due = l.today
		t.Why = append([]Reason{{Because: NeverLooked}}, why...)
		return l.finish(t, nil, nil)
	}
	t.Due = l.date(last).Add(every)
	t.Latest = l.date(last).Add(max(every, FortnightlyRound))
	if len(why) > 1 {
		t.Latest = t.Due
	}
	t.Why = append([]Reason{{Because: LastRound, Fact: last, Date: l.date(last)}}, why...)
	l.soonerForCut(t, place.ID, last)
	if day, ok := l.withWater(place.ID, t.Due); ok {
		t.Due = day
		t.Why = append(t.Why, Reason{Because: WithWatering, Date: day})
	}
	return l.finish(t, nil, nil)
}

// rhythm is how many days lie between the rounds of a place: as the household wishes,
// or fewer while a pest is about.
func (l *ledger) rhythm(place *model.Place, plants []*model.Plant) (days int, why []Reason) {
	days = cmp.Or(place.RoundEvery, DefaultRoundEvery)
	why = []Reason{{Because: RoundEvery, Days: days}}
	o := l.outbreakAmong(plants)
	if o == nil {
		return days, why
	}
	shorter := Reason{Because: PestNear, Days: WatchfulRound, Pest: o.Pest, Outbreak: o.ID, Basis: model.CommonPractice}
	if tenths, by, ok := l.warmest(place.ID); ok && tenths >= WarmRoom && fast(o.Pest) {
		shorter.Because, shorter.Days, shorter.Tenths, shorter.Fact = WarmAndFast, FastRound, tenths, by
	}
	if shorter.Days >= days {
		return days, why
	}
	return shorter.Days, []Reason{{Because: RoundEvery, Days: shorter.Days}, shorter}
}

// outbreakAmong is an open outbreak that names one of some plants, one of a fast pest
// if there are several, or nil.
func (l *ledger) outbreakAmong(plants []*model.Plant) *model.Outbreak {
	var worst *model.Outbreak
	for _, p := range plants {
		o := l.ill[p.ID]
		if o != nil && (worst == nil || fast(o.Pest) && !fast(worst.Pest)) {
			worst = o
		}
	}
	return worst
}

// fast reports whether a pest can have young of its own within two weeks in a warm
// room, so that a fortnight between looks is too long.
func fast(p model.Pest) bool {
	return p == model.PestSpiderMite || p == model.PestBroadMite || p == model.PestAphid
}

// soonerForCut draws a round nearer if cut flowers or produce came to the place since
// the last one: what sits on them walks or flies over.
func (l *ledger) soonerForCut(t *Task, place model.PlaceID, last *model.Fact) {
	r := l.rooms[place]
	if r == nil || r.cut == nil || standing.CompareDone(r.cut, last) < 0 {
		return
	}
	if day := l.date(r.cut).Add(CutRound); day < t.Due {
		t.Due = day
		t.Why = append(t.Why, Reason{Because: CutFlowers, Fact: r.cut, Date: l.date(r.cut), Days: CutRound, Basis: model.CommonPractice})
	}
}

func plantIDs(plants []*model.Plant) []model.PlantID {
	ids := make([]model.PlantID, len(plants))
	for i, p := range plants {
		ids[i] = p.ID
	}
	return ids
}

// finish fills in what every open task has: who claimed it, who put it off, how
// late it is, and what to mind. The product is nil where none is used.
func (l *ledger) finish(t *Task, p *model.Product, a *applied) *Task {
	t.ID = t.Key.ID(l.book.Household.ID)
	t.Looked = distinct(t.Looked)
	t.Claims = l.claimsOf(t.Key)
	t.State = Open
	if len(t.Claims) > 0 {
		t.State = Claimed
	}
	l.delay(t)
	if t.NotBefore <= t.Due {
		t.NotBefore = 0
	}
	t.Overdue = max(0, l.today.Sub(t.When()))
	t.Turn = l.turn(t)
	t.Cautions = l.cautions(t, p, a)
	return t
}

// delay applies the putting off that was written last. Once its day has come the
// task is open again.
func (l *ledger) delay(t *Task) {
	f := l.delays[t.Key]
	if f == nil {
		return
	}
	x := f.Body.(*model.TaskPutOff)
	t.Delay = f
	t.NotBefore = max(t.NotBefore, x.Until)
	t.Why = append(t.Why, Reason{Because: WasPutOff, Fact: f, Date: x.Until, PutOff: x.Reason})
	if x.Until > l.today {
		t.State = PutOff
	}
}

// claimsOf gives the claims that hold, the one written last first, because its
// author may have seen the others and taken over. A member's last word replaces
// the member's earlier ones, even if it ends sooner.
func (l *ledger) claimsOf(k model.TaskKey) []Claim {
	var claims []Claim
	for _, f := range slices.Backward(l.claims[k]) {
		if !slices.ContainsFunc(claims, func(c Claim) bool { return c.By == f.By }) {
			claims = append(claims, Claim{By: f.By, Until: f.Body.(*model.TaskClaimed).Until, Fact: f})
		}
	}
	return slices.DeleteFunc(claims, func(c Claim) bool { return c.Until <= l.now })
}

// distinct gives each id once, in order, so that a look noted twice counts once
// and the order of arrival shows nowhere.
func distinct(ids []model.PlantID) []model.PlantID {
	slices.SortFunc(ids, model.CompareIDs)
	return slices.Compact(ids)
}
