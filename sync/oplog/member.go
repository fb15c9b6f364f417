package oplog

import "leafturn/model"

// Found is the first operation of a household. The household's id is made from
// the founder's key and the nonce, so anybody can check who founded it.
type Found struct {
	Key   []byte // Ed25519 public key of the founding device
	Nonce [16]byte
}

// Invite lets the holder of a key join, once, until a moment. The secret half of
// the key is in the invitation link and nowhere else.
type Invite struct {
	Key     []byte // Ed25519 public key of the invitation
	Role    model.Role
	Expires model.Instant
	Member  model.MemberID // whose further phone may join; zero invites a new member
}

// Join is the first operation of a device that joins by an invitation.
type Join struct {
	Key   []byte       // Ed25519 public key of the device
	Via   model.FactID // the Invite; two of them may hold one key
	Proof []byte       // signature by the invitation's key, over JoinBytes
}

// Succeed is the first operation of a device that takes the place of another one of
// the same member, because the two wrote as one: a phone was restored from a copy.
type Succeed struct {
	Key    []byte         // Ed25519 public key of the device
	Device model.DeviceID // whose place it takes
	After  uint64         // the last operation of that device's log that both have written
	Proof  []byte         // signature by that device's key, over SucceedBytes
}

// Appoint gives a member another role.
//
// What an author of Appoint, Revoke or Remove had seen of a log decides, and no
// clock: operations after that are judged by what this one says.
type Appoint struct {
	Member model.MemberID
	Role   model.Role
	Seen   []model.FactID // the last operation known of each of the member's devices
}

// Revoke ends a device: what it wrote after Last does not count.
type Revoke struct {
	Device model.DeviceID
	Last   uint64
	Stay   []model.DeviceID // devices that took its place and are not ended with it
}

// Remove ends a member: what the member's devices wrote after Seen does not count,
// nor do open invitations for the member.
type Remove struct {
	Member model.MemberID
	Seen   []model.FactID // as in Appoint
}

// FoundingMember is the id of the member who founds a household, and InvitedMember
// that of one who joins by an invitation. They come from keys, so nobody can join
// under another member's id.
func FoundingMember(key []byte) model.MemberID { return model.MemberID(model.DeviceIDOf(key)) }

// InvitedMember is the id of the member that an invitation admits.
func (i *Invite) InvitedMember() model.MemberID {
	if !i.Member.IsZero() {
		return i.Member
	}
	return model.MemberID(model.DeviceIDOf(i.Key))
}

// JoinBytes is what the invitation's key signs to admit a device.
func JoinBytes(h model.HouseholdID, deviceKey []byte) []byte {
	return proofBytes("leafturn join v1\n", h, deviceKey)
}

// SucceedBytes is what a device's key signs so that another takes its place.
func SucceedBytes(h model.HouseholdID, deviceKey []byte) []byte {
	return proofBytes("leafturn succeed v1\n", h, deviceKey)
}

func proofBytes(what string, h model.HouseholdID, deviceKey []byte) []byte {
	b := append(make([]byte, 0, 80), what...)
	b = append(b, h[:]...)
	return append(b, deviceKey...)
}

// maxSeen bounds the devices that one operation names.
const maxSeen = 256

// validateMembership is validate for the operations of this file.
func validateMembership(body any) error {
	ok := true
	switch b := body.(type) {
	case *Found:
		ok = len(b.Key) == 32
	case *Invite:
		ok = len(b.Key) == 32 && b.Role.Valid() && b.Expires > 0
	case *Join:
		ok = len(b.Key) == 32 && !b.Via.IsZero() && len(b.Proof) == 64
	case *Succeed:
		ok = len(b.Key) == 32 && !b.Device.IsZero() && b.After > 0 && len(b.Proof) == 64
	case *Appoint:
		ok = !b.Member.IsZero() && b.Role.Valid() && len(b.Seen) <= maxSeen
	case *Revoke:
		ok = !b.Device.IsZero() && len(b.Stay) <= maxSeen
	case *Remove:
		ok = !b.Member.IsZero() && len(b.Seen) <= maxSeen
	}
	if !ok {
		return model.ErrInvalid
	}
	return nil
}

// The wire forms. A device's first operation comes before any define operation, so
// it holds ids in full.

type foundW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	Key     []byte
	Nonce   []byte // sixteen bytes
}

type inviteW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	Key     []byte
	Role    uint8
	Expires int64
	Member  []byte // sixteen bytes
}

type joinW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	Key     []byte
	Device  []byte // sixteen bytes
	Seq     uint64
	Proof   []byte
}

type appointW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	Member  uint64
	Role    uint8
	Seen    []factIDW
}

type revokeW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	Device  uint64
	Last    uint64
	Stay    []uint64
}

type removeW struct {
	_       struct{} `cbor:",toarray"`
	Kind    uint8
	Millis  uint64
	Counter uint16
	Member  uint64
	Seen    []factIDW
}

