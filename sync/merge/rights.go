package merge

import (
	"cmp"
	"math"
	"slices"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// rights is what follows from the operations on membership: who belongs to the
// household, and what each operation's author could do when writing it. It is a
// function of the set of these operations; README.md has the rules and the reasons.
type rights struct {
	members map[model.MemberID]*member
	devices map[model.DeviceID]*device
	open    map[model.FactID]*oplog.Op // invitations that nobody has used
	counts  map[model.FactID]bool      // operations that took effect
}

type member struct {
	first    model.Role // by the invitation
	root     place      // of the invitation; the earlier, the more senior
	appoints []*oplog.Op
	removes  []*oplog.Op
}

type device struct {
	id      model.DeviceID
	member  model.MemberID
	root    place          // of the invitation that it, or the first of its line, joined by
	from    model.DeviceID // whose place it took
	revokes []*oplog.Op
}

// place is where an operation stands in the order in which all replicas judge.
type place struct {
	stamp hlc.Stamp
	id    model.FactID
}

func placeOf(op *oplog.Op) place { return place{op.Stamp, op.ID} }

func (p place) compare(q place) int {
	return cmp.Or(cmp.Compare(p.stamp, q.stamp), p.id.Compare(q.id))
}

func compareOps(a, b *oplog.Op) int { return placeOf(a).compare(placeOf(b)) }

// judge works out the rights. The operations are in order, and are tried in that
// order. What turns out to be written after the end of its author's rights, as
// somebody else set it, is struck, and all is tried again.
func judge(changes []*oplog.Op) *rights {
	struck := map[model.FactID]bool{}
	for {
		r := try(changes, struck)
		op := r.overstepping(changes)
		if op == nil {
			op = r.outranked(changes, struck)
		}
		if op == nil {
			return r
		}
		struck[op.ID] = true
	}
}

func try(changes []*oplog.Op, struck map[model.FactID]bool) *rights {
	r := &rights{members: map[model.MemberID]*member{}, devices: map[model.DeviceID]*device{}, open: map[model.FactID]*oplog.Op{}, counts: map[model.FactID]bool{}}
	for _, op := range changes {
		if !struck[op.ID] && r.take(op) {
			r.counts[op.ID] = true
		}
	}
	return r
}

// take lets an operation take effect, if it may, and reports whether it did.
func (r *rights) take(op *oplog.Op) bool {
	switch b := op.Body.(type) {
	case *oplog.Found:
		return r.admit(op, oplog.FoundingMember(b.Key), model.Keeper, place{})
	case *oplog.Join:
		invite := r.open[b.Via]
		if invite == nil {
			return false
		}
		delete(r.open, b.Via)
		i := invite.Body.(*oplog.Invite)
		role := i.Role
		if !i.Member.IsZero() {
			role = 0 // the member's, who must be here
		}
		return r.admit(op, i.InvitedMember(), role, placeOf(invite))
	case *oplog.Succeed:
		old := r.devices[b.Device]
		if old == nil {
			return false
		}
		r.devices[op.ID.Device] = &device{id: op.ID.Device, member: old.member, root: old.root, from: old.id}
		return true
	}
	if !r.allows(op) {
		return false
	}
	undo := r.change(op)
	if undo == nil {
		return false
	}
	if !r.hasKeeper() {
		undo()
		return false
	}
	return true
}

func (r *rights) admit(op *oplog.Op, id model.MemberID, role model.Role, root place) bool {
	if r.members[id] == nil {
		if role == 0 {
			return false
		}
		r.members[id] = &member{first: role, root: root}
	}
	r.devices[op.ID.Device] = &device{id: op.ID.Device, member: id, root: root}
	return true
}

// change applies an operation of a member, and gives what takes it back; nil if it
// is about nobody.
func (r *rights) change(op *oplog.Op) (undo func()) {
	switch b := op.Body.(type) {
	case *oplog.Invite:
		r.open[op.ID] = op
		return func() { delete(r.open, op.ID) }
	case *oplog.Appoint:
		if m := r.members[b.Member]; m != nil {
			m.appoints = append(m.appoints, op)
			return func() { m.appoints = m.appoints[:len(m.appoints)-1] }
		}
	case *oplog.Remove:
		if m := r.members[b.Member]; m != nil {
			m.removes = append(m.removes, op)
			return func() { m.removes = m.removes[:len(m.removes)-1] }
		}
	case *oplog.Revoke:
		if d := r.devices[b.Device]; d != nil {
			d.revokes = append(d.revokes, op)
			return func() { d.revokes = d.revokes[:len(d.revokes)-1] }
		}
	}
	return nil
}

// allows reports whether the author may change the household so: keepers may, and
// everybody may leave.
func (r *rights) allows(op *oplog.Op) bool {
	role := r.roleAt(op.ID.Device, op.ID.Seq)
	switch b := op.Body.(type) {
	case *oplog.Revoke:
		return role == model.Keeper || role != 0 && b.Device == op.ID.Device
	case *oplog.Remove:
		return role == model.Keeper || role != 0 && b.Member == r.devices[op.ID.Device].member
	}
	return role == model.Keeper
}

// roleAt is the role that an operation of a device is judged by, 0 if the device does
// not belong here or its time had ended.
func (r *rights) roleAt(d model.DeviceID, seq uint64) model.Role {
	if r.devices[d] == nil || seq > r.last(d) {
		return 0
	}
	m := r.members[r.devices[d].member]
	role := m.first
	for _, op := range m.appoints {
		if b := op.Body.(*oplog.Appoint); seq > seen(op, b.Seen, d) {
			role = b.Role
		}
	}
	return role
}

// always is the number of the last operation of a device that has not ended.
const always = math.MaxUint64

// last is the number of a device's last operation that can count.
func (r *rights) last(id model.DeviceID) uint64 {
	d, last := r.devices[id], uint64(always)
	for _, op := range d.revokes {
		last = min(last, endBy(op))
	}
	for _, op := range r.members[d.member].removes {
		if d.root.compare(placeOf(op)) < 0 {
			last = min(last, seen(op, op.Body.(*oplog.Remove).Seen, id))
		}
	}
	for a := r.devices[d.from]; a != nil; a = r.devices[a.from] {
		for _, op := range a.revokes {
			if !r.stays(d, a, op.Body.(*oplog.Revoke)) {
				return 0
			}
		}
	}
	return last
}

// stays reports whether a device that took the place of another, perhaps by way of
// others, goes on when that one is revoked: whoever has a copy of the old key can
// make more such devices, so only those go on that the keeper knew and named.
func (r *rights) stays(d, old *device, b *oplog.Revoke) bool {
	for ; d != old; d = r.devices[d.from] {
		if slices.Contains(b.Stay, d.id) {
			return true
		}
	}
	return false
}

// endBy is the last operation that counts of a device that was revoked. Whoever
// revokes the own device has seen its log up to that.
func endBy(op *oplog.Op) uint64 {
	b := op.Body.(*oplog.Revoke)
	if b.Device == op.ID.Device {
		return op.ID.Seq
	}
	return b.Last
}

// seen is the last operation of a device that the author of op had seen.
func seen(op *oplog.Op, of []model.FactID, d model.DeviceID) uint64 {
	if op.ID.Device == d {
		return op.ID.Seq
	}
	last := uint64(0)
	for _, id := range of {
		if id.Device == d {
			last = max(last, id.Seq)
		}
	}
	return last
}

// hasKeeper reports whether there is a device that can change the household.
func (r *rights) hasKeeper() bool {
	for d := range r.devices {
		if r.roleAt(d, always) == model.Keeper {
			return true
		}
	}
	return false
}

// overstepping finds an operation that took effect although it came after the end of
// its author's rights, which an operation tried after it has set. The last of them
// is certain: nothing that was tried after it oversteps.
func (r *rights) overstepping(changes []*oplog.Op) *oplog.Op {
	for _, op := range slices.Backward(changes) {
		if r.counts[op.ID] && !isFirst(op.Body) && !r.allows(op) {
			return op
		}
	}
	return nil
}

// isFirst reports whether an operation brings its own device in. Nothing ends its
// effect: an invitation does not become free when its device is revoked.
func isFirst(body any) bool {
	switch body.(type) {
	case *oplog.Found, *oplog.Join, *oplog.Succeed:
		return true
	}
	return false
}

// outranked finds an operation by which a keeper shut out a more senior one, who in
// turn had shut out that keeper; neither had seen the other's. The senior one's
// counts, if it does without the other.
func (r *rights) outranked(changes []*oplog.Op, struck map[model.FactID]bool) *oplog.Op {
	for _, one := range changes {
		if isFirst(one.Body) || r.counts[one.ID] || struck[one.ID] {
			continue
		}
		for _, other := range changes {
			if !r.counts[other.ID] || !r.shutsOut(one, other) || !r.shutsOut(other, one) || !r.senior(one, other) {
				continue
			}
			without := map[model.FactID]bool{other.ID: true}
			for id := range struck {
				without[id] = true
			}
			if try(changes, without).counts[one.ID] {
				return other
			}
		}
	}
	return nil
}

// shutsOut reports whether op takes rights from another's author, who had them when
// op's author last looked.
func (r *rights) shutsOut(op, other *oplog.Op) bool {
	author := r.devices[other.ID.Device]
	if author == nil {
		return false
	}
	switch b := op.Body.(type) {
	case *oplog.Appoint:
		return b.Member == author.member && b.Role != model.Keeper && other.ID.Seq > seen(op, b.Seen, author.id)
	case *oplog.Remove:
		return b.Member == author.member && other.ID.Seq > seen(op, b.Seen, author.id)
	case *oplog.Revoke:
		return b.Device == author.id && other.ID.Seq > endBy(op)
	}
	return false
}

// senior reports whether the author of one was in the household before the other's.
func (r *rights) senior(one, other *oplog.Op) bool {
	a, b := r.devices[one.ID.Device], r.devices[other.ID.Device]
	return a != nil && b != nil && r.members[a.member].root.compare(r.members[b.member].root) < 0
}

// span is a role and the operation after which it applies.
type span struct {
	after uint64
	role  model.Role
}

// spans gives the roles that a device's operations are judged by, in order.
func (r *rights) spans(id model.DeviceID) []span {
	d := r.devices[id]
	if d == nil {
		return nil
	}
	bounds := []uint64{0, r.last(id)}
	for _, op := range r.members[d.member].appoints {
		bounds = append(bounds, seen(op, op.Body.(*oplog.Appoint).Seen, id))
	}
	slices.Sort(bounds)
	var out []span
	for _, after := range slices.Compact(bounds) {
		if after == always {
			break
		}
		if role := r.roleAt(id, after+1); len(out) == 0 || out[len(out)-1].role != role {
			out = append(out, span{after, role})
		}
	}
	return out
}

// ended reports whether a device belonged to the household and does no longer.
func (r *rights) ended(d model.DeviceID) bool { return r.devices[d] != nil && r.last(d) != always }
