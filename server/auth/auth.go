// Package auth lets devices in and keeps everybody else out.
//
// A device proves itself with its own Ed25519 key: it asks for a challenge, signs
// it, and gets a token, which is good for a few minutes and for one household. The
// token is a JWT of exactly one algorithm, issuer and audience; whatever differs
// is refused before its claims are looked at. The server keeps no sessions: a
// token that is still good is refused all the same once its device is gone from
// the household, because every check asks the Directory again.
//
// A set-up token is something else: a secret in the one-time link that the server
// prints when it starts, and that lets whoever holds it found one household.
package auth

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"fmt"
	"time"

	"leafturn/model"
	"leafturn/model/fault"
)

// Returned when a device is not let in.
var (
	ErrProof         = fault.New("proof_invalid", "This device could not prove that it belongs to the household. Everything on it is safe; join again by an invitation.")
	ErrDeviceUnknown = fault.New("device_unknown", "This server does not know this device in this household. Everything on it is safe; join by an invitation, or check the server's address.")
)

// Returned by Check.
var (
	ErrTokenInvalid = fault.New("token_invalid", "This sign-in is not valid. Sign in again.")
	ErrTokenExpired = fault.New("token_expired", "This sign-in has run out. Sign in again.")
	ErrTokenRevoked = fault.New("token_revoked", "This device no longer belongs to the household. Everything on it is safe; join again by an invitation.")
)

// Directory knows which devices belong to which household.
type Directory interface {
	// DeviceKey gives the public key of a device that may act for a member of
	// the household now. It returns ErrDeviceUnknown, or any fault with its own
	// words, for a device that was never there or was removed and for a
	// household that does not exist; every other error counts as internal. With
	// the fault of a device that was removed it gives its key: who proves to be
	// that device is told the fault, and nobody else.
	// It is asked on every request, so it must be quick, and it may be called
	// from several goroutines at once.
	DeviceKey(ctx context.Context, household model.HouseholdID, device model.DeviceID) (ed25519.PublicKey, error)
}

// Service signs devices in. Its methods may be called from several goroutines.
type Service struct {
	directory  Directory
	challenges *challenges
	tokens     *tokens
	now        func() time.Time
}

// New makes a service that signs with the server's key. It draws a fresh secret
// for its challenges, so those of an earlier process are no longer good.
func New(key ed25519.PrivateKey, directory Directory, now func() time.Time) *Service {
	secret := make([]byte, 32)
	rand.Read(secret) // never fails: crypto/rand ends the process instead
	return &Service{
		directory:  directory,
		challenges: newChallenges(secret),
		tokens:     newTokens(key),
		now:        now,
	}
}

// Challenge is what a device must sign, once and soon.
type Challenge struct {
	Text    string
	Expires time.Time
}

// Challenge makes a challenge for one device of one household. It asks nobody
// whether the two exist, so it tells a stranger nothing.
func (s *Service) Challenge(household model.HouseholdID, device model.DeviceID) Challenge {
	return s.challenges.issue(household, device, s.now())
}

// Proof is a signed challenge.
type Proof struct {
	Household model.HouseholdID
	Device    model.DeviceID
	Challenge string
	Signature []byte
}

// Message is the text that a device signs to prove itself.
func Message(household model.HouseholdID, device model.DeviceID, challenge string) []byte {
	return []byte("leafturn auth v1\n" + household.String() + "\n" + device.String() + "\n" + challenge)
}

// Token is a signed statement that lets a device in until it expires.
type Token struct {
	Text    string
	Expires time.Time
}

// Token checks the proof and makes a token. The challenge is used up only by a
// signature that is right, so that nobody can spoil another device's sign-in.
func (s *Service) Token(ctx context.Context, p Proof) (Token, error) {
	now := s.now()
	used, err := s.challenges.check(p, now)
	if err != nil {
		return Token{}, err
	}
	key, err := s.directory.DeviceKey(ctx, p.Household, p.Device)
	proven := verify(key, p)
	switch {
	case err != nil && proven:
		return Token{}, err
	case err != nil:
		return Token{}, unknown(err, ErrDeviceUnknown)
	case !proven:
		return Token{}, ErrProof
	}
	if err := s.challenges.use(used, now); err != nil {
		return Token{}, err
	}
	return s.tokens.issue(p.Household, p.Device, now)
}

func verify(key ed25519.PublicKey, p Proof) bool {
	return len(key) == ed25519.PublicKeySize &&
		ed25519.Verify(key, Message(p.Household, p.Device, p.Challenge), p.Signature)
}

// Grant is what a token lets its bearer be.
type Grant struct {
	Household model.HouseholdID
	Device    model.DeviceID
	Expires   time.Time
}

// Check reads a token and asks the Directory whether its device still belongs to
// the household.
func (s *Service) Check(ctx context.Context, token string) (Grant, error) {
	g, err := s.tokens.check(token, s.now())
	if err != nil {
		return Grant{}, err
	}
	if _, err := s.directory.DeviceKey(ctx, g.Household, g.Device); err != nil {
		return Grant{}, unknown(err, ErrTokenRevoked)
	}
	return g, nil
}

// unknown turns every refusal of the directory into one fault, so that nobody can
// find out which households exist; an internal error stays what it is.
func unknown(err error, f *fault.Fault) error {
	if _, ok := fault.From(err); ok {
		return f.Because(err)
	}
	return fmt.Errorf("look up device: %w", err)
}
