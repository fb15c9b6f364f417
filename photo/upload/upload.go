// Package upload takes files in piece by piece, over connections that break.
//
// An upload is a promise: so many bytes with this sum. Its offset is how many of
// them are safely here. A client appends at the offset and nowhere else; after a
// break it asks for the offset and goes on. The last piece completes the upload:
// the whole file is handed to a Finish function, and only when that has stored it
// does the offset reach the length. So a client that sees offset = length knows
// that its photo is stored, and one that does not sends the last piece again.
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

// Stat gives an upload's state, after any append that is under way. ErrUnknown,
// also for uploads of other households; ErrExpired until the upload is swept.
func (d *Desk) Stat(ctx context.Context, hh model.HouseholdID, id ID) (Upload, error) {
	unlock, err := d.locks.lock(ctx, key{hh, id})
	if err != nil {
		return Upload{}, err
	}
	defer unlock()
	return d.read(hh, id)
}

// Append adds a piece at offset and returns the new state. It returns
//   - ErrOffset with the true state when the offset is another;
//   - ErrPastEnd when the piece is too long; nothing of it is kept;
//   - ErrUnknown or ErrExpired like Stat;
//   - after the last piece, the error of Finish.
//
// An empty piece changes nothing. Appends to one upload wait for each other, so of
// several at one offset one wins and the others get ErrOffset.
func (d *Desk) Append(ctx context.Context, hh model.HouseholdID, id ID, offset int64, piece []byte) (Upload, error) {
	unlock, err := d.locks.lock(ctx, key{hh, id})
	if err != nil {
		return Upload{}, err
	}
	defer unlock()
	u, err := d.read(hh, id)
	switch {
	case err != nil:
		return Upload{}, err
	case offset != u.Offset:
		return u, ErrOffset.Because(fmt.Errorf("append at %d, the offset is %d", offset, u.Offset))
	case int64(len(piece)) > u.Length-u.Offset:
		return u, ErrPastEnd.Because(fmt.Errorf("%d bytes at %d of %d", len(piece), u.Offset, u.Length))
	case len(piece) == 0:
		return u, nil
	}
	if err := d.append(ctx, hh, u, piece); err != nil {
		return u, fmt.Errorf("append to upload: %w", err)
	}
	u.Offset += int64(len(piece))
	return u, nil
}

// append writes the piece, syncs it, and only then moves the offset; the last
// piece's only once the whole is stored.
func (d *Desk) append(ctx context.Context, hh model.HouseholdID, u Upload, piece []byte) error {
	f, err := d.openData(hh, u.ID)
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := f.WriteAt(piece, u.Offset); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	end := u.Offset + int64(len(piece))
	if end < u.Length {
		return d.writeOffset(hh, u.ID, end)
	}
	if err := d.finish(ctx, hh, u.Sum, f, u.Length); err != nil {
		if photo.Refused(err) {
			return errors.Join(err, d.remove(hh, u.ID))
		}
		return err
	}
	if err := d.writeOffset(hh, u.ID, end); err != nil {
		return err
	}
	return d.tree.Remove(dataFile(hh, u.ID))
}

// Terminate ends an upload and removes its bytes. ErrUnknown or ErrExpired like
// Stat. A photo that was stored already stays.
func (d *Desk) Terminate(ctx context.Context, hh model.HouseholdID, id ID) error {
	unlock, err := d.locks.lock(ctx, key{hh, id})
	if err != nil {
		return err
	}
	defer unlock()
	if _, err := d.read(hh, id); err != nil {
		return err
	}
	return d.remove(hh, id)
}
