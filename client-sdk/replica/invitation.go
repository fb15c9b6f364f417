package replica

import (
	"crypto/ed25519"
	"encoding/base64"
	"encoding/binary"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Invitation is what an invitation link holds. Whoever has it can join, once, until
// it expires, so it is shown and never logged.
type Invitation struct {
	Household model.HouseholdID
	Op        model.FactID // that invites
	Seed      []byte       // of the invitation's Ed25519 key
	After     hlc.Stamp    // the stamp of the invitation, so that the newcomer's clock starts later
}

// Returned when a link is not an invitation, or one of a newer version.
var (
	ErrNewLink = fault.New(oplog.ErrVersion.Code, "This invitation was made by a newer Leafturn. Update this one, then open the link again.")
	ErrLink    = fault.New("invitation_unreadable", "This link is not complete. Scan the code again, or ask for the link once more.")
)

const invitationVersion = 1

// String is the text that goes into the link, URL-safe.
func (i Invitation) String() string {
	b := []byte{invitationVersion}
	b = append(b, i.Household[:]...)
	b = append(b, i.Op.Device[:]...)
	b = binary.BigEndian.AppendUint64(b, i.Op.Seq)
	b = append(b, i.Seed...)
	b = binary.BigEndian.AppendUint64(b, uint64(i.After))
	return base64.RawURLEncoding.EncodeToString(b)
}

// ParseInvitation reads what String wrote.
func ParseInvitation(s string) (Invitation, error) {
	b, err := base64.RawURLEncoding.DecodeString(s)
	if err != nil || len(b) == 0 {
		return Invitation{}, ErrLink.Because(err)
	}
	if b[0] != invitationVersion {
		return Invitation{}, ErrNewLink
	}
	const seedAt = 1 + 16 + 16 + 8
	if len(b) != seedAt+ed25519.SeedSize+8 {
		return Invitation{}, ErrLink
	}
	return Invitation{
		Household: model.HouseholdID(b[1:17]),
		Op:        model.FactID{Device: model.DeviceID(b[17:33]), Seq: binary.BigEndian.Uint64(b[33:])},
		Seed:      b[seedAt : seedAt+ed25519.SeedSize],
		After:     hlc.Stamp(binary.BigEndian.Uint64(b[seedAt+ed25519.SeedSize:])),
	}, nil
}

// key is the invitation's own key.
func (i Invitation) key() ed25519.PrivateKey { return ed25519.NewKeyFromSeed(i.Seed) }

// accept makes the first operation of the device that joins.
func (i Invitation) accept(device ed25519.PublicKey) *oplog.Join {
	return &oplog.Join{Key: device, Via: i.Op, Proof: ed25519.Sign(i.key(), oplog.JoinBytes(i.Household, device))}
}
