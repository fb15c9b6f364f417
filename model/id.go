package model

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"

	"github.com/google/uuid"
)

// ID is a UUID that names one thing of type Of, so that a plant's id cannot be
// passed where a place's is wanted.
type ID[Of any] uuid.UUID

// The ids of the records.
type (
	HouseholdID = ID[Household]
	MemberID    = ID[Member]
	DeviceID    = ID[Device]
	PlaceID     = ID[Place]
	PlantID     = ID[Plant]
	ProductID   = ID[Product]
	OutbreakID  = ID[Outbreak]
	PlanID      = ID[PlanAccepted]
	TaskID      = ID[TaskKey]
)

// ParseID reads the text form of an id, in either case.
func ParseID[Of any](s string) (ID[Of], error) {
	u, err := uuid.Parse(s)
	return ID[Of](u), err
}

// String is the id's text form, in lower case.
func (id ID[Of]) String() string { return uuid.UUID(id).String() }

// UUID is the id without its type.
func (id ID[Of]) UUID() uuid.UUID { return uuid.UUID(id) }

// IsZero reports whether the id names nothing.
func (id ID[Of]) IsZero() bool { return id == ID[Of]{} }

// MarshalText writes the text form, so that ids can be JSON values and keys.
func (id ID[Of]) MarshalText() ([]byte, error) { return uuid.UUID(id).MarshalText() }

// UnmarshalText reads the text form.
func (id *ID[Of]) UnmarshalText(b []byte) error { return (*uuid.UUID)(id).UnmarshalText(b) }

// DeviceIDOf is the id of the device that holds the key: the first sixteen bytes
// of the SHA-256 of its public key, marked as a UUID of version 8 (RFC 9562,
// section 5.8). The id commits to the key, so nobody can swap the key later.
func DeviceIDOf(publicKey []byte) DeviceID {
	sum := sha256.Sum256(publicKey)
	return DeviceID(hashed(sum))
}

// HouseholdIDOf is the id of the household that the device with this key founds.
// It commits to the founder, so no server can put another founder in its place.
func HouseholdIDOf(founderKey []byte, nonce [16]byte) HouseholdID {
	h := sha256.New()
	h.Write([]byte("leafturn household v1\n"))
	h.Write(founderKey)
	h.Write(nonce[:])
	return HouseholdID(hashed([32]byte(h.Sum(nil))))
}

func hashed(sum [32]byte) uuid.UUID {
	u := uuid.UUID(sum[:16])
	u[6] = u[6]&0x0f | 0x80 // version 8
	u[8] = u[8]&0x3f | 0x80 // variant of RFC 9562
	return u
}

// FactID names a fact or any other operation: the device that wrote it and its
// place in that device's log. It costs nothing and cannot collide.
type FactID struct {
	Device DeviceID
	Seq    uint64
}

// IsZero reports whether the id names nothing.
func (f FactID) IsZero() bool { return f == FactID{} }

// Compare orders fact ids by device, then by sequence.
func (f FactID) Compare(g FactID) int {
	if c := compareIDs(f.Device, g.Device); c != 0 {
		return c
	}
	switch {
	case f.Seq < g.Seq:
		return -1
	case f.Seq > g.Seq:
		return 1
	}
	return 0
}

// compareIDs orders ids by their bytes. Two big-endian halves are much faster to
// compare than sixteen bytes, and folding compares often.
func compareIDs[Of any](a, b ID[Of]) int {
	for _, at := range [2]int{0, 8} {
		x, y := binary.BigEndian.Uint64(a[at:]), binary.BigEndian.Uint64(b[at:])
		if x < y {
			return -1
		}
		if x > y {
			return 1
		}
	}
	return 0
}

// CompareIDs orders two ids of one type by their bytes.
func CompareIDs[Of any](a, b ID[Of]) int { return compareIDs(a, b) }

// PhotoSum names a photo: the SHA-256 of the bytes the phone kept.
type PhotoSum [32]byte

// String is the sum in lower-case hexadecimal, as in URLs.
func (s PhotoSum) String() string { return hex.EncodeToString(s[:]) }

// ParsePhotoSum reads what String wrote.
func ParsePhotoSum(text string) (PhotoSum, error) {
	var s PhotoSum
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != len(s) {
		return s, ErrInvalid.Because(err)
	}
	return PhotoSum(b), nil
}
