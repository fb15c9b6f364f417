package replica

import (
	"context"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
)

// Vault is a phone's own disk: one household's log, what is written but not yet
// signed, who this phone is, and photos. Package vaulttest is its conformance
// suite.
//
// Every method that keeps something returns only when it would survive the process
// being killed, and keeps all of it or nothing. ErrFull if there is no room. The
// bytes that a method was given or gave may be changed without changing the vault.
type Vault interface {
	// The log holds the signed batches, this phone's own among them.
	oplog.Log

	// Identity says who this phone is, nil if nobody has been set up here.
	Identity(ctx context.Context) (*Identity, error)

	// Begin makes an empty vault that of a phone. ErrTaken if it is somebody's.
	// Until then, what keeps or gives parts of a log returns ErrNobody.
	Begin(ctx context.Context, b Beginning) error

	// Succeed makes the vault that of the same phone under another key, in one step.
	// ErrTwoWriters if the vault is not that of Old.
	Succeed(ctx context.Context, s Succession) error

	// Replace puts another history of another phone's log in the place of what is kept of
	// it, in one step. The snapshot is gone then.
	Replace(ctx context.Context, x Replacement) error

	// AddPending keeps operations that are written but not signed. They must go on
	// where this phone's log, signed or not, ends. ErrTwoWriters if they do not:
	// another tab or process has written in the meantime.
	AddPending(ctx context.Context, ops []Pending) error

	// Pending gives the kept operations in order of their numbers.
	Pending(ctx context.Context) ([]Pending, error)

	// Seal appends this phone's own batch, and drops the pending operations that it
	// holds, in one step.
	Seal(ctx context.Context, b *oplog.Batch) error

	// PutSegment keeps a batch in place of those that it was made of by oplog.Segment,
	// in one step. oplog.ErrGap if no kept batch ends just before it, or where it ends;
	// oplog.ErrFork if what is kept differs.
	PutSegment(ctx context.Context, s *oplog.Batch) error

	// SaveSnapshot keeps a snapshot in place of the last one; Snapshot gives it, nil
	// if there is none. A lost snapshot costs time, never data.
	SaveSnapshot(ctx context.Context, data []byte) error
	Snapshot(ctx context.Context) ([]byte, error)

	// Keep and Kept hold small settings of this phone by name; nil is not set.
	Keep(ctx context.Context, name string, value []byte) error
	Kept(ctx context.Context, name string) ([]byte, error)

	// PutPhoto keeps a photo's bytes with its place in the upload queue. A photo that
	// is known already stays as it is.
	PutPhoto(ctx context.Context, p Photo, data []byte) error

	// PhotoBytes gives the bytes of a photo, or of a smaller rendering kept by
	// PutRendering (size is its longest edge in pixels, 0 the photo itself).
	// ErrNoPhoto if they are not here.
	PhotoBytes(ctx context.Context, sum model.PhotoSum, size int) (data []byte, mime string, err error)
	PutRendering(ctx context.Context, sum model.PhotoSum, size int, mime string, data []byte) error

	// Queue gives the photos that are not marked Sent, oldest first.
	Queue(ctx context.Context) ([]Photo, error)

	// UpdatePhoto replaces what is known about a photo, ErrNoPhoto if nothing is;
	// DropPhoto forgets the photo, its bytes and its renderings.
	UpdatePhoto(ctx context.Context, p Photo) error
	DropPhoto(ctx context.Context, sum model.PhotoSum) error

	// Wipe forgets everything, so that the vault is as new.
	Wipe(ctx context.Context) error
}

// Beginning is all that a phone's set-up keeps, in one step, so that a phone that is
// killed meanwhile is either set up or empty.
type Beginning struct {
	Identity Identity
	First    *oplog.Batch      // of this phone's own log; nil for an empty log
	Pending  []Pending         // what follows First
	Kept     map[string][]byte // settings, see Keep
}

// Succession is how a phone goes on under another key, all in one step. Its old log is
// from now on what others have of it; nothing is pending any more, and the snapshot is
// gone. What there was to other logs and photos stays.
type Succession struct {
	Old      model.DeviceID
	Log      []*oplog.Batch // of Old, from its beginning
	Identity Identity
	First    *oplog.Batch      // of the new log; it may be kept already
	Kept     map[string][]byte // settings, see Keep
}

// Replacement is another history of a log.
type Replacement struct {
	Device model.DeviceID // another phone's
	Log    []*oplog.Batch // from its beginning
	Kept   map[string][]byte
}

// Pending is one operation that is written and not yet signed.
type Pending struct {
	Seq uint64
	Op  []byte
}

// Identity is who this phone is. The key never leaves the phone.
type Identity struct {
	Household model.HouseholdID
	Seed      []byte // of the Ed25519 key
	Local     bool   // a household that lives on this phone only: the sample
}

// Photo is a photo on this phone and how far its upload is.
type Photo struct {
	Sum    model.PhotoSum
	Type   string // media type
	Bytes  int
	Added  model.Instant
	Sent   bool
	Upload string     // where the unfinished upload goes on, "" if none was begun
	Tries  int        // failed tries
	Code   fault.Code // of the last failure
	Words  string
	Held   bool // a person must decide: trying again by itself would not help
}

// Returned when a vault cannot do what is asked.
var (
	ErrTaken      = fault.New("phone_taken", "This phone already belongs to a household. An invitation is for another phone.")
	ErrNobody     = fault.New("phone_empty", "Nobody has been set up on this phone yet.")
	ErrTwoWriters = fault.New("second_writer", "Leafturn is open a second time on this phone. What you entered here was not saved; close one of the two and try again.")
	ErrFull       = fault.New("storage_full", "This phone has no room left, so this was not saved. Free some space, then try again.")
	ErrNoPhoto    = fault.New("photo_not_here", "This photo is not on this phone. It will come when the phone is online.")
)
