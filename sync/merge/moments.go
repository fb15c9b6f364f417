package merge

import (
	"math/bits"

	"leafturn/model"
)

// moments finds facts by when they were seen or done. A household has a hundred
// thousand and asks for each once, so this is a bare hash table: a map of lists would
// take as much memory as the facts.
type moments struct {
	facts []*model.Fact
	slots []slot // a power of two of them, at least half free
}

// slot says where in facts a fact is, from 1; 0 is free. The half of the moment's hash
// spares looking at most facts of other moments.
type slot struct{ hash, place uint32 }

// add notes a fact.
func (m *moments) add(f *model.Fact) {
	m.grow()
	m.facts = append(m.facts, f)
	m.put(slot{hashOf(f.At), uint32(len(m.facts))})
}

// put puts a slot where the first free one is.
func (m *moments) put(s slot) {
	last := uint32(len(m.slots) - 1)
	at := s.hash & last
	for m.slots[at].place != 0 {
		at = (at + 1) & last
	}
	m.slots[at] = s
}

// at gives the facts of a moment, in any order. There is hardly ever one.
func (m *moments) at(t model.Instant) (facts []*model.Fact) {
	last := uint32(len(m.slots) - 1)
	hash := hashOf(t)
	for at := hash & last; ; at = (at + 1) & last {
		s := m.slots[at]
		if s.place == 0 {
			return facts
		}
		if s.hash == hash && m.facts[s.place-1].At == t {
			facts = append(facts, m.facts[s.place-1])
		}
	}
}

// newMoments makes room for about so many facts.
func newMoments(room int) *moments {
	return &moments{facts: make([]*model.Fact, 0, room), slots: make([]slot, 2<<bits.Len(uint(max(room, 16))))}
}

// grow makes room for one fact more.
func (m *moments) grow() {
	if 2*(len(m.facts)+1) <= len(m.slots) {
		return
	}
	old := m.slots
	m.slots = make([]slot, 4*len(old))
	for _, s := range old {
		if s.place != 0 {
			m.put(s)
		}
	}
}

// hashOf spreads moments that follow each other; the multiplier is 2^64 divided by the
// golden ratio.
func hashOf(at model.Instant) uint32 { return uint32(uint64(at) * 0x9e3779b97f4a7c15 >> 32) }
