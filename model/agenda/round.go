package agenda

import (
	"slices"

	"leafturn/model"
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
	r := l.rounds[place.ID.UUID()]
	if r == nil {
		r = &rounds{}
	}
	t := &Task{
		Key:    roundKey(place.ID, r.highest+1),
		Plants: plantIDs(plants),
		Places: []model.PlaceID{place.ID},
	}
	every := place.RoundEvery
	if every == 0 {
		every = DefaultRoundEvery
	}
	if r.highest == 0 {
		t.Due = l.today
		t.Why = []Reason{{Because: NeverLooked}, {Because: RoundEvery, Days: every}}
	} else {
		last := l.done[roundKey(place.ID, r.highest)].first
		t.Due = l.date(last).Add(every)
		t.Why = []Reason{{Because: LastRound, Fact: last, Date: l.date(last)}, {Because: RoundEvery, Days: every}}
	}
	for _, k := range r.looks {
		if k.ordinal == t.Key.Ordinal {
			t.Looked = append(t.Looked, k.plant)
		}
	}
	return l.finish(t, nil)
}

func roundKey(p model.PlaceID, ordinal uint32) model.TaskKey {
	return model.TaskKey{Rule: model.RuleRound, Subject: p.UUID(), Ordinal: ordinal}
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
func (l *ledger) finish(t *Task, p *model.Product) *Task {
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
	t.Cautions = l.cautions(t, p)
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
