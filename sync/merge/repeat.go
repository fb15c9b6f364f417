package merge

import (
	"reflect"

	"leafturn/model"
)

// An entry can come into the logs twice: a phone that goes on under another key writes
// again what it had not shared, and so does a copy of it, or somebody else who still
// has its old log. What one person saw or did at one millisecond, in the same words, is
// one thing, on whatever devices it was written: the first in order counts, the others
// are repeats.

// sayings finds repeats, by who saw or did it. A person who has written with one device
// only has none, so nothing is indexed for most people.
type sayings map[model.MemberID]*saying

type saying struct {
	device model.DeviceID // the one that wrote first
	at     *moments       // of those that count; nil while there is one device
}

// add notes a fact that is to count, unless there is one that it repeats, which it
// gives. It reports whether one that counts repeats this one.
func (s sayings) add(b *model.Book, f *model.Fact) (first *model.Fact, repeated bool) {
	x := s[f.By]
	if x == nil {
		s[f.By] = &saying{device: f.ID.Device}
		return nil, false
	}
	if x.at == nil {
		if x.device == f.ID.Device {
			return nil, false
		}
		x.index(b, f.By)
	}
	for _, other := range x.at.at(f.At) {
		switch {
		case !says(other, f):
		case model.CompareFacts(other, f) > 0:
			repeated = true
		case first == nil || model.CompareFacts(other, first) < 0:
			first = other
		}
	}
	if first == nil {
		x.at.add(f)
	}
	return first, repeated
}

// index notes what the one device wrote for the person.
func (x *saying) index(b *model.Book, by model.MemberID) {
	facts := b.DeviceFacts(x.device)
	x.at = newMoments(len(facts))
	for _, f := range facts {
		if f.By == by {
			x.at.add(f)
		}
	}
}

// says reports whether two facts of one person and moment are one. To take something
// back twice takes it back, and what is named there has other numbers when it is written
// again, so withdrawals are left as they are.
func says(a, b *model.Fact) bool {
	_, back := a.Body.(*model.Withdrawn)
	return !back && a.ID.Device != b.ID.Device && reflect.DeepEqual(a.Body, b.Body)
}
