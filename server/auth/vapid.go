package auth

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// SenderKey is the key by which push services know this server (VAPID, RFC 8292).
// A phone names its public half when it subscribes, and from then on only messages
// signed with it are taken: who loses the key loses all subscriptions.
type SenderKey struct {
	key     *ecdsa.PrivateKey
	public  string // of the key, as push services and browsers write it
	contact string
	now     func() time.Time
}

// statementLife is how long a statement is good for. Push services take up to a day
// (RFC 8292, section 2); half of it leaves room for clocks that are off.
const statementLife = 12 * time.Hour

// LoadSenderKey reads the key, and makes one if there is none yet. The file holds
// the 32 bytes of a private key on P-256 and is for its owner's eyes only. A file
// that holds something else is refused rather than replaced. The contact is where
// whoever runs a push service may turn to: an https or mailto address, or empty.
func LoadSenderKey(name, contact string, now func() time.Time) (*SenderKey, error) {
	raw, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		raw, err = makeSenderKey(name)
	}
	if err != nil {
		return nil, fmt.Errorf("read sender key: %w", err)
	}
	key, err := ecdsa.ParseRawPrivateKey(elliptic.P256(), raw)
	if err != nil {
		return nil, fmt.Errorf("read sender key: %s is damaged: %w", name, err)
	}
	if err := os.Chmod(name, 0o600); err != nil {
		return nil, fmt.Errorf("protect sender key: %w", err)
	}
	public, err := key.PublicKey.Bytes()
	if err != nil {
		return nil, fmt.Errorf("read sender key: %w", err)
	}
	return &SenderKey{key: key, public: base64.RawURLEncoding.EncodeToString(public), contact: contact, now: now}, nil
}

func makeSenderKey(name string) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	raw, err := key.Bytes()
	if err != nil {
		return nil, err
	}
	return raw, writeSynced(name, raw)
}

// Public is the public key, uncompressed, in base64url: what a browser calls the
// application server key.
func (k *SenderKey) Public() string { return k.public }

// Header is the Authorization header for a push service, which is named by its
// origin. The statement is good for that service only.
func (k *SenderKey) Header(origin string) (string, error) {
	c := jwt.MapClaims{"aud": origin, "exp": k.now().Add(statementLife).Unix()}
	if k.contact != "" {
		c["sub"] = k.contact
	}
	text, err := jwt.NewWithClaims(jwt.SigningMethodES256, c).SignedString(k.key)
	if err != nil {
		return "", fmt.Errorf("sign statement: %w", err)
	}
	return "vapid t=" + text + ", k=" + k.public, nil
}
