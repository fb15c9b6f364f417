package merge

import (
	"bytes"
	"cmp"
	"crypto/ed25519"
	"slices"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// State is the fold of the batches taken in so far. It is not safe for concurrent
// use.
type State struct {
	household model.HouseholdID
	tails     map[model.DeviceID]*oplog.Tail
	doors     map[model.DeviceID]door
	invites   map[string]*oplog.Invite // by public key
	joined    map[string][]model.DeviceID
	registers map[model.Ref]map[model.FieldKey][]Write
	book      *model.Book
}

// door is what lets a device write: its key and what its member may do.
type door struct {
	key    ed25519.PublicKey
	role   model.Role
	member model.MemberID
	since  model.Instant
}

// Write is one setting of a register, as it was written.
type Write struct {
	By    model.FactID
	Stamp hlc.Stamp
	Value model.Value
	Over  model.FactID // the setting its author saw
}

// New is the state of a household of which nothing is known but its id.
func New(h model.HouseholdID) *State {
	return &State{
		household: h,
		tails:     map[model.DeviceID]*oplog.Tail{},
		doors:     map[model.DeviceID]door{},
		invites:   map[string]*oplog.Invite{},
		joined:    map[string][]model.DeviceID{},
		registers: map[model.Ref]map[model.FieldKey][]Write{},
		book:      model.NewBook(h),
	}
}

// Household is the household's id.
func (s *State) Household() model.HouseholdID { return s.household }

// Book is the household as one reads it. It changes with every Commit.
func (s *State) Book() *model.Book { return s.book }

// Tail is where a device's log stands, that of an empty log if nothing is known.
// The caller must not write to it.
func (s *State) Tail(d model.DeviceID) *oplog.Tail {
	if t := s.tails[d]; t != nil {
		return t
	}
	return oplog.NewTail(s.household, d)
}

// Vector says how far each device's log is folded in.
func (s *State) Vector() oplog.Vector {
	v := make(oplog.Vector, len(s.tails))
	for d, t := range s.tails {
		v[d] = t.Head().Seq
	}
	return v
}

// Heads says how far each device's log is folded in, with the hash of the chain.
func (s *State) Heads() map[model.DeviceID]oplog.Head {
	h := make(map[model.DeviceID]oplog.Head, len(s.tails))
	for d, t := range s.tails {
		h[d] = t.Head()
	}
	return h
}

// Stamp is the greatest stamp folded in; a clock that observes it writes later.
func (s *State) Stamp() hlc.Stamp {
	var last hlc.Stamp
	for _, t := range s.tails {
		last = max(last, t.Stamp())
	}
	return last
}

// Key is the public key of a device that belongs to the household.
func (s *State) Key(d model.DeviceID) (ed25519.PublicKey, bool) {
	door, ok := s.doors[d]
	return door.key, ok
}

// Devices gives the devices of the household, whoever invited before whoever was
// invited. A replica that takes their logs in this order never waits for one.
func (s *State) Devices() []model.DeviceID {
	return sortedKeys(s.doors, func(a, b model.DeviceID) int {
		if x, y := s.doors[a].since, s.doors[b].since; x != y {
			return cmp.Compare(x, y)
		}
		return model.CompareIDs(a, b)
	})
}

// Role is what a device may do; the zero Role if it does not belong here.
func (s *State) Role(d model.DeviceID) model.Role { return s.doors[d].role }

// Member is whose device it is.
func (s *State) Member(d model.DeviceID) model.MemberID { return s.doors[d].member }

// Invitation finds an invitation by its public key, and who has used it.
func (s *State) Invitation(key []byte) (*oplog.Invite, []model.DeviceID) {
	return s.invites[string(key)], s.joined[string(key)]
}

// fold takes in one operation that the rules allow.
func (s *State) fold(op *oplog.Op) {
	switch b := op.Body.(type) {
	case *model.Fact:
		s.book.Add(b)
	case *oplog.Set:
		for _, f := range b.Fields {
			s.set(b.Record, f.Key, Write{By: op.ID, Stamp: op.Stamp, Value: f.Value, Over: f.Over})
		}
	case *oplog.Invite:
		s.invites[string(b.Key)] = b
	case *oplog.Found:
		s.admit(op, b.Key, model.Keeper, oplog.FoundingMember(b.Key))
	case *oplog.Join:
		invite := s.invites[string(b.Via)]
		s.joined[string(b.Via)] = insertDevice(s.joined[string(b.Via)], op.ID.Device)
		s.admit(op, b.Key, invite.Role, invite.InvitedMember())
	}
}

func insertDevice(ds []model.DeviceID, d model.DeviceID) []model.DeviceID {
	at, found := slices.BinarySearchFunc(ds, d, model.CompareIDs)
	if found {
		return ds
	}
	return slices.Insert(ds, at, d)
}

func (s *State) admit(op *oplog.Op, key []byte, role model.Role, m model.MemberID) {
	since := model.Instant(op.Stamp.Millis())
	s.doors[op.ID.Device] = door{key: key, role: role, member: m, since: since}
	s.book.Admit(model.Device{ID: op.ID.Device, Member: m, Key: key, Since: since}, role)
}

func (s *State) set(ref model.Ref, key model.FieldKey, w Write) {
	fields := s.registers[ref]
	if fields == nil {
		fields = map[model.FieldKey][]Write{}
		s.registers[ref] = fields
	}
	writes := fields[key]
	at, found := slices.BinarySearchFunc(writes, w, compareWrites)
	if found {
		return
	}
	fields[key] = slices.Insert(writes, at, w)
	if at == len(writes) { // it is the greatest, so it is the value now
		s.book.Put(ref, key, w.Value)
	}
}

func compareWrites(a, b Write) int {
	if a.Stamp != b.Stamp {
		return cmp.Compare(a.Stamp, b.Stamp)
	}
	return a.By.Compare(b.By)
}

// Current is the setting that counts, the zero Write if there is none.
func (s *State) Current(ref model.Ref, key model.FieldKey) Write {
	if ws := s.registers[ref][key]; len(ws) > 0 {
		return ws[len(ws)-1]
	}
	return Write{}
}

// Lost gives the settings that no later author had seen and that did not win:
// what somebody wrote while somebody else wrote something different.
func (s *State) Lost(ref model.Ref, key model.FieldKey) []Write {
	ws := s.registers[ref][key]
	if len(ws) < 2 {
		return nil
	}
	seen := map[model.FactID]bool{}
	for _, w := range ws {
		seen[w.Over] = true
	}
	current := ws[len(ws)-1]
	var lost []Write
	for _, w := range ws[:len(ws)-1] {
		if !seen[w.By] && w.Value != current.Value {
			lost = append(lost, w)
		}
	}
	return lost
}

// sortedKeys gives a map's keys in a fixed order.
func sortedKeys[K comparable, V any](m map[K]V, compare func(a, b K) int) []K {
	keys := make([]K, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, compare)
	return keys
}

func compareRefs(a, b model.Ref) int {
	if a.Kind != b.Kind {
		return cmp.Compare(a.Kind, b.Kind)
	}
	return bytes.Compare(a.ID[:], b.ID[:])
}

func compareFieldKeys(a, b model.FieldKey) int {
	if a.Field != b.Field {
		return cmp.Compare(a.Field, b.Field)
	}
	return bytes.Compare(a.Sub[:], b.Sub[:])
}
