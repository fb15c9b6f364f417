// Package photo takes photos in and keeps them.
//
// A photo is one still picture of a household. Its sum, the SHA-256 of the bytes
// the phone kept, is its name: the log of the household refers to it by nothing
// else. The kept bytes are a picture file without metadata (package exif); phones
// strip before they hash, and the server strips again and stores what is left, so
// the sum of what is stored is normally the photo's own sum. A derivative is a
// small upright copy to look at. Derivatives can always be made again.
//
// Receive is the one way into a Store: it verifies, then stores. Stores are plain
// shelves that trust what Receive hands them. Each household has its own shelf;
// the same picture in two households is two photos.
//
// Decoding is done one photo at a time in a process, which bounds the memory: see
// Limits. Some may wait for their turn, more are told to come again.
//
// What is on the disk is doubted. Scrub reads every photo and sets damaged ones aside;
// Missing tells a phone which of its photos are not here, those included, so that it
// sends them again; Orphans finds the photos that no entry of the log refers to.
package photo

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"leafturn/photo/exif"
)

// Sum names a photo: the SHA-256 of the bytes the phone kept and promised.
type Sum [sha256.Size]byte

// SumOf is the sum of b.
func SumOf(b []byte) Sum { return sha256.Sum256(b) }

// ParseSum reads the 64 lower-case hex digits that String writes. It accepts
// nothing else, so one photo has one address.
func ParseSum(text string) (Sum, error) {
	var s Sum
	if len(text) != 2*len(s) {
		return s, fmt.Errorf("photo sum has %d characters, not %d", len(text), 2*len(s))
	}
	if _, err := hex.Decode(s[:], []byte(text)); err != nil {
		return Sum{}, fmt.Errorf("parse photo sum: %w", err)
	}
	if s.String() != text {
		return Sum{}, fmt.Errorf("photo sum is not in lower case")
	}
	return s, nil
}

// String is the sum as 64 lower-case hex digits.
func (s Sum) String() string { return hex.EncodeToString(s[:]) }

// MarshalText writes what String gives.
func (s Sum) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (s *Sum) UnmarshalText(text []byte) (err error) {
	*s, err = ParseSum(string(text))
	return err
}

// Size is the longer side of a derivative in pixels.
type Size int

// The sizes that are made. Their numbers are part of addresses and file names.
const (
	Small Size = 320  // for lists; every photo has one
	Large Size = 1280 // for looking closely; only for photos longer than that
)

// Sizes are all sizes, the smallest first.
var Sizes = []Size{Small, Large}

// Info is what is known about a stored photo.
type Info struct {
	Sum         Sum        `json:"sum"`  // of the received bytes; the photo's name
	Kept        Sum        `json:"kept"` // of the stored bytes
	Type        exif.Type  `json:"type"`
	Width       int        `json:"width"`  // pixels, as stored, before orientation
	Height      int        `json:"height"` // pixels, as stored, before orientation
	Bytes       int64      `json:"bytes"`  // of the stored file; counts against the quota
	Orientation uint8      `json:"orientation"`
	Taken       exif.Taken `json:"taken,omitempty"`
}

// Has reports whether photos like this one have a derivative of the size.
func (i Info) Has(s Size) bool { return s == Small || max(i.Width, i.Height) > int(s) }

// Photo is a verified photo on its way into a store.
type Photo struct {
	Info        Info
	Kept        []byte
	Derivatives map[Size][]byte // JPEG files without metadata
}

// Limits bound what is taken in.
type Limits struct {
	Bytes  int64 // most bytes of one received file
	Pixels int64 // most pixels of one photo
	Memory int64 // most bytes the decoded pixels of one photo may need
	Quota  int64 // most bytes of all kept files of one household
}

// DefaultLimits are 20 MiB and 50 million pixels a photo, 256 MiB to decode it,
// and 5 GiB a household. A phone's photo of 12 million pixels needs 18 MiB to
// decode, or 90 MiB when it is progressive.
func DefaultLimits() Limits {
	return Limits{Bytes: 20 << 20, Pixels: 50_000_000, Memory: 256 << 20, Quota: 5 << 30}
}
