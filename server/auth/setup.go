package auth

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"sync"
	"time"

	"leafturn/model/fault"
)

// Returned by Spend for a set-up token that cannot be used.
var (
	ErrSetupUnknown = fault.New("setup_token_unknown", "This set-up link is not one of this server's. Start the server again and use the link it prints.")
	ErrSetupExpired = fault.New("setup_token_expired", "This set-up link has run out. Start the server again and use the new link it prints.")
	ErrSetupUsed    = fault.New("setup_token_used", "This set-up link was already used. Start the server again to get another one.")
)

// setupBytes is the length of a set-up token before it is written as text: 160
// bits, which nobody guesses and which keeps the QR small enough for a terminal.
const setupBytes = 20

// Setup issues set-up tokens and lets each be spent once. It keeps only their
// hashes and only in memory: a new process has a new link.
type Setup struct {
	now func() time.Time

	mu     sync.Mutex
	tokens map[[32]byte]*setupToken // guarded by mu, by hash
}

type setupToken struct {
	expires time.Time
	spent   bool
}

// NewSetup makes a Setup that reads the time from now.
func NewSetup(now func() time.Time) *Setup {
	return &Setup{now: now, tokens: map[[32]byte]*setupToken{}}
}

// Issue makes a token that can be spent until it expires.
func (s *Setup) Issue(life time.Duration) (token string, expires time.Time) {
	b := make([]byte, setupBytes)
	rand.Read(b)
	token = base64.RawURLEncoding.EncodeToString(b)
	expires = s.now().Add(life)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.tokens[sha256.Sum256([]byte(token))] = &setupToken{expires: expires}
	return token, expires
}

// Spend runs found if the token is good. The token is used up if found succeeds
// and stays good if found fails, so that a household refused for another reason
// can be tried again. While found runs, nobody else can spend the same token.
func (s *Setup) Spend(token string, found func() error) error {
	t, err := s.take(token)
	if err != nil {
		return err
	}
	done := false
	defer func() { // also when found panics
		if !done {
			s.giveBack(t)
		}
	}()
	if err := found(); err != nil {
		return err
	}
	done = true
	return nil
}

func (s *Setup) take(token string) (*setupToken, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	t, ok := s.tokens[sha256.Sum256([]byte(token))]
	switch {
	case !ok:
		return nil, ErrSetupUnknown
	case t.spent:
		return nil, ErrSetupUsed
	case !s.now().Before(t.expires):
		return nil, ErrSetupExpired
	}
	t.spent = true
	return t, nil
}

func (s *Setup) giveBack(t *setupToken) {
	s.mu.Lock()
	defer s.mu.Unlock()
	t.spent = false
}
