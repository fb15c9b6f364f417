package photo

import (
	"context"

	"leafturn/model"
)

// Store keeps verified photos, apart for each household. It is safe for use by
// many goroutines. A household that never had a photo is an empty shelf, not an
// error. Errors that are not named here are failures of the storage itself:
// trying again may help.
type Store interface {
	// Put stores a photo under its Info.Sum. When it returns nil, everything is on
	// stable storage. Putting a photo that is there replaces it, which heals
	// damage; a retry writes again and is never answered from memory. A reader sees
	// the photo whole or not at all. The store keeps no slice it is handed.
	Put(ctx context.Context, hh model.HouseholdID, p Photo) error

	// PutDerivative stores a copy that was made again. ErrUnknown when the photo
	// is not there.
	PutDerivative(ctx context.Context, hh model.HouseholdID, sum Sum, size Size, jpeg []byte) error

	// Read gives the kept bytes, checked against Info.Kept. ErrUnknown when the
	// photo is not there, ErrDamagedAtRest when the bytes or the info are not what
	// was stored.
	Read(ctx context.Context, hh model.HouseholdID, sum Sum) ([]byte, Info, error)

	// ReadDerivative gives a copy. ErrUnknown when the photo is not there,
	// ErrNoDerivative when it is but the copy is missing or damaged.
	ReadDerivative(ctx context.Context, hh model.HouseholdID, sum Sum, size Size) ([]byte, error)

	// Stat gives the info alone. ErrUnknown when the photo is not there,
	// ErrDamagedAtRest when the info is not what was stored. It says nothing about
	// the kept bytes.
	Stat(ctx context.Context, hh model.HouseholdID, sum Sum) (Info, error)

	// Has reports whether the photo is there and not known to be damaged, without
	// reading it.
	Has(ctx context.Context, hh model.HouseholdID, sum Sum) (bool, error)

	// Delete removes a photo and its copies. Deleting what is not there is no
	// error.
	Delete(ctx context.Context, hh model.HouseholdID, sum Sum) error

	// SetAside makes it known that a photo is damaged: Has says so from then on, until
	// the photo is put again. Its copies stay, and so do its bytes, where the store can,
	// for a person to look at: nobody else may have this picture. A photo that is sound
	// or not there stays as it is.
	SetAside(ctx context.Context, hh model.HouseholdID, sum Sum) error

	// Each calls fn with the sum of every photo of the household, in the order of
	// the sums, until fn returns an error, which Each returns. Photos that are put
	// or deleted meanwhile may or may not be among them.
	Each(ctx context.Context, hh model.HouseholdID, fn func(Sum) error) error

	// Usage is the sum of Info.Bytes over the household's photos. Photos whose
	// info is damaged count zero.
	Usage(ctx context.Context, hh model.HouseholdID) (int64, error)
}
