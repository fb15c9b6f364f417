package merge

import (
	"cmp"
	"crypto/ed25519"
	"slices"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// door is a device that has a log: its key, whose it is, and when it came, which never
// change, and the roles that its operations are judged by, which follow from the
// operations on membership.
type door struct {
	key    ed25519.PublicKey
	member model.MemberID
	since  hlc.Stamp
	came   hlc.Stamp // when its member came, with whichever device; 0 if none counts
	spans  []span
	judged bool // spans and came are those that its operations were folded by
}

// role is the role that an operation is judged by, 0 if it does not count.
func (d *door) role(seq uint64) model.Role {
	role := model.Role(0)
	for _, s := range d.spans {
		if seq > s.after {
			role = s.role
		}
	}
	return role
}

// now is the role of the next operation.
func (d *door) now() model.Role {
	if len(d.spans) == 0 {
		return 0
	}
	return d.spans[len(d.spans)-1].role
}

// membership is what the logs say about who belongs here, in whatever order it came.
type membership struct {
	changes []*oplog.Op                   // operations on membership, in order
	invites map[model.FactID]*oplog.Op    // of an *oplog.Invite
	most    map[model.MemberID]model.Role // the highest role that any of them gives
}

func newMembership() membership {
	return membership{invites: map[model.FactID]*oplog.Op{}, most: map[model.MemberID]model.Role{}}
}

// isMembership reports whether an operation is one on membership.
func isMembership(body any) bool {
	switch body.(type) {
	case *oplog.Found, *oplog.Join, *oplog.Succeed, *oplog.Invite, *oplog.Appoint, *oplog.Revoke, *oplog.Remove:
		return true
	}
	return false
}

func (m *membership) add(op *oplog.Op) {
	at, found := slices.BinarySearchFunc(m.changes, op, compareOps)
	if found {
		return
	}
	m.changes = slices.Insert(m.changes, at, op)
	m.note(op)
}

// note remembers the invitation or the role that an operation gives, whether or not
// it may.
func (m *membership) note(op *oplog.Op) {
	switch b := op.Body.(type) {
	case *oplog.Found:
		m.raise(oplog.FoundingMember(b.Key), model.Keeper)
	case *oplog.Invite:
		m.invites[op.ID] = op
		if b.Member.IsZero() {
			m.raise(b.InvitedMember(), b.Role)
		}
	case *oplog.Appoint:
		m.raise(b.Member, b.Role)
	}
}

func (m *membership) raise(id model.MemberID, role model.Role) {
	if had := m.most[id]; had == 0 || role < had {
		m.most[id] = role
	}
}

// enter makes the doors of devices whose first operation is new here. Only a damaged
// snapshot has a device that nothing lets in.
func (s *State) enter() {
	for _, op := range s.changes {
		if s.doors[op.ID.Device] != nil {
			continue
		}
		d := &door{since: op.Stamp}
		switch b := op.Body.(type) {
		case *oplog.Found:
			d.key, d.member = b.Key, oplog.FoundingMember(b.Key)
		case *oplog.Join:
			if invite := s.invites[b.Via]; invite != nil {
				d.key, d.member = b.Key, invite.Body.(*oplog.Invite).InvitedMember()
			}
		case *oplog.Succeed:
			if old := s.doors[b.Device]; old != nil {
				d.key, d.member = b.Key, old.member
			}
		}
		if d.key != nil {
			s.doors[op.ID.Device] = d
		}
	}
}

// judge works out anew who may what, after operations on membership were added, and
// folds everything again if operations are judged otherwise than before.
func (s *State) judge() {
	s.rights = judge(s.changes)
	again, came := false, s.came()
	for id, d := range s.doors {
		spans := s.rights.spans(id)
		again = again || d.judged && !(slices.Equal(d.spans, spans) && d.came == came[d.member])
		d.spans, d.came, d.judged = spans, came[d.member], true
	}
	if again {
		s.foldAgain()
		return
	}
	s.enroll()
}

// came says when each member came into the household.
func (s *State) came() map[model.MemberID]hlc.Stamp {
	came := map[model.MemberID]hlc.Stamp{}
	for id := range s.rights.devices {
		d := s.doors[id]
		if first, known := came[d.member]; !known || d.since < first {
			came[d.member] = d.since
		}
	}
	return came
}

// enroll puts members and devices into the book. A member without a device that may
// write has no role.
func (s *State) enroll() {
	roles := map[model.MemberID]model.Role{}
	for id := range s.rights.devices {
		d := s.doors[id]
		roles[d.member] = max(roles[d.member], d.now())
		s.book.Admit(model.Device{ID: id, Member: d.member, Key: d.key, Since: model.Instant(d.since.Millis()), Ended: s.rights.ended(id)})
	}
	for id, role := range roles {
		s.book.Members[id].Role = role
	}
}

// Access says whether a device may act for its member now: it returns ErrStranger for
// one that never belonged here, ErrUsed for one whose invitation another device has
// used, and ErrRevoked for one whose time has ended.
func (s *State) Access(d model.DeviceID) error {
	switch {
	case s.doors[d] == nil:
		return oplog.ErrStranger
	case s.rights.devices[d] == nil:
		return oplog.ErrUsed
	case s.rights.ended(d):
		return oplog.ErrRevoked
	}
	return nil
}

// Devices gives the devices that have a log, whoever invited before whoever was
// invited. A replica that takes their logs in this order never waits for one.
func (s *State) Devices() []model.DeviceID {
	return sortedKeys(s.doors, func(a, b model.DeviceID) int {
		return cmp.Or(cmp.Compare(s.doors[a].since, s.doors[b].since), model.CompareIDs(a, b))
	})
}

// DevicesOf gives the devices that may write for a member, in a fixed order.
func (s *State) DevicesOf(m model.MemberID) []model.DeviceID {
	var out []model.DeviceID
	for _, d := range s.Devices() {
		if s.doors[d].member == m && s.doors[d].now() != 0 {
			out = append(out, d)
		}
	}
	return out
}

// Seen gives the last operation known here of each of a member's devices, for what an
// operation on the member is to say of them.
func (s *State) Seen(m model.MemberID) []model.FactID {
	var out []model.FactID
	for _, d := range s.Devices() {
		if s.doors[d].member == m {
			out = append(out, model.FactID{Device: d, Seq: s.Tail(d).Head().Seq})
		}
	}
	return out
}

// Successors gives the devices that took the place of a device, and of those, in turn.
func (s *State) Successors(d model.DeviceID) []model.DeviceID {
	var out []model.DeviceID
	for _, other := range s.Devices() { // a successor is younger than what it succeeds
		x := s.rights.devices[other]
		if x != nil && (x.from == d || slices.Contains(out, x.from)) {
			out = append(out, other)
		}
	}
	return out
}

// Key is the public key of a device that has a log here, whether or not it may write.
func (s *State) Key(d model.DeviceID) (ed25519.PublicKey, bool) {
	if x := s.doors[d]; x != nil {
		return x.key, true
	}
	return nil, false
}

// Role is what a device may do now; the zero Role if it may not write.
func (s *State) Role(d model.DeviceID) model.Role {
	if x := s.doors[d]; x != nil {
		return x.now()
	}
	return 0
}

// Member is whose device it is.
func (s *State) Member(d model.DeviceID) model.MemberID {
	if x := s.doors[d]; x != nil {
		return x.member
	}
	return model.MemberID{}
}

// Invitation finds an invitation, and who has joined by it: the first counts.
func (s *State) Invitation(id model.FactID) (*oplog.Invite, []model.DeviceID) {
	op := s.invites[id]
	if op == nil {
		return nil, nil
	}
	var by []model.DeviceID
	for _, c := range s.changes {
		if j, ok := c.Body.(*oplog.Join); ok && j.Via == id {
			by = append(by, c.ID.Device)
		}
	}
	return op.Body.(*oplog.Invite), by
}