// membership gives the wire form of the operations of this file, nil for others.
func (e *encoder) membership(body any) any {
	ms, n := e.millis, e.counter
	switch b := body.(type) {
	case *Found:
		return foundW{Kind: kindFound, Millis: ms, Counter: n, Key: b.Key, Nonce: b.Nonce[:]}
	case *Invite:
		return inviteW{Kind: kindInvite, Millis: ms, Counter: n, Key: b.Key, Role: uint8(b.Role), Expires: int64(b.Expires), Member: b.Member[:]}
	case *Join:
		return joinW{Kind: kindJoin, Millis: ms, Counter: n, Key: b.Key, Device: b.Via.Device[:], Seq: b.Via.Seq, Proof: b.Proof}
	case *Succeed:
		return joinW{Kind: kindSucceed, Millis: ms, Counter: n, Key: b.Key, Device: b.Device[:], Seq: b.After, Proof: b.Proof}
	case *Appoint:
		return appointW{Kind: kindAppoint, Millis: ms, Counter: n, Member: e.name(b.Member), Role: uint8(b.Role), Seen: e.seen(b.Seen)}
	case *Revoke:
		w := revokeW{Kind: kindRevoke, Millis: ms, Counter: n, Device: e.name(b.Device), Last: b.Last}
		for _, d := range b.Stay {
			w.Stay = append(w.Stay, e.name(d))
		}
		return w
	case *Remove:
		return removeW{Kind: kindRemove, Millis: ms, Counter: n, Member: e.name(b.Member), Seen: e.seen(b.Seen)}
	}
	return nil
}

func (e *encoder) seen(ids []model.FactID) []factIDW {
	var out []factIDW
	for _, id := range ids {
		out = append(out, e.fact(id))
	}
	return out
}

func (d *decoder) found(data []byte, op *Op) ([]byte, error) {
	var w foundW
	rest, err := read(d, data, &w)
	if err != nil || len(w.Nonce) != 16 {
		return nil, ErrDamaged.Because(err)
	}
	op.Stamp = d.stamp(w.Millis, w.Counter)
	op.Body = &Found{Key: w.Key, Nonce: [16]byte(w.Nonce)}
	return rest, nil
}

func (d *decoder) invite(data []byte, op *Op) ([]byte, error) {
	var w inviteW
	rest, err := read(d, data, &w)
	if err != nil || len(w.Member) != 16 {
		return nil, ErrDamaged.Because(err)
	}
	op.Stamp = d.stamp(w.Millis, w.Counter)
	op.Body = &Invite{Key: w.Key, Role: model.Role(w.Role), Expires: model.Instant(w.Expires), Member: model.MemberID(w.Member)}
	return rest, nil
}

// join reads a join or a succession; the two have one form.
func (d *decoder) join(data []byte, op *Op) ([]byte, error) {
	var w joinW
	rest, err := read(d, data, &w)
	if err != nil || len(w.Device) != 16 {
		return nil, ErrDamaged.Because(err)
	}
	op.Stamp = d.stamp(w.Millis, w.Counter)
	if w.Kind == kindSucceed {
		op.Body = &Succeed{Key: w.Key, Device: model.DeviceID(w.Device), After: w.Seq, Proof: w.Proof}
		return rest, nil
	}
	op.Body = &Join{Key: w.Key, Via: model.FactID{Device: model.DeviceID(w.Device), Seq: w.Seq}, Proof: w.Proof}
	return rest, nil
}

func (d *decoder) appoint(data []byte, op *Op) ([]byte, error) {
	var w appointW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	op.Stamp = d.stamp(w.Millis, w.Counter)
	op.Body = &Appoint{Member: model.MemberID(d.id(w.Member)), Role: model.Role(w.Role), Seen: d.seen(w.Seen)}
	return rest, nil
}

func (d *decoder) revoke(data []byte, op *Op) ([]byte, error) {
	var w revokeW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	op.Stamp = d.stamp(w.Millis, w.Counter)
	b := &Revoke{Device: model.DeviceID(d.id(w.Device)), Last: w.Last}
	for _, n := range w.Stay {
		b.Stay = append(b.Stay, model.DeviceID(d.id(n)))
	}
	op.Body = b
	return rest, nil
}

func (d *decoder) remove(data []byte, op *Op) ([]byte, error) {
	var w removeW
	rest, err := read(d, data, &w)
	if err != nil {
		return nil, err
	}
	op.Stamp = d.stamp(w.Millis, w.Counter)
	op.Body = &Remove{Member: model.MemberID(d.id(w.Member)), Seen: d.seen(w.Seen)}
	return rest, nil
}

func (d *decoder) seen(ids []factIDW) []model.FactID {
	var out []model.FactID
	for _, id := range ids {
		out = append(out, d.factID(id))
	}
	return out
}
