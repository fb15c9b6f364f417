package merge

import (
	"crypto/ed25519"
	"errors"

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

	state   *State
	rules   []Rule
	tails   map[model.DeviceID]*oplog.Tail
	doors   map[model.DeviceID]door
	invites map[string]*oplog.Invite
	ops     [][]*oplog.Op // of each fresh batch
}

// Refusal is a batch that was not taken in, and why.
type Refusal struct {
	Batch *oplog.Batch
	Err   error // carries a fault
}

// Rule is a rule that one replica adds to those of the household, such as a server
// that lets an invitation be used once. It sees the operations that a batch would
// add, after all other checks, and refuses them by an error that carries a fault.
type Rule func(b *oplog.Batch, ops []*oplog.Op) error

// Prepare checks batches against the state: signatures, chain, form, and whether
// the household lets their authors write them. The state does not change.
//
// Batches may come in any order. Those that need others of the same call are tried
// again after them; those that need what is not here yet are refused with ErrGap,
// ErrStranger or ErrInvitation, and can be offered again later.
func (s *State) Prepare(batches []*oplog.Batch, rules ...Rule) *Prepared {
	p := &Prepared{state: s, rules: rules, tails: map[model.DeviceID]*oplog.Tail{}, doors: map[model.DeviceID]door{}, invites: map[string]*oplog.Invite{}}
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
			return p
		}
		rest = make([]*oplog.Batch, len(waiting))
		for i, w := range waiting {
			rest[i] = w.Batch
		}
	}
}

// mayPass reports whether a refusal could go away when more batches are here.
func mayPass(err error) bool {
	return errors.Is(err, oplog.ErrGap) || errors.Is(err, oplog.ErrStranger) || errors.Is(err, oplog.ErrInvitation)
}

func (p *Prepared) tail(d model.DeviceID) *oplog.Tail {
	if t := p.tails[d]; t != nil {
		return t
	}
	return p.state.Tail(d)
}

func (p *Prepared) door(d model.DeviceID) (door, bool) {
	if x, ok := p.doors[d]; ok {
		return x, true
	}
	x, ok := p.state.doors[d]
	return x, ok
}

func (p *Prepared) invite(key []byte) *oplog.Invite {
	if i := p.invites[string(key)]; i != nil {
		return i
	}
	return p.state.invites[string(key)]
}

func (p *Prepared) take(b *oplog.Batch) error {
	author, ok := p.door(b.Device)
	if !ok {
		var err error
		if author, err = p.newcomer(b); err != nil {
			return err
		}
	}
	tail := p.tail(b.Device)
	ops, next, err := tail.Read(author.key, b)
	if err != nil {
		return err
	}
	if len(ops) == 0 {
		p.Known = append(p.Known, b)
		return nil
	}
	invites := map[string]*oplog.Invite{}
	for _, op := range ops {
		if err := author.may(op); err != nil {
			return err
		}
		if i, ok := op.Body.(*oplog.Invite); ok {
			invites[string(i.Key)] = i
		}
	}
	for _, rule := range p.rules {
		if err := rule(b, ops); err != nil {
			return err
		}
	}
	for k, i := range invites {
		p.invites[k] = i
	}
	p.tails[b.Device], p.doors[b.Device] = next, author
	p.ops = append(p.ops, ops)
	p.Fresh = append(p.Fresh, b)
	return nil
}

// newcomer says whether a device whose first batch this is belongs here, and as what.
func (p *Prepared) newcomer(b *oplog.Batch) (door, error) {
	intro, err := oplog.Introduction(p.state.household, b)
	if err != nil {
		return door{}, err
	}
	switch x := intro.(type) {
	case *oplog.Found:
		if model.DeviceIDOf(x.Key) != b.Device {
			return door{}, oplog.ErrStranger
		}
		if model.HouseholdIDOf(x.Key, x.Nonce) != p.state.household {
			return door{}, oplog.ErrHousehold
		}
		return door{key: x.Key, role: model.Keeper, member: oplog.FoundingMember(x.Key)}, nil
	case *oplog.Join:
		return p.joiner(b, x)
	}
	return door{}, oplog.ErrStranger
}

func (p *Prepared) joiner(b *oplog.Batch, j *oplog.Join) (door, error) {
	invite := p.invite(j.Via)
	if invite == nil {
		return door{}, oplog.ErrInvitation
	}
	if model.DeviceIDOf(j.Key) != b.Device {
		return door{}, oplog.ErrStranger
	}
	if !ed25519.Verify(invite.Key, oplog.JoinBytes(p.state.household, j.Key), j.Proof) {
		return door{}, oplog.ErrSignature
	}
	return door{key: j.Key, role: invite.Role, member: invite.InvitedMember()}, nil
}

// may says whether the device's role allows an operation.
func (d door) may(op *oplog.Op) error {
	allowed := true
	switch b := op.Body.(type) {
	case *oplog.Found, *oplog.Join:
		allowed = op.ID.Seq == 1
	case *oplog.Invite:
		allowed = d.role == model.Keeper
	case *oplog.Set:
		allowed = d.maySet(b.Record, op.ID.Device)
	case *model.Fact:
		allowed = d.role != model.Guest || d.guestMay(b, op.ID.Device)
	}
	if !allowed {
		return oplog.ErrNotAllowed
	}
	return nil
}

// guestMay: a guest writes what the guest saw or did, in nobody else's name, decides
// on no plan, and takes back nothing but the guest's own entries.
func (d door) guestMay(f *model.Fact, self model.DeviceID) bool {
	switch b := f.Body.(type) {
	case *model.PlanAccepted:
		return false
	case *model.Withdrawn:
		return f.By == d.member && b.Fact.Device == self
	}
	return f.By == d.member
}

// maySet: everybody names themselves and their phone; guests change nothing else,
// and only keepers change the household and other members.
func (d door) maySet(ref model.Ref, self model.DeviceID) bool {
	switch ref.Kind {
	case model.KindMember:
		return d.role == model.Keeper || ref.ID == d.member.UUID()
	case model.KindDevice:
		return d.role == model.Keeper || ref.ID == self.UUID()
	case model.KindHousehold:
		return d.role == model.Keeper
	}
	return d.role != model.Guest
}

// Commit folds prepared batches in.
func (s *State) Commit(p *Prepared) {
	for d, t := range p.tails {
		s.tails[d] = t
	}
	for _, ops := range p.ops {
		for _, op := range ops {
			s.fold(op)
		}
	}
}

// Apply prepares and commits, for those who keep nothing in between.
func (s *State) Apply(batches ...*oplog.Batch) []Refusal {
	p := s.Prepare(batches)
	s.Commit(p)
	return p.Refused
}
