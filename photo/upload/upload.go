// Package upload takes files in piece by piece, over connections that break.
//
// An upload is a promise: so many bytes with this sum. Its offset is how many of
// them are safely here. A client appends at the offset and nowhere else; after a
// break it asks for the offset and goes on. The last piece completes the upload:
// the whole file is handed to a Finish function, and only when that has stored it
// does the offset reach the length. So a client that sees offset = length knows
// that its photo is stored, and one that does not sends the last piece again.
//
// A piece is taken in while it arrives, so a connection that breaks costs only what
// never arrived. One request at a time works on an upload, and the newest counts: it
// ends an older one whose bytes are still on their way, because a phone that comes
// back over another network has left the older connection for dead.
//
// The offset is moved after the bytes it counts are synced, so whatever kills the
// process, it never counts a byte that is not on the disk, and it never shrinks.
// Bytes past it, left by a broken append, are written over.
//
// An upload of household hh with the id abc… is up to three files in the folder hh:
//
//	abc….json    what was promised, and until when; written once
//	abc….offset  the offset and its complement, 8 bytes each, big-endian
//	abc….data    the bytes so far; gone once the upload is complete
//
// Uploads that nobody completes expire. Completed ones are remembered as long, for
// clients that lost the answer. The package knows no transport.
package upload

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo"
	"leafturn/photo/durable"
)

// Faults of uploads. Compare with errors.Is.
var (
	// ErrUnknown is returned for ids that the household has no upload under.
	ErrUnknown = fault.New("upload_unknown", "This upload is not known here. The photo stays on the phone and is sent again.")
	// ErrExpired is returned for uploads that took too long.
	ErrExpired = fault.New("upload_expired", "This upload took too long. The photo stays on the phone and is sent again.")
	// ErrOffset is returned when an append does not start at the offset.
	ErrOffset = fault.New("upload_offset", "The upload goes on at another place. Ask where, and go on there.")
	// ErrPastEnd is returned when an append goes past the promised length.
	ErrPastEnd = fault.New("upload_past_end", "More bytes arrived than were promised.")
	// ErrCut is what a Piece's Body ends with when its bytes stop before their end.
	ErrCut = fault.New("upload_cut", "The connection broke off. What has arrived is kept; the upload goes on from there.")
	// ErrTooMany is returned when a household has too many unfinished uploads.
	ErrTooMany = fault.New("upload_too_many", "Too many photos are on their way at once. Wait until some have arrived.")
)

// ID names an upload. Ids are random: nobody can guess another one.
type ID [16]byte

// ParseID reads the 32 lower-case hex digits that String writes, and nothing else.
func ParseID(text string) (ID, error) {
	var id ID
	if len(text) != 2*len(id) {
		return id, ErrUnknown
	}
	if _, err := hex.Decode(id[:], []byte(text)); err != nil || id.String() != text {
		return ID{}, ErrUnknown
	}
	return id, nil
}

// String is the id as 32 lower-case hex digits.
func (id ID) String() string { return hex.EncodeToString(id[:]) }

// Promise is what a client says before it sends.
type Promise struct {
	Length   int64     `json:"length"` // bytes
	Sum      photo.Sum `json:"sum"`
	Metadata string    `json:"metadata"` // the client's own words, given back as they are
}

// Upload is the state of one upload.
type Upload struct {
	Promise
	ID      ID
	Offset  int64 // bytes that are safely here
	Expires time.Time
}

// Complete reports whether the photo is stored.
func (u Upload) Complete() bool { return u.Offset == u.Length }

// Finish stores a whole file: normally photo.Receive. An error for which
// photo.Refused is true ends the upload; after any other the client may send the
// last piece again. It may be called again for a file it has stored already.
type Finish func(ctx context.Context, hh model.HouseholdID, sum photo.Sum, r io.ReaderAt, size int64) error

// Limits bound what is promised.
type Limits struct {
	Bytes    int64         // most bytes of one upload
	Open     int           // most incomplete uploads of one household
	Metadata int           // most bytes of Promise.Metadata
	Life     time.Duration // from creation to expiry
}

