package merge

import (
	"reflect"

	"leafturn/model"
)

// An entry can come into the logs twice: a phone that goes on under another key writes
// again what it had not shared, and so does a copy of it, or somebody else who still
// has its old log. What one person saw or did at one millisecond, in the same words, is
// one thing, on whatever devices it was written: the first in order counts, the others
// are repeats. A person who came back by a new invitation is somebody else by all that
// the logs say, but tells of moments before that; so one thing it is, too, if one of two
// people tells of a moment at which that one was not there yet.

// sayings finds repeats. Nothing is indexed in a household where nobody has written with
// a second device or told of a time before.
type sayings struct {
	devices map[model.MemberID]model.DeviceID // with which each person wrote first
	at      *moments                          // of all that was allowed; nil while there can be no repeat
}

func newSayings() *sayings { return &sayings{devices: map[model.MemberID]model.DeviceID{}} }

// repeated notes a fact that is allowed, and gives the one that it repeats, if there is
// one. It reports false if one that comes later in order says the same: which of them
// count can only be told in order.
func (s *State) repeated(f *model.Fact) (first *model.Fact, tidy bool) {
	x := s.sayings
	if x.at == nil {
		if x.first(f) == f.ID.Device && !s.before(f) {
			return nil, true
		}
		x.index(s.book.Facts())
	}
	tidy = true
	for _, other := range x.at.at(f.At) {
		if !says(other, f) {
			continue
		}
		if model.CompareFacts(other, f) > 0 {
			tidy = false
		} else if !s.repeats[other.ID] && s.one(other, f) && (first == nil || model.CompareFacts(other, first) < 0) {
			first = other
		}
	}
	x.at.add(f)
	return first, tidy
}

// first is the device with which a fact's person wrote first.
func (x *sayings) first(f *model.Fact) model.DeviceID {
	if _, known := x.devices[f.By]; !known {
		x.devices[f.By] = f.ID.Device
	}
	return x.devices[f.By]
}

func (x *sayings) index(facts []*model.Fact) {
	x.at = newMoments(len(facts))
	for _, f := range facts {
		x.at.add(f)
	}
}

// says reports whether two facts of one moment say the same. To take something back
// twice takes it back, and what is named there has other numbers when it is written
// again, so withdrawals are left as they are.
func says(a, b *model.Fact) bool {
	_, back := a.Body.(*model.Withdrawn)
	return !back && a.ID.Device != b.ID.Device && reflect.DeepEqual(a.Body, b.Body)
}

// one reports whether two facts that say the same are one. A guest may take back nothing
// of others, so nothing of a guest's is one with theirs.
func (s *State) one(a, b *model.Fact) bool {
	return a.By == b.By || (s.before(a) || s.before(b)) && !s.guests(a) && !s.guests(b)
}

// before reports whether somebody tells of a moment before coming into the household.
func (s *State) before(f *model.Fact) bool {
	d := s.doors[f.ID.Device]
	return f.By == d.member && f.At < model.Instant(d.came.Millis())
}

func (s *State) guests(f *model.Fact) bool {
	return s.doors[f.ID.Device].role(f.ID.Seq) == model.Guest
}
