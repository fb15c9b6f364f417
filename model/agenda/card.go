package agenda

import "leafturn/model"

// cardTasks are the readings and the renewals of the sticky cards. Readings count
// whether a task asked for them or not. One that nobody has read waits for the
// place's round, because nothing says when it was hung.
func (l *ledger) cardTasks(rounds []*Task) []*Task {
	var tasks []*Task
	for _, round := range rounds {
		place := l.book.Places[round.Places[0]]
		if place.Card != model.NoCard {
			tasks = append(tasks, l.cardRead(place.ID, round))
			if r := l.rooms[place.ID]; r != nil && r.hung != nil {
				tasks = append(tasks, l.cardNew(place.ID, r))
			}
		}
	}
	return tasks
}

func (l *ledger) cardRead(place model.PlaceID, round *Task) *Task {
	t, last := l.next(model.RuleCardRead, place.UUID())
	t.Places = []model.PlaceID{place}
	if r := l.rooms[place]; r != nil && r.reading != nil {
		last = later(last, r.reading)
	}
	if last == nil {
		t.Due = round.When()
		t.Why = []Reason{{Because: CardHangs}, {Because: CardRhythm, Days: CardEvery, Basis: model.CommonPractice}}
		return l.finish(t, nil, nil)
	}
	t.Due = l.date(last).Add(CardEvery)
	t.Why = []Reason{{Because: LastReading, Fact: last, Date: l.date(last)}, {Because: CardRhythm, Days: CardEvery, Basis: model.CommonPractice}}
	return l.finish(t, nil, nil)
}

func (l *ledger) cardNew(place model.PlaceID, r *room) *Task {
	t, last := l.next(model.RuleCardNew, place.UUID())
	t.Places = []model.PlaceID{place}
	hung := later(last, r.hung)
	t.Due = l.date(hung).Add(CardLasts)
	t.Why = []Reason{{Because: CardHung, Fact: hung, Date: l.date(hung)}, {Because: CardWorn, Days: CardLasts, Basis: model.CommonPractice}}
	return l.finish(t, nil, nil)
}
