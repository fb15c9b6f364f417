package merge

import "leafturn/model"

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

func (m *moments) add(f *model.Fact) {
	if 2*(len(m.facts)+1) > len(m.slots) {
		old := m.slots
		m.slots = make([]slot, max(64, 2*len(old)))
		for _, s := range old {
			if s.place != 0 {
				m.put(s)
			}
		}
	}
	m.facts = append(m.facts, f)
	m.put(slot{hashOf(f.At), uint32(len(m.facts))})
}

func (m *moments) put(s slot) {
	at := m.begin(s.hash)
	for m.slots[at].place != 0 {
		at = m.next(at)
	}
	m.slots[at] = s
}

// hashOf spreads moments that follow each other; the multiplier is 2^64 divided by the
// golden ratio.
func hashOf(at model.Instant) uint32 { return uint32(uint64(at) * 0x9e3779b97f4a7c15 >> 32) }

func (m *moments) begin(hash uint32) int { return int(hash) & (len(m.slots) - 1) }

func (m *moments) next(at int) int { return (at + 1) & (len(m.slots) - 1) }

// each gives the facts of a moment.
func (m *moments) each(moment model.Instant, do func(*model.Fact)) {
	if len(m.slots) == 0 {
		return
	}
	hash := hashOf(moment)
	for at := m.begin(hash); m.slots[at].place != 0; at = m.next(at) {
		if s := m.slots[at]; s.hash == hash {
			if f := m.facts[s.place-1]; f.At == moment {
				do(f)
			}
		}
	}
}
