package agenda

import (
	"slices"

	"leafturn/model"
)

// turn says whose turn a task is: the zero member means whoever is at home. A place
// may have a rule of its own, for the rest the household's holds. Members take turns
// by the task's ordinal, those passed over who are away on its day, so that every
// phone says the same; where a subject begins depends on its id, so that not
// everything falls to one member at once.
func (l *ledger) turn(t *Task) model.MemberID {
	rule, of := l.book.Household.Turn, model.MemberID{}
	if len(t.Places) > 0 {
		if p := l.book.Places[t.Places[0]]; p != nil && p.TurnSet {
			rule, of = p.Turn, p.TurnOf
		}
	}
	day := max(t.When(), l.today)
	switch m := l.book.Members[of]; {
	case rule == model.OneMember && m != nil && !away(m, day):
		return of
	case rule == model.Rotating:
		return l.rotate(t.Key, day)
	}
	return model.MemberID{}
}

func (l *ledger) rotate(k model.TaskKey, day model.Date) model.MemberID {
	n := len(l.members)
	for i := range n {
		m := l.members[(int(k.Ordinal)+int(k.Subject[len(k.Subject)-1])+i)%n]
		if !away(m, day) {
			return m.ID
		}
	}
	return model.MemberID{}
}

// away reports whether a member is not at home on a day.
func away(m *model.Member, day model.Date) bool {
	return m.AwayFrom != 0 && m.AwayFrom <= day && (m.AwayUntil == 0 || day <= m.AwayUntil) || m.Ends != 0 && day > m.Ends
}

// takers are those who take turns: keepers and helpers.
func takers(b *model.Book) []*model.Member {
	list := sortedBy(b.Members, func(x, y *model.Member) int { return model.CompareIDs(x.ID, y.ID) })
	return slices.DeleteFunc(list, func(m *model.Member) bool { return m.Role != model.Keeper && m.Role != model.Helper })
}

// For gives those of some tasks that a member is to be told of: what the member took
// on, what is the member's turn, and what anybody at home may do, but nothing that
// somebody else took on. A guest is told of what was given to the guest, and of what
// anybody may do until the guest's last day, but of no buying.
func (a *Agenda) For(m *model.Member, tasks []*Task) []*Task {
	var own []*Task
	for _, t := range tasks {
		if t.isFor(m, a.Day) {
			own = append(own, t)
		}
	}
	return own
}

func (t *Task) isFor(m *model.Member, today model.Date) bool {
	if m.Ends != 0 && max(t.When(), today) > m.Ends {
		return false
	}
	if len(t.Claims) > 0 {
		return slices.ContainsFunc(t.Claims, func(c Claim) bool { return c.By == m.ID })
	}
	if !t.Turn.IsZero() {
		return t.Turn == m.ID
	}
	return m.Role != model.Guest || m.Ends != 0 && t.Key.Rule != model.RuleBuy
}

// ShareDays is for how long it is counted who did how much.
const ShareDays = 28

// Share is how many tasks a member did lately. It is no ranking: shares are in order
// of the members' ids, and what was done without a task is not in it.
type Share struct {
	Member model.MemberID
	Tasks  int
}

// shares counts the tasks of the last ShareDays by who completed them first.
func (l *ledger) shares() []Share {
	since := l.today.Add(1 - ShareDays).Start(l.zone)
	count := map[model.MemberID]int{}
	for _, c := range l.lately {
		if c.first.At >= since {
			count[c.first.By]++
		}
	}
	var all []Share
	for _, m := range sortedBy(l.book.Members, func(x, y *model.Member) int { return model.CompareIDs(x.ID, y.ID) }) {
		if n := count[m.ID]; n > 0 || m.Role != model.Guest {
			all = append(all, Share{m.ID, n})
		}
	}
	return all
}
