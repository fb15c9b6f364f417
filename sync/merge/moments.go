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

// add shows the facts of a fact's moment to see, and adds it if that says so.
func (m *moments) add(f *model.Fact, see func(*model.Fact), fresh func() bool) {
	m.grow()
	hash := hashOf(f.At)
	at := m.begin(hash)
	for ; m.slots[at].place != 0; at = m.next(at) {
		if s := m.slots[at]; s.hash == hash {
			if other := m.facts[s.place-1]; other.At == f.At {
				see(other)
			}
		}
	}
	if fresh() {
		m.facts = append(m.facts, f)
		m.slots[at] = slot{hash, uint32(len(m.facts))}
	}
}

// grow makes room for one fact more.
func (m *moments) grow() {
	if 2*(len(m.facts)+1) <= len(m.slots) {
		return
	}
	old := m.slots
	m.slots = make([]slot, max(64, 4*len(old)))
	for _, s := range old {
		if s.place == 0 {
			continue
		}
		at := m.begin(s.hash)
		for m.slots[at].place != 0 {
			at = m.next(at)
		}
		m.slots[at] = s
	}
}

// hashOf spreads moments that follow each other; the multiplier is 2^64 divided by the
// golden ratio.
func hashOf(at model.Instant) uint32 { return uint32(uint64(at) * 0x9e3779b97f4a7c15 >> 32) }

func (m *moments) begin(hash uint32) int { return int(hash) & (len(m.slots) - 1) }

func (m *moments) next(at int) int { return (at + 1) & (len(m.slots) - 1) }
