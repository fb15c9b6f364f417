package auth

import (
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"leafturn/model"
)

// TokenLife is how long a token lets its device in.
const TokenLife = 15 * time.Minute

// What a token must say. The values are part of the wire contract.
const (
	Issuer   = "leafturn"
	Audience = "leafturn-api"
	typ      = "at+jwt" // the type of an access token, RFC 9068, section 2.1
)

type claims struct {
	jwt.RegisteredClaims
	Household string `json:"hh"`
}

type tokens struct {
	key ed25519.PrivateKey

	// A phone shows the same token with every request, so what was made here or found
	// good is remembered, by its SHA-256: checking a signature is most of the work of a
	// small request. What is refused is not remembered.
	most int // are remembered
	mu   sync.Mutex
	good map[[sha256.Size]byte]Grant // guarded by mu
}

// mostGood bounds the memory of good tokens to about two megabytes.
const mostGood = 16_384

func newTokens(key ed25519.PrivateKey) *tokens {
	return &tokens{key: key, most: mostGood, good: map[[sha256.Size]byte]Grant{}}
}

func (t *tokens) issue(household model.HouseholdID, device model.DeviceID, now time.Time) (Token, error) {
	now = now.Truncate(time.Second)
	expires := now.Add(TokenLife)
	j := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer:    Issuer,
			Audience:  jwt.ClaimStrings{Audience},
			Subject:   device.String(),
			IssuedAt:  jwt.NewNumericDate(now),
			NotBefore: jwt.NewNumericDate(now),
			ExpiresAt: jwt.NewNumericDate(expires),
		},
		Household: household.String(),
	})
	j.Header["typ"] = typ
	text, err := j.SignedString(t.key)
	if err != nil {
		return Token{}, fmt.Errorf("sign token: %w", err)
	}
	t.remember(sha256.Sum256([]byte(text)), Grant{Household: household, Device: device, Expires: expires})
	return Token{Text: text, Expires: expires}, nil
}

// check reads a token. One that was good stays so until it expires.
func (t *tokens) check(text string, now time.Time) (Grant, error) {
	sum := sha256.Sum256([]byte(text))
	t.mu.Lock()
	g, ok := t.good[sum]
	t.mu.Unlock()
	if ok && now.Before(g.Expires) {
		return g, nil
	}
	g, err := t.read(text, now)
	if err == nil {
		t.remember(sum, g)
	}
	return g, err
}

// remember drops everything when there is too much: all tokens are short-lived, and
// each is soon shown again if its phone is there.
func (t *tokens) remember(sum [sha256.Size]byte, g Grant) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.good) >= t.most {
		clear(t.good)
	}
	t.good[sum] = g
}

// read takes a token apart.
func (t *tokens) read(text string, now time.Time) (Grant, error) {
	var c claims
	_, err := t.parser(now).ParseWithClaims(text, &c, t.keyFor)
	switch {
	case err == nil:
		return c.grant()
	case errors.Is(err, jwt.ErrTokenExpired): // the signature was right
		return Grant{}, ErrTokenExpired.Because(err)
	}
	return Grant{}, ErrTokenInvalid.Because(err)
}

// parser names everything that the library would otherwise let pass: it accepts
// any algorithm, audience and issuer and a token without an end unless told not to.
func (t *tokens) parser(now time.Time) *jwt.Parser {
	return jwt.NewParser(
		jwt.WithValidMethods([]string{jwt.SigningMethodEdDSA.Alg()}),
		jwt.WithIssuer(Issuer),
		jwt.WithAudience(Audience),
		jwt.WithExpirationRequired(),
		jwt.WithNotBeforeRequired(),
		jwt.WithIssuedAt(),
		jwt.WithStrictDecoding(),
		jwt.WithTimeFunc(func() time.Time { return now }),
	)
}

// keyFor is the server's own key, whatever the header says. A header that names
// a key, or anything else that we never write, did not come from here.
func (t *tokens) keyFor(j *jwt.Token) (any, error) {
	if len(j.Header) != 2 || j.Header["typ"] != typ {
		return nil, errors.New("unexpected header")
	}
	return t.key.Public(), nil
}

func (c *claims) grant() (Grant, error) {
	household, err := model.ParseID[model.Household](c.Household)
	if err != nil {
		return Grant{}, ErrTokenInvalid.Because(err)
	}
	device, err := model.ParseID[model.Device](c.Subject)
	if err != nil {
		return Grant{}, ErrTokenInvalid.Because(err)
	}
	if c.IssuedAt == nil || c.ExpiresAt.Sub(c.IssuedAt.Time) > TokenLife {
		return Grant{}, ErrTokenInvalid
	}
	return Grant{Household: household, Device: device, Expires: c.ExpiresAt.Time}, nil
}
