package auth

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"sync"
	"time"

	"leafturn/model"
	"leafturn/model/fault"
)

// Returned by Token for a challenge that cannot be used.
var (
	ErrChallengeInvalid = fault.New("challenge_invalid", "This sign-in does not fit this device or this server. Try again.")
	ErrChallengeExpired = fault.New("challenge_expired", "This sign-in took too long. Try again.")
	ErrChallengeUsed    = fault.New("challenge_used", "This sign-in was already used once. Try again.")
)

// ChallengeLife is how long a device has to sign a challenge.
const ChallengeLife = 2 * time.Minute

// A challenge is a nonce, the second it expires (big-endian) and a MAC over both
// and over the household and device it was made for. Nothing is kept for a
// challenge that is only asked for, so asking a million times fills no memory.
const (
	nonceSize  = 16
	macAt      = nonceSize + 8
	challengeN = macAt + sha256.Size
)

type nonce [nonceSize]byte

// challenges makes and checks challenges and remembers the used ones.
type challenges struct {
	secret []byte

	mu    sync.Mutex
	used  map[nonce]time.Time // when it expires; guarded by mu
	sweep time.Time           // when to forget expired ones again; guarded by mu
}

func newChallenges(secret []byte) *challenges {
	return &challenges{secret: secret, used: map[nonce]time.Time{}}
}

func (c *challenges) issue(household model.HouseholdID, device model.DeviceID, now time.Time) Challenge {
	expires := now.Add(ChallengeLife).Truncate(time.Second)
	b := make([]byte, nonceSize, challengeN)
	rand.Read(b)
	b = binary.BigEndian.AppendUint64(b, uint64(expires.Unix()))
	b = append(b, c.mac(b, household, device)...)
	return Challenge{Text: base64.RawURLEncoding.EncodeToString(b), Expires: expires}
}

func (c *challenges) mac(b []byte, household model.HouseholdID, device model.DeviceID) []byte {
	m := hmac.New(sha256.New, c.secret)
	m.Write(b)
	m.Write(household[:])
	m.Write(device[:])
	return m.Sum(nil)
}

// ticket is a challenge that was made here for this device and is still in time.
type ticket struct {
	nonce   nonce
	expires time.Time
}

func (c *challenges) check(p Proof, now time.Time) (ticket, error) {
	b, err := base64.RawURLEncoding.Strict().DecodeString(p.Challenge)
	if err != nil || len(b) != challengeN {
		return ticket{}, ErrChallengeInvalid
	}
	if !hmac.Equal(b[macAt:], c.mac(b[:macAt], p.Household, p.Device)) {
		return ticket{}, ErrChallengeInvalid
	}
	expires := time.Unix(int64(binary.BigEndian.Uint64(b[nonceSize:macAt])), 0)
	if !now.Before(expires) {
		return ticket{}, ErrChallengeExpired
	}
	return ticket{nonce(b[:nonceSize]), expires}, nil
}

// use marks a ticket as used, once. Only a right signature gets here, so the
// table holds no more than what real devices sign in within twice ChallengeLife.
func (c *challenges) use(t ticket, now time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.forget(now)
	if _, ok := c.used[t.nonce]; ok {
		return ErrChallengeUsed
	}
	c.used[t.nonce] = t.expires
	return nil
}

// forget drops the expired nonces, but not on every call: ten thousand devices that
// come back at once must not each walk the whole table.
func (c *challenges) forget(now time.Time) {
	if now.Before(c.sweep) {
		return
	}
	c.sweep = now.Add(ChallengeLife)
	for n, expires := range c.used {
		if !now.Before(expires) {
			delete(c.used, n)
		}
	}
}
