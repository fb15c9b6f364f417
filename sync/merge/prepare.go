package merge

import (
	"crypto/ed25519"
	"errors"
	"slices"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// Prepared is a set of batches that were checked but not yet folded in, so that
// they can be put on a disk in between. It is good for one Commit on the state
// that prepared it, as long as that has not changed.
type Prepared struct {
	Fresh   []*oplog.Batch // bring operations that are new here, in the order to keep them
	Known   []*oplog.Batch // bring nothing new; see oplog.Repeats
	Refused []Refusal

	membership // what the fresh batches add
	state      *State
	rules      []Rule
	kept       bool // no signature is verified
	tails      map[model.DeviceID]*oplog.Tail
	doors      map[model.DeviceID]*door
	ops        [][]*oplog.Op // of each fresh batch
}

// Refusal is a batch that was not taken in, and why.
type Refusal struct {
	Batch *oplog.Batch
	Err   error // carries a fault
}

// Rule is a rule that one replica adds to those of the household, such as a server
// that looks at its clock. It sees the operations that a batch would
// add, after all other checks, and refuses them by an error that carries a fault.
type Rule func(b *oplog.Batch, ops []*oplog.Op) error

// Prepare checks batches against the state: signatures, chain, form, and whether
// anybody ever gave their authors the right to write them. The state does not change.
// Whether an operation counts is decided when all are folded, because a change of
// roles may arrive after what it concerns.
//
// Batches may come in any order. Those that need others of the same call are tried
// again after them; those that need what is not here yet are refused with ErrGap,
// ErrStranger, ErrInvitation or ErrNotAllowed, and can be offered again later.
func (s *State) Prepare(batches []*oplog.Batch, rules ...Rule) *Prepared {
	p := s.nothing()
	p.rules = rules
	p.takeAll(batches)
	return p
}

// PrepareKept is Prepare for batches from this device's own disk, which were prepared
// before they were kept: what continues a log is taken without its signature, which costs
// more than all else. Whoever commits them must then compare State.Heads with the heads
// that were kept; a batch that was damaged on the disk leads to another one.
func (s *State) PrepareKept(batches []*oplog.Batch) *Prepared {
	p := s.nothing()
	p.kept = true
	p.takeAll(batches)
	return p
}

func (s *State) nothing() *Prepared {
	return &Prepared{membership: newMembership(), state: s, tails: map[model.DeviceID]*oplog.Tail{}, doors: map[model.DeviceID]*door{}}
}

func (p *Prepared) takeAll(batches []*oplog.Batch) {
	for rest := batches; ; {
		var waiting []Refusal
		for _, b := range rest {
			if err := p.take(b); mayPass(err) {
				waiting = append(waiting, Refusal{b, err})
			} else if err != nil {
				p.Refused = append(p.Refused, Refusal{b, err})
			}
		}
		if len(waiting) == len(rest) || len(waiting) == 0 {
			p.Refused = append(p.Refused, waiting...)
			return
		}
		rest = make([]*oplog.Batch, len(waiting))
		for i, w := range waiting {
			rest[i] = w.Batch
		}
	}
}

// mayPass reports whether a refusal could go away when more batches are here.
func mayPass(err error) bool {
	for _, passing := range []error{oplog.ErrGap, oplog.ErrStranger, oplog.ErrInvitation, oplog.ErrNotAllowed} {
		if errors.Is(err, passing) {
			return true
		}
	}
	return false
}

func (p *Prepared) tail(d model.DeviceID) *oplog.Tail {
	if t := p.tails[d]; t != nil {
		return t
	}
	return p.state.Tail(d)
}

func (p *Prepared) door(d model.DeviceID) *door {
	if x := p.doors[d]; x != nil {
		return x
	}
	return p.state.doors[d]
}

func (p *Prepared) invite(id model.FactID) *oplog.Op {
	if op := p.invites[id]; op != nil {
		return op
	}
	return p.state.invites[id]
}

// mostOf is the highest role that anybody ever gave a member. It only grows as more
// becomes known, so that replicas refuse the same in the end.
func (p *Prepared) mostOf(m model.MemberID) model.Role {
	a, b := p.most[m], p.state.most[m]
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}

func (p *Prepared) take(b *oplog.Batch) error {
	author := p.door(b.Device)
	if author == nil {
		var err error
		if author, err = p.newcomer(b); err != nil {
			return err
		}
	}
	tail := p.tail(b.Device)
	ops, next, err := p.read(tail, author, b)
	if err != nil {
		return err
	}
	if len(ops) == 0 {
		p.Known = append(p.Known, b)
		return nil
	}
	if tail.Head().Seq == 0 && ops[0].Stamp <= author.since {
		return oplog.ErrDamaged // it joins before it was invited
	}
	most := p.mostOf(author.member)
	for _, op := range ops {
		if !author.may(most, op) {
			return oplog.ErrNotAllowed
		}
	}
	for _, rule := range p.rules {
		if err := rule(b, ops); err != nil {
			return err
		}
	}
	for _, op := range ops {
		p.note(op)
	}
	if tail.Head().Seq == 0 {
		author.since = ops[0].Stamp
	}
	p.tails[b.Device], p.doors[b.Device] = next, author
	p.ops = append(p.ops, ops)
	p.Fresh = append(p.Fresh, b)
	return nil
}

func (p *Prepared) read(tail *oplog.Tail, author *door, b *oplog.Batch) ([]*oplog.Op, *oplog.Tail, error) {
	if p.kept && b.First == tail.Head().Seq+1 {
		return tail.ReadKept(b)
	}
	return tail.Read(author.key, b)
}

// newcomer gives the door of a device whose first batch this is. It may not be older
// than since, until the batch is read.
func (p *Prepared) newcomer(b *oplog.Batch) (*door, error) {
	intro, err := oplog.Introduction(p.state.household, b)
	if err != nil {
		return nil, err
	}
	switch x := intro.(type) {
	case *oplog.Found:
		if model.DeviceIDOf(x.Key) != b.Device {
			return nil, oplog.ErrStranger
		}
		if model.HouseholdIDOf(x.Key, x.Nonce) != p.state.household {
			return nil, oplog.ErrHousehold
		}
		return &door{key: x.Key, member: oplog.FoundingMember(x.Key)}, nil
	case *oplog.Join:
		return p.joiner(b, x)
	case *oplog.Succeed:
		return p.successor(b, x)
	}
	return nil, oplog.ErrStranger
}

func (p *Prepared) joiner(b *oplog.Batch, j *oplog.Join) (*door, error) {
	op := p.invite(j.Via)
	if op == nil {
		return nil, oplog.ErrInvitation
	}
	if model.DeviceIDOf(j.Key) != b.Device {
		return nil, oplog.ErrStranger
	}
	invite := op.Body.(*oplog.Invite)
	if !ed25519.Verify(invite.Key, oplog.JoinBytes(p.state.household, j.Key), j.Proof) {
		return nil, oplog.ErrSignature
	}
	return &door{key: j.Key, member: invite.InvitedMember(), since: op.Stamp}, nil
}

// successor waits until all that both devices have written is here, because what the
// new one writes may build on it.
func (p *Prepared) successor(b *oplog.Batch, x *oplog.Succeed) (*door, error) {
	old := p.door(x.Device)
	if old == nil || model.DeviceIDOf(x.Key) != b.Device {
		return nil, oplog.ErrStranger
	}
	if !ed25519.Verify(old.key, oplog.SucceedBytes(p.state.household, x.Key), x.Proof) {
		return nil, oplog.ErrSignature
	}
	if p.tail(x.Device).Head().Seq < x.After {
		return nil, oplog.ErrGap
	}
	return &door{key: x.Key, member: old.member, since: old.since}, nil
}

// may says whether a role allows a device an operation.
func (d *door) may(role model.Role, op *oplog.Op) bool {
	switch b := op.Body.(type) {
	case *oplog.Found, *oplog.Join, *oplog.Succeed:
		return op.ID.Seq == 1
	case *oplog.Invite, *oplog.Appoint:
		return role == model.Keeper
	case *oplog.Revoke:
		return role == model.Keeper || role != 0 && b.Device == op.ID.Device
	case *oplog.Remove:
		return role == model.Keeper || role != 0 && b.Member == d.member
	case *oplog.Set:
		return !slices.ContainsFunc(b.Fields, func(f oplog.Setting) bool { return !d.maySet(role, b.Record, f.Key.Field, op.ID.Device) })
	case *model.Fact:
		return d.mayNote(role, b)
	}
	return true
}

// mayNote: a guest writes what the guest saw or did, in nobody else's name, decides
// on no plan, and takes back nothing but the guest's own entries.
func (d *door) mayNote(role model.Role, f *model.Fact) bool {
	if role != model.Guest {
		return role != 0
	}
	switch b := f.Body.(type) {
	case *model.PlanAccepted:
		return false
	case *model.Withdrawn:
		return f.By == d.member && b.Fact.Device == f.ID.Device
	}
	return f.By == d.member
}

// maySet: everybody names themselves and their phone, and says when to be told;
// guests change nothing else and do not say how long they stay, and only keepers
// change the household and other members.
func (d *door) maySet(role model.Role, ref model.Ref, f model.Field, self model.DeviceID) bool {
	switch {
	case role == 0 || role == model.Keeper:
		return role != 0
	case ref.Kind == model.KindMember:
		return ref.ID == d.member.UUID() && !(role == model.Guest && f == model.MemberEnds)
	case ref.Kind == model.KindDevice:
		return ref.ID == self.UUID()
	case ref.Kind == model.KindHousehold:
		return false
	}
	return role == model.Helper
}

// Commit folds prepared batches in.
func (s *State) Commit(p *Prepared) {
	for d, t := range p.tails {
		s.tails[d] = t
	}
	s.fold(p.ops...)
}

// Apply prepares and commits, for those who keep nothing in between.
func (s *State) Apply(batches ...*oplog.Batch) []Refusal {
	p := s.Prepare(batches)
	s.Commit(p)
	return p.Refused
}
