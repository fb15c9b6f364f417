package webpush

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
)

// Subscription is where a browser takes messages, and what they are encrypted for.
type Subscription struct {
	Endpoint string
	Key      []byte // the browser's public key, a point on P-256, uncompressed (p256dh)
	Secret   []byte // 16 bytes that browser and sender share (auth)
}

// Sizes from RFC 8188, section 2.1, and RFC 8291, section 4. A body of one record
// may have 4096 bytes (RFC 8030, section 7.2).
const (
	saltSize   = 16
	keySize    = 65
	secretSize = 16
	headSize   = saltSize + 4 + 1 + keySize
	recordSize = 4096
	tagSize    = 16

	// MaxText is how long a text may be.
	MaxText = recordSize - headSize - tagSize - 1
)

// padTo is the length that shorter texts are padded to, so that the length of a
// message tells the push service nothing about what it says.
const padTo = 512

// Returned for what cannot be encrypted.
var (
	errTooLong = errors.New("the message is too long to be pushed")
	errKeys    = errors.New("the keys of the subscription are not such")
)

// browserKey reads the key, and refuses points that are not on the curve.
func (s Subscription) browserKey() (*ecdh.PublicKey, error) {
	if len(s.Secret) != secretSize {
		return nil, errKeys
	}
	key, err := ecdh.P256().NewPublicKey(s.Key)
	if err != nil {
		return nil, errors.Join(errKeys, err)
	}
	return key, nil
}

// seal encrypts a text with a key and a salt of its own.
func (s Subscription) seal(text []byte) ([]byte, error) {
	ours, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make key: %w", err)
	}
	salt := make([]byte, saltSize)
	rand.Read(salt) // never fails: crypto/rand ends the process instead
	return s.sealWith(text, ours, salt, max(padTo-len(text), 0))
}

// sealWith makes the body of a message: one record of RFC 8188, whose key comes
// from the agreement of RFC 8291, section 3.4.
func (s Subscription) sealWith(text []byte, ours *ecdh.PrivateKey, salt []byte, padding int) ([]byte, error) {
	if len(text)+padding > MaxText {
		return nil, errTooLong
	}
	aead, nonce, err := s.cipher(ours, salt)
	if err != nil {
		return nil, err
	}
	body := make([]byte, 0, headSize+len(text)+1+padding+tagSize)
	body = append(body, salt...)
	body = binary.BigEndian.AppendUint32(body, recordSize)
	body = append(body, keySize)
	body = append(body, ours.PublicKey().Bytes()...)
	record := append(append([]byte{}, text...), 2) // the mark of the last record
	record = append(record, make([]byte, padding)...)
	return aead.Seal(body, nonce, record, nil), nil
}

func (s Subscription) cipher(ours *ecdh.PrivateKey, salt []byte) (cipher.AEAD, []byte, error) {
	theirs, err := s.browserKey()
	if err != nil {
		return nil, nil, err
	}
	shared, err := ours.ECDH(theirs)
	if err != nil {
		return nil, nil, fmt.Errorf("agree on key: %w", err)
	}
	info := "WebPush: info\x00" + string(s.Key) + string(ours.PublicKey().Bytes())
	ikm, err := hkdf.Key(sha256.New, shared, s.Secret, info, 32)
	if err != nil {
		return nil, nil, fmt.Errorf("derive keying material: %w", err)
	}
	key, err := hkdf.Key(sha256.New, ikm, salt, "Content-Encoding: aes128gcm\x00", 16)
	if err != nil {
		return nil, nil, fmt.Errorf("derive content key: %w", err)
	}
	nonce, err := hkdf.Key(sha256.New, ikm, salt, "Content-Encoding: nonce\x00", 12)
	if err != nil {
		return nil, nil, fmt.Errorf("derive nonce: %w", err)
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, nil, fmt.Errorf("make cipher: %w", err)
	}
	aead, err := cipher.NewGCM(block)
	return aead, nonce, err
}
