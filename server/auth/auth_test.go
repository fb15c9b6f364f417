package auth_test

import (
	"context"
	"crypto/ed25519"
	"errors"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/auth"
)

var epoch = time.Date(2026, 3, 14, 9, 26, 53, 0, time.UTC)

// clock is a clock that stands still until a test moves it.
type clock struct{ t time.Time }

func (c *clock) now() time.Time          { return c.t }
func (c *clock) advance(d time.Duration) { c.t = c.t.Add(d) }

// seeded is an Ed25519 key that is the same in every run.
func seeded(n byte) ed25519.PrivateKey {
	seed := make([]byte, ed25519.SeedSize)
	rand.NewChaCha8([32]byte{n}).Read(seed)
	return ed25519.NewKeyFromSeed(seed)
}

type entry struct {
	household model.HouseholdID
	device    model.DeviceID
}

// book is a Directory in memory.
type book struct {
	keys    map[entry]ed25519.PublicKey
	removed error // of all devices, nil if they belong here
	err     error
}

func (b *book) DeviceKey(_ context.Context, h model.HouseholdID, d model.DeviceID) (ed25519.PublicKey, error) {
	if b.err != nil {
		return nil, b.err
	}
	if k, ok := b.keys[entry{h, d}]; ok {
		return k, b.removed
	}
	return nil, auth.ErrDeviceUnknown
}

// phone is a device with its key, in a household.
type phone struct {
	household model.HouseholdID
	device    model.DeviceID
	key       ed25519.PrivateKey
}

func newPhone(n byte) phone {
	key := seeded(n)
	public := key.Public().(ed25519.PublicKey)
	return phone{
		household: model.HouseholdIDOf(public, [16]byte{n}),
		device:    model.DeviceIDOf(public),
		key:       key,
	}
}

func (p phone) prove(challenge string) auth.Proof {
	return auth.Proof{
		Household: p.household,
		Device:    p.device,
		Challenge: challenge,
		Signature: ed25519.Sign(p.key, auth.Message(p.household, p.device, challenge)),
	}
}

// world is a service that knows two phones of two households.
type world struct {
	*auth.Service
	clock        *clock
	book         *book
	key          ed25519.PrivateKey
	phone, other phone
}

func newWorld() *world {
	w := &world{clock: &clock{epoch}, key: seeded(1), phone: newPhone(2), other: newPhone(3)}
	w.book = &book{keys: map[entry]ed25519.PublicKey{}}
	for _, p := range []phone{w.phone, w.other} {
		w.book.keys[entry{p.household, p.device}] = p.key.Public().(ed25519.PublicKey)
	}
	w.Service = auth.New(w.key, w.book, w.clock.now)
	return w
}

func (w *world) signIn(t *testing.T) auth.Token {
	t.Helper()
	c := w.Challenge(w.phone.household, w.phone.device)
	token, err := w.Token(t.Context(), w.phone.prove(c.Text))
	require.NoError(t, err)
	return token
}

func TestSignIn(t *testing.T) {
	w := newWorld()
	c := w.Challenge(w.phone.household, w.phone.device)
	require.Equal(t, epoch.Add(auth.ChallengeLife), c.Expires.UTC())

	token, err := w.Token(t.Context(), w.phone.prove(c.Text))
	require.NoError(t, err)
	require.Equal(t, epoch.Add(15*time.Minute), token.Expires)

	grant, err := w.Check(t.Context(), token.Text)
	require.NoError(t, err)
	require.WithinDuration(t, token.Expires, grant.Expires, 0)
	grant.Expires = time.Time{}
	require.Equal(t, auth.Grant{Household: w.phone.household, Device: w.phone.device}, grant)
}

func TestMessageIsTheWireContract(t *testing.T) {
	h, _ := model.ParseID[model.Household]("0f8fad5b-d9cb-869f-a165-70867728950e")
	d, _ := model.ParseID[model.Device]("7c9e6679-7425-80de-944b-e07fc1f90ae7")
	require.Equal(t,
		"leafturn auth v1\n0f8fad5b-d9cb-869f-a165-70867728950e\n7c9e6679-7425-80de-944b-e07fc1f90ae7\nabc",
		string(auth.Message(h, d, "abc")))
}

func TestChallengesDiffer(t *testing.T) {
	w := newWorld()
	seen := map[string]bool{}
	for range 100 {
		c := w.Challenge(w.phone.household, w.phone.device).Text
		require.False(t, seen[c])
		seen[c] = true
	}
}

