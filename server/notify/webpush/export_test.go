package webpush

import "crypto/ecdh"

// SealWith encrypts with a given key and salt, as in published examples.
func SealWith(s Subscription, text []byte, ours *ecdh.PrivateKey, salt []byte, padding int) ([]byte, error) {
	return s.sealWith(text, ours, salt, padding)
}

// Seal encrypts as Send does.
func Seal(s Subscription, text []byte) ([]byte, error) { return s.seal(text) }

// PadTo is the length that shorter texts are padded to.
const PadTo = padTo

// RetryAfter reads the header of that name.
var RetryAfter = retryAfter
