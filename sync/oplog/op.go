package oplog

import (
	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/sync/hlc"
)

// Op is one operation, read and named in full.
type Op struct {
	ID    model.FactID
	Stamp hlc.Stamp
	Body  any // *Set, *Found, *Invite, *Join, *Define or *model.Fact
}

// Set sets fields of one record. A record exists from the first setting on.
type Set struct {
	Record model.Ref
	Fields []Setting
}

// Setting sets one register.
type Setting struct {
	Key   model.FieldKey
	Value model.Value
	// Over is the setting that the author saw and replaced, zero if there was none.
	// Two settings over the same one were made without knowing of each other.
	Over model.FactID
}

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
	Key   []byte // Ed25519 public key of the device
	Via   []byte // public key of the invitation
	Proof []byte // signature by the invitation's key, over JoinBytes
}

// Define names long ids for the rest of the log. It changes nothing else.
type Define struct {
	IDs []uuid.UUID
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
	b := append(make([]byte, 0, 80), "leafturn join v1\n"...)
	b = append(b, h[:]...)
	return append(b, deviceKey...)
}

// Kinds of operations. The numbers are on disk and on the wire: do not reorder or
// reuse them.
const (
	kindDefine    = 0
	kindSet       = 1
	kindFound     = 2
	kindInvite    = 3
	kindJoin      = 4
	kindInspect   = 8
	kindApply     = 9
	kindHandle    = 10
	kindPlan      = 11
	kindClaim     = 12
	kindPutOff    = 13
	kindWithdraw  = 14
	kindCompleted = 15
	kindSettled   = 16
	kindCard      = 17
	kindTemp      = 18
	kindMeasure   = 19

	kinds = 24 // all kinds are below
)
