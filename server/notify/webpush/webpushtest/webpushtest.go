// Package webpushtest has the other two parties of a push message for tests: a
// browser, which reads what was encrypted for it, and a push service, which takes
// messages and keeps them.
package webpushtest

import (
	"bytes"
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/hkdf"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"math/rand/v2"

	"leafturn/server/notify/webpush"
)

// Browser is who a message is for.
type Browser struct {
	Key    *ecdh.PrivateKey
	Secret []byte
}

// NewBrowser makes a browser from a seed.
func NewBrowser(seed uint64) Browser {
	rnd := rand.New(rand.NewPCG(seed, 0))
	fill := func(n int) []byte {
		b := make([]byte, n)
		for i := range b {
			b[i] = byte(rnd.Uint32())
		}
		return b
	}
	for {
		// A number above the order of the curve is no key; the next one will be.
		if key, err := ecdh.P256().NewPrivateKey(fill(32)); err == nil {
			return Browser{key, fill(16)}
		}
	}
}

// Subscription is what the browser tells those who shall send to it.
func (b Browser) Subscription(endpoint string) webpush.Subscription {
	return webpush.Subscription{Endpoint: endpoint, Key: b.Key.PublicKey().Bytes(), Secret: b.Secret}
}

var errUnreadable = errors.New("the message is not for this browser, or damaged")

// Open reads the body of a message by RFC 8188 and RFC 8291.
func (b Browser) Open(body []byte) ([]byte, error) {
	if len(body) < 21 || len(body) < 21+int(body[20])+18 || binary.BigEndian.Uint32(body[16:20]) < uint32(len(body)) {
		return nil, errUnreadable
	}
	salt, sender, sealed := body[:16], body[21:21+int(body[20])], body[21+int(body[20]):]
	aead, nonce, err := b.cipher(salt, sender)
	if err != nil {
		return nil, err
	}
	record, err := aead.Open(nil, nonce, sealed, nil)
	if err != nil {
		return nil, errUnreadable
	}
	record = bytes.TrimRight(record, "\x00")
	if len(record) == 0 || record[len(record)-1] != 2 {
		return nil, errUnreadable
	}
	return record[:len(record)-1], nil
}

func (b Browser) cipher(salt, sender []byte) (cipher.AEAD, []byte, error) {
	theirs, err := ecdh.P256().NewPublicKey(sender)
	if err != nil {
		return nil, nil, err
	}
	shared, err := b.Key.ECDH(theirs)
	if err != nil {
		return nil, nil, err
	}
	info := bytes.Join([][]byte{[]byte("WebPush: info"), {0}, b.Key.PublicKey().Bytes(), sender}, nil)
	derive := func(secret, salt []byte, info string, n int) []byte {
		out, e := hkdf.Key(sha256.New, secret, salt, info, n)
		err = errors.Join(err, e)
		return out
	}
	ikm := derive(shared, b.Secret, string(info), 32)
	key := derive(ikm, salt, "Content-Encoding: aes128gcm\x00", 16)
	nonce := derive(ikm, salt, "Content-Encoding: nonce\x00", 12)
	if err != nil {
		return nil, nil, err
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, nil, err
	}
	aead, err := cipher.NewGCM(block)
	return aead, nonce, err
}