func TestProofRefused(t *testing.T) {
	cases := []struct {
		name  string
		spoil func(w *world, p *auth.Proof)
		want  error
	}{
		{"no signature", func(_ *world, p *auth.Proof) { p.Signature = nil }, auth.ErrProof},
		{"flipped bit", func(_ *world, p *auth.Proof) { p.Signature[7] ^= 1 }, auth.ErrProof},
		{"signed by another device", func(w *world, p *auth.Proof) {
			p.Signature = ed25519.Sign(w.other.key, auth.Message(p.Household, p.Device, p.Challenge))
		}, auth.ErrProof},
		{"challenge made up", func(w *world, p *auth.Proof) { *p = w.phone.prove("AAAA") }, auth.ErrChallengeInvalid},
		{"challenge changed", func(w *world, p *auth.Proof) {
			*p = w.phone.prove("B" + p.Challenge[1:] + "A")
		}, auth.ErrChallengeInvalid},
		{"another device's challenge", func(w *world, p *auth.Proof) {
			*p = w.phone.prove(w.Challenge(w.phone.household, w.other.device).Text)
		}, auth.ErrChallengeInvalid},
		{"another household's challenge", func(w *world, p *auth.Proof) {
			*p = w.phone.prove(w.Challenge(w.other.household, w.phone.device).Text)
		}, auth.ErrChallengeInvalid},
		{"another server's challenge", func(w *world, p *auth.Proof) {
			*p = w.phone.prove(newWorld().Challenge(w.phone.household, w.phone.device).Text)
		}, auth.ErrChallengeInvalid},
		{"too late", func(w *world, _ *auth.Proof) { w.clock.advance(auth.ChallengeLife) }, auth.ErrChallengeExpired},
		{"used before", func(w *world, p *auth.Proof) { _, _ = w.Token(context.Background(), *p) }, auth.ErrChallengeUsed},
		{"removed device", func(w *world, _ *auth.Proof) { clear(w.book.keys) }, auth.ErrDeviceUnknown},
		{"device of another household", func(w *world, p *auth.Proof) {
			mixed := w.phone
			mixed.household = w.other.household
			*p = mixed.prove(w.Challenge(mixed.household, mixed.device).Text)
		}, auth.ErrDeviceUnknown},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := newWorld()
			p := w.phone.prove(w.Challenge(w.phone.household, w.phone.device).Text)
			c.spoil(w, &p)
			_, err := w.Token(t.Context(), p)
			require.ErrorIs(t, err, c.want)
		})
	}
}

func TestWrongSignatureDoesNotUseUpTheChallenge(t *testing.T) {
	w := newWorld()
	good := w.phone.prove(w.Challenge(w.phone.household, w.phone.device).Text)
	bad := good
	bad.Signature = make([]byte, ed25519.SignatureSize)
	_, err := w.Token(t.Context(), bad)
	require.ErrorIs(t, err, auth.ErrProof)
	_, err = w.Token(t.Context(), good)
	require.NoError(t, err)
}

func TestOneChallengeMakesOneTokenInARace(t *testing.T) {
	w := newWorld()
	p := w.phone.prove(w.Challenge(w.phone.household, w.phone.device).Text)
	errs := make([]error, 50)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() { _, errs[i] = w.Token(context.Background(), p) })
	}
	wg.Wait()
	won := 0
	for _, err := range errs {
		if err == nil {
			won++
			continue
		}
		require.ErrorIs(t, err, auth.ErrChallengeUsed)
	}
	require.Equal(t, 1, won)
}

func TestUsedChallengeStaysUsedAcrossSweeps(t *testing.T) {
	w := newWorld()
	w.signIn(t) // sets the next sweep to two minutes from now
	w.clock.advance(auth.ChallengeLife - time.Second)
	p := w.phone.prove(w.Challenge(w.phone.household, w.phone.device).Text)
	_, err := w.Token(t.Context(), p)
	require.NoError(t, err)
	w.clock.advance(time.Second)
	w.signIn(t) // sweeps
	_, err = w.Token(t.Context(), p)
	require.ErrorIs(t, err, auth.ErrChallengeUsed)
}

func TestRemovedDeviceLosesItsToken(t *testing.T) {
	w := newWorld()
	token := w.signIn(t)
	clear(w.book.keys)
	_, err := w.Check(t.Context(), token.Text)
	require.ErrorIs(t, err, auth.ErrTokenRevoked)
}

// A device that was signed off is told so, but only if it proves which one it is.
func TestRemovedDeviceIsToldWhy(t *testing.T) {
	w := newWorld()
	gone := fault.New("device_revoked", "Signed off.")
	w.book.removed = gone
	p := w.phone.prove(w.Challenge(w.phone.household, w.phone.device).Text)
	_, err := w.Token(t.Context(), p)
	require.ErrorIs(t, err, gone)
	p.Signature[0] ^= 1
	_, err = w.Token(t.Context(), p)
	require.Equal(t, auth.ErrDeviceUnknown.Code, fault.CodeOf(err))
}

func TestDirectoryOutOfOrderIsInternal(t *testing.T) {
	w := newWorld()
	token := w.signIn(t)
	w.book.err = errors.New("disk gone")
	_, err := w.Check(t.Context(), token.Text)
	require.ErrorIs(t, err, w.book.err)
	require.NotErrorIs(t, err, auth.ErrTokenRevoked)
}
