package model

import (
	"cmp"
	"slices"
)

// factList is facts in order of writing. Those that arrive out of order wait at
// the end until the list is next read.
type factList struct {
	facts []*Fact
	ready int // facts[:ready] are in order
}

func (l *factList) add(f *Fact) {
	if n := len(l.facts); l.ready == n && (n == 0 || CompareFacts(l.facts[n-1], f) < 0) {
		l.ready++
	}
	l.facts = append(l.facts, f)
}

func (l *factList) sorted() []*Fact {
	if l.ready < len(l.facts) {
		l.settle()
	}
	return l.facts
}

// settle merges the waiting facts into the ordered ones from behind, so that one
// late fact costs only the few steps past those written after it.
func (l *factList) settle() {
	late := slices.Clone(l.facts[l.ready:])
	slices.SortFunc(late, CompareFacts)
	from, to := l.ready-1, len(l.facts)-1
	for n := len(late) - 1; n >= 0; to-- {
		if from >= 0 && CompareFacts(l.facts[from], late[n]) > 0 {
			l.facts[to] = l.facts[from]
			from--
		} else {
			l.facts[to] = late[n]
			n--
		}
	}
	l.ready = len(l.facts)
}

// logFacts is the facts of one device in the order of its log. They nearly always
// arrive in that order, and a list takes far less memory than a map of ids.
type logFacts struct{ facts []*Fact }

// add puts a fact in its place and reports whether it is new.
func (l *logFacts) add(f *Fact) bool {
	if n := len(l.facts); n == 0 || l.facts[n-1].ID.Seq < f.ID.Seq {
		l.facts = append(l.facts, f)
		return true
	}
	at, known := l.search(f.ID.Seq)
	if !known {
		l.facts = slices.Insert(l.facts, at, f)
	}
	return !known
}

func (l *logFacts) find(seq uint64) (*Fact, bool) {
	if at, ok := l.search(seq); ok {
		return l.facts[at], true
	}
	return nil, false
}

func (l *logFacts) search(seq uint64) (int, bool) {
	return slices.BinarySearchFunc(l.facts, seq, func(f *Fact, seq uint64) int { return cmp.Compare(f.ID.Seq, seq) })
}
