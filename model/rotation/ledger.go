package rotation

import (
	"fmt"

	"leafturn/model"
)

// Kind says what speaks against a use.
type Kind uint8

// The kinds of findings.
const (
	ChangeDue       Kind = 1 // the group has been in use for about a generation: the next use should be another
	SameGroupAgain  Kind = 2 // the group is used in the window in which it should rest, before Until
	TooManyInRow    Kind = 3 // Count uses of the group follow each other
	SystemicAgain   Kind = 4 // a second course of a systemic before Until, right after the first
	GroupNotEntered Kind = 5 // the product needs a group that has not been entered, so nothing can be said
)

// Level is how grave a finding is.
type Level uint8

// The levels.
const (
	Note    Level = 1
	Warning Level = 2
	Hard    Level = 3
)

// Level is how grave findings of a kind are.
func (k Kind) Level() Level {
	switch k {
	case SystemicAgain:
		return Hard
	case SameGroupAgain, TooManyInRow:
		return Warning
	}
	return Note
}

// Finding is one thing that speaks against a use, with what it rests on.
type Finding struct {
	Kind    Kind
	Group   Group
	Use     int        // which use, from 0
	Earlier int        // the use with which it clashes; Use itself if none
	Count   int        // uses in a row
	Days    int        // since the window began
	Until   model.Date // the first day on which it would be right
}

// Worst is the gravest level among findings, 0 if there are none.
func Worst(all []Finding) Level {
	var worst Level
	for _, f := range all {
		worst = max(worst, f.Kind.Level())
	}
	return worst
}

// mostGroups is how many groups a ledger remembers: more than a household has.
const mostGroups = 16

// Ledger keeps account of the uses against one pest on one stand of plants. It is a
// value: a copy of it can be used to try what a use would mean.
type Ledger struct {
	rule     Rule
	turns    [mostGroups]turn
	groups   int
	uses     int
	last     model.Date
	systemic course
}

// turn is how one group was used lately.
type turn struct {
	group       Group
	start, last model.Date
	protects    model.Date // a systemic keeps the group in use before this day
	lastUse     int
	inRow       int
}

// course is the last systemic.
type course struct {
	use int
	end model.Date // zero if there was none
}

// NewLedger makes an empty one.
func NewLedger(r Rule) (Ledger, error) {
	if !r.valid() {
		return Ledger{}, fmt.Errorf("new ledger: %w", ErrRule)
	}
	return Ledger{rule: r}, nil
}

// Add takes in the next use and appends what speaks against it.
func (l *Ledger) Add(to []Finding, u Use) ([]Finding, error) {
	if l.uses > 0 && u.Day < l.last {
		return to, fmt.Errorf("add use: %w", ErrOrder)
	}
	if u.Protects < 0 || u.Protects > 1000 || len(u.Groups) > mostGroups {
		return to, fmt.Errorf("add use: %w", ErrRule)
	}
	if u.NotEntered {
		to = append(to, Finding{Kind: GroupNotEntered, Use: l.uses, Earlier: l.uses})
	}
	if u.Systemic {
		to = l.addSystemic(to, u)
	}
	if len(u.Groups) > 0 {
		l.endRows(u.Groups)
	}
	for i, g := range u.Groups {
		if !has(u.Groups[:i], g) {
			to = l.addGroup(to, u, l.turnOf(g, u.Day))
		}
	}
	l.uses++
	l.last = u.Day
	return to, nil
}

func (l *Ledger) addSystemic(to []Finding, u Use) []Finding {
	if free := l.systemic.end.Add(l.rule.Window.Min); l.systemic.end != 0 && u.Day < free {
		to = append(to, Finding{Kind: SystemicAgain, Use: l.uses, Earlier: l.systemic.use, Until: free})
	}
	l.systemic = course{l.uses, max(l.systemic.end, u.Day.Add(u.Protects))}
	return to
}

// endRows ends the rows of groups that a use with other groups interrupts.
func (l *Ledger) endRows(groups []Group) {
	for i := range l.turns[:l.groups] {
		if !has(groups, l.turns[i].group) {
			l.turns[i].inRow = 0
		}
	}
}

func has(groups []Group, g Group) bool {
	for _, x := range groups {
		if x == g {
			return true
		}
	}
	return false
}

// turnOf finds the turn of a group, or makes one. Where there is no more room the
// group that rested longest is forgotten.
func (l *Ledger) turnOf(g Group, day model.Date) *turn {
	oldest := 0
	for i := range l.turns[:l.groups] {
		if l.turns[i].group == g {
			return &l.turns[i]
		}
		if l.turns[i].last < l.turns[oldest].last {
			oldest = i
		}
	}
	if l.groups < mostGroups {
		oldest = l.groups
		l.groups++
	}
	l.turns[oldest] = turn{group: g, start: day, last: day, protects: day, lastUse: l.uses}
	return &l.turns[oldest]
}

func (l *Ledger) addGroup(to []Finding, u Use, t *turn) []Finding {
	w := l.rule.Window
	f := Finding{Group: t.group, Use: l.uses, Earlier: t.lastUse, Days: u.Day.Sub(t.start)}
	end := max(t.start.Add(w.Min), t.last.Add(1), t.protects)
	switch {
	case u.Day < t.protects || f.Days < w.Min:
	case f.Days < w.Max:
		f.Kind = ChangeDue
		to = append(to, f)
	case u.Day < end.Add(w.Min):
		f.Kind, f.Until = SameGroupAgain, end.Add(w.Min)
		to = append(to, f)
		t.start = u.Day
	default: // it rested: a new turn
		t.start, t.inRow = u.Day, 0
	}
	t.inRow++
	if t.inRow > l.rule.MostInRow {
		to = append(to, Finding{Kind: TooManyInRow, Group: t.group, Use: l.uses, Earlier: t.lastUse, Count: t.inRow})
	}
	t.last, t.lastUse = u.Day, l.uses
	if u.Systemic {
		t.protects = max(t.protects, u.Day.Add(u.Protects))
	}
	return to
}

// Check goes through uses in order of days and gives everything that speaks against
// them.
func Check(r Rule, uses []Use) ([]Finding, error) {
	l, err := NewLedger(r)
	if err != nil {
		return nil, err
	}
	var all []Finding
	for _, u := range uses {
		if all, err = l.Add(all, u); err != nil {
			return nil, err
		}
	}
	return all, nil
}