// DefaultLimits fit photo.DefaultLimits: 20 MiB and two days an upload, 32 uploads
// at once and 4 KiB of metadata.
func DefaultLimits() Limits {
	return Limits{Bytes: photo.DefaultLimits().Bytes, Open: 32, Metadata: 4 << 10, Life: 48 * time.Hour}
}

// Desk takes uploads in. It is safe for use by many goroutines.
type Desk struct {
	tree   durable.Tree
	finish Finish
	limits Limits
	now    func() time.Time
	locks  locks
}

// Open opens the folder and makes it if need be. Only one process may use the
// folder at a time.
func Open(dir string, finish Finish, limits Limits, now func() time.Time) (*Desk, error) {
	tree, err := durable.Open(dir)
	if err != nil {
		return nil, fmt.Errorf("open upload folder: %w", err)
	}
	return &Desk{tree: tree, finish: finish, limits: limits, now: now, locks: newLocks()}, nil
}

// Close releases the folder. The desk must not be used afterwards.
func (d *Desk) Close() error { return d.tree.Close() }

// Limits are the limits the desk was opened with.
func (d *Desk) Limits() Limits { return d.limits }

// Create starts an upload. It returns photo.ErrTooLarge or photo.ErrNotImage for
// lengths that no photo can have, and ErrTooMany. When it returns nil, the upload
// is on stable storage.
func (d *Desk) Create(ctx context.Context, hh model.HouseholdID, p Promise) (Upload, error) {
	switch {
	case p.Length > d.limits.Bytes:
		return Upload{}, photo.ErrTooLarge.Because(fmt.Errorf("%d of at most %d bytes", p.Length, d.limits.Bytes))
	case p.Length <= 0:
		return Upload{}, photo.ErrNotImage.Because(errors.New("an empty file"))
	case len(p.Metadata) > d.limits.Metadata:
		return Upload{}, photo.ErrTooLarge.Because(errors.New("metadata"))
	}
	unlock, err := d.locks.lock(ctx, key{hh: hh}) // holds creators of one household apart
	if err != nil {
		return Upload{}, err
	}
	defer unlock()
	if err := d.admit(hh); err != nil {
		return Upload{}, err
	}
	u := Upload{Promise: p, Expires: d.now().Add(d.limits.Life).Truncate(time.Second).UTC()}
	if _, err := rand.Read(u.ID[:]); err != nil {
		return Upload{}, fmt.Errorf("make upload id: %w", err)
	}
	if err := d.writeNew(hh, u); err != nil {
		return Upload{}, fmt.Errorf("create upload: %w", err)
	}
	return u, nil
}

// CreateComplete starts an upload of a photo that is stored already, so that its
// bytes need not be sent again: its offset is its length from the start.
func (d *Desk) CreateComplete(ctx context.Context, hh model.HouseholdID, p Promise) (Upload, error) {
	u, err := d.Create(ctx, hh, p)
	if err != nil {
		return Upload{}, err
	}
	if err := d.complete(hh, u); err != nil {
		return Upload{}, fmt.Errorf("create complete upload: %w", err)
	}
	u.Offset = u.Length
	return u, nil
}

// Stat gives an upload's state, and ends an append that is under way: a client asks
// because its connection broke, and the answer must still be true when it goes on.
// ErrUnknown, also for uploads of other households; ErrExpired until the upload is
// swept.
func (d *Desk) Stat(ctx context.Context, hh model.HouseholdID, id ID) (Upload, error) {
	unlock, err := d.locks.seize(ctx, key{hh, id}, nil)
	if err != nil {
		return Upload{}, err
	}
	defer unlock()
	return d.read(hh, id)
}

// Terminate ends an upload and removes its bytes. ErrUnknown or ErrExpired like
// Stat. A photo that was stored already stays.
func (d *Desk) Terminate(ctx context.Context, hh model.HouseholdID, id ID) error {
	unlock, err := d.locks.seize(ctx, key{hh, id}, nil)
	if err != nil {
		return err
	}
	defer unlock()
	if _, err := d.read(hh, id); err != nil {
		return err
	}
	return d.remove(hh, id)
}
