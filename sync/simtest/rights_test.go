package simtest_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// setAside names the operations that do not count.
func setAside(st *merge.State) map[model.FactID]bool {
	out := map[model.FactID]bool{}
	for _, x := range st.SetAside() {
		out[x.ID] = true
	}
	return out
}

// onlyWhoMay: what its author's role allowed counts, and nothing else does. Where two
// people changed each other's rights without knowing, who prevails is tested where
// that rule is, in package merge.
func onlyWhoMay(st *merge.State, ops []*oplog.Op) error {
	r, aside := rightsOf(ops), setAside(st)
	for _, op := range ops {
		if may, certain := r.may(op); certain && may == aside[op.ID] {
			return fmt.Errorf("%v of role %d counts: %v, but should: %v: %s", op.ID, r.role(op.ID), !aside[op.ID], may, textOf(op.Body))
		}
	}
	return nil
}

// rights is who may what, read from the operations in the simplest way.
type rights struct {
	first   map[model.DeviceID]model.Role // by which it came
	members map[model.DeviceID]model.MemberID
	further map[model.DeviceID]bool           // it joined as a further phone of a member
	from    map[model.DeviceID]model.DeviceID // whose place it took
	changes []*oplog.Op                       // *oplog.Appoint, *oplog.Revoke and *oplog.Remove, in order
}

func rightsOf(ops []*oplog.Op) *rights {
	r := &rights{first: map[model.DeviceID]model.Role{}, members: map[model.DeviceID]model.MemberID{}, further: map[model.DeviceID]bool{}, from: map[model.DeviceID]model.DeviceID{}}
	invited := map[model.FactID]*oplog.Invite{}
	for _, op := range ops {
		switch b := op.Body.(type) {
		case *oplog.Invite:
			invited[op.ID] = b
		case *oplog.Appoint, *oplog.Revoke, *oplog.Remove:
			r.changes = append(r.changes, op)
		}
	}
	inOrder := slices.SortedFunc(slices.Values(ops), compareOps)
	for _, op := range inOrder {
		switch b := op.Body.(type) {
		case *oplog.Found:
			r.first[op.ID.Device], r.members[op.ID.Device] = model.Keeper, oplog.FoundingMember(b.Key)
		case *oplog.Join:
			i := invited[b.Via]
			if i == nil {
				continue // somebody else has used it
			}
			delete(invited, b.Via)
			if !i.Member.IsZero() && !r.here(i.Member) {
				continue // a further phone of nobody
			}
			r.first[op.ID.Device], r.members[op.ID.Device] = i.Role, i.InvitedMember()
			r.further[op.ID.Device] = !i.Member.IsZero()
		case *oplog.Succeed:
			d := op.ID.Device
			r.first[d], r.members[d], r.further[d], r.from[d] = r.first[b.Device], r.members[b.Device], r.further[b.Device], b.Device
		}
	}
	slices.SortFunc(r.changes, compareOps)
	return r
}

// came says when each member came, with whichever device.
func (r *rights) came(ops []*oplog.Op) map[model.MemberID]hlc.Stamp {
	came := map[model.MemberID]hlc.Stamp{}
	for _, op := range ops {
		if m, here := r.members[op.ID.Device]; here && op.ID.Seq == 1 && (came[m] == 0 || op.Stamp < came[m]) {
			came[m] = op.Stamp
		}
	}
	return came
}

func compareOps(a, b *oplog.Op) int { return cmp.Or(cmp.Compare(a.Stamp, b.Stamp), a.ID.Compare(b.ID)) }

// about gives the changes of a device's rights.
func (r *rights) about(d model.DeviceID) []*oplog.Op {
	return slices.DeleteFunc(slices.Clone(r.changes), func(op *oplog.Op) bool {
		switch b := op.Body.(type) {
		case *oplog.Revoke:
			return b.Device != d && !r.endsWith(d, b)
		case *oplog.Appoint:
			return b.Member != r.members[d]
		default:
			return b.(*oplog.Remove).Member != r.members[d]
		}
	})
}

// endsWith reports whether a device ends because one was revoked whose place it, or one
// before it, had taken: but for those that were named to stay.
func (r *rights) endsWith(d model.DeviceID, b *oplog.Revoke) bool {
	for ; r.from[d] != (model.DeviceID{}); d = r.from[d] {
		if slices.Contains(b.Stay, d) {
			return false
		}
		if r.from[d] == b.Device {
			return true
		}
	}
	return false
}

// role is the role by which an operation is judged, 0 for none: what an author of a
// change had seen of a log was written before it.
func (r *rights) role(id model.FactID) model.Role {
	role := r.first[id.Device]
	last := func(seen []model.FactID) (n uint64) {
		for _, one := range seen {
			if one.Device == id.Device {
				n = one.Seq
			}
		}
		return n
	}
	for _, op := range r.about(id.Device) {
		switch b := op.Body.(type) {
		case *oplog.Appoint:
			if id.Seq > last(b.Seen) {
				role = b.Role
			}
		case *oplog.Revoke:
			if b.Device != id.Device || id.Seq > b.Last {
				return 0
			}
		case *oplog.Remove:
			if id.Seq > last(b.Seen) {
				return 0
			}
		}
	}
	return role
}

// may says whether an operation counts, and whether that is certain: it is unless
// somebody changed the rights of who changed the author's, or a member was removed
// while somebody else invited a further phone of that member.
func (r *rights) may(op *oplog.Op) (may, certain bool) {
	for _, change := range r.about(op.ID.Device) {
		if by := change.ID.Device; r.first[by] != model.Keeper || len(r.about(by)) > 0 {
			return false, false
		}
		if _, removes := change.Body.(*oplog.Remove); removes && r.further[op.ID.Device] {
			return false, false
		}
	}
	d, role := op.ID.Device, r.role(op.ID)
	own := r.members[d]
	switch b := op.Body.(type) {
	case *oplog.Join:
		return role != 0, len(r.about(d)) == 0
	case *oplog.Succeed: // nobody takes the place of one who never came in
		return r.first[b.Device] != 0, len(r.about(d)) == 0
	case *oplog.Found, *oplog.Define:
		return true, len(r.about(d)) == 0
	case *oplog.Set:
		mine := b.Record.ID == own.UUID() || b.Record.ID == d.UUID()
		open := role == model.Helper && b.Record.Kind != model.KindHousehold && b.Record.Kind != model.KindMember && b.Record.Kind != model.KindDevice
		return role == model.Keeper || role != 0 && mine || open, true
	case *model.Fact:
		return role == model.Keeper || role == model.Helper || role == model.Guest && guestMay(b, own, d), true
	case *oplog.Revoke: // one whose invitation somebody else had used is nobody to revoke
		return role == model.Keeper && r.first[b.Device] != 0, true
	case *oplog.Remove:
		return role == model.Keeper && r.here(b.Member), true
	case *oplog.Appoint:
		return role == model.Keeper && r.here(b.Member), true
	}
	return role == model.Keeper, true
}

// here reports whether a member ever came in.
func (r *rights) here(m model.MemberID) bool {
	return slices.Contains(slices.Collect(maps.Values(r.members)), m)
}

// guestMay: guests say what they saw or did themselves.
func guestMay(f *model.Fact, own model.MemberID, d model.DeviceID) bool {
	switch b := f.Body.(type) {
	case *model.PlanAccepted:
		return false
	case *model.Withdrawn:
		return f.By == own && b.Fact.Device == d
	}
	return f.By == own
}
