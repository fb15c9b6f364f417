// Package store defines where the server keeps the logs of all its households.
//
// A store holds one log per household: a household exists once its log holds a
// batch, so founding one is a single write. What reminding people takes and no log
// holds is kept beside it, see Reminders. A store never serves
// less than it was given. When it finds that something is missing or altered it
// says so and refuses, because a phone that is told less than the truth would
// believe that the rest was never shared.
//
// Package storetest is the conformance suite.
package store

import (
	"context"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Store keeps the logs of households. Its methods, and those of its logs, may be
// called from several goroutines.
type Store interface {
	// Log is the log of a household, empty if the household does not exist. It
	// does not look at the disk, so it cannot fail; the log's methods can. Append
	// returns only after the disk has confirmed, also for what it already held: a
	// retry of a write that failed half-way must not be acknowledged on what a
	// cache says. Append, Read and Heads return, besides the errors of oplog.Log:
	//
	//	ErrDamaged  something that was kept is missing or altered
	//	ErrBroken   a write failed, see Broken
	//	ErrClosed   the store was closed
	//
	// and Append also what the gate in front of the disk says. It returns the
	// error of ctx only if nothing was written.
	Log(h model.HouseholdID) oplog.Log

	// Households gives all households, in a fixed order.
	Households(ctx context.Context) ([]model.HouseholdID, error)

	// Epoch names what the store remembers. It stays when the store is opened again,
	// and is put back with everything else when the store is restored.
	Epoch() wire.Epoch

	// Renew gives the store another age, because it has turned out that it was put
	// back to an earlier state. It returns when the disk has confirmed.
	Renew(ctx context.Context) error

	// Broken is closed when a write has failed. What the store would answer from
	// then on may not be on the disk, so it answers nothing more; the process must
	// end and open the store again.
	Broken() <-chan struct{}

	// Close lets running writes finish, refuses those that wait, and gives the
	// files back. It may be called twice.
	Close() error
}

// Returned by every store.
var (
	ErrDamaged = fault.New("store_damaged", "The server found damage in what it keeps of this household and refuses to serve less than it was given. Everything on your phone is safe. Whoever runs the server should check its disk and restore a backup.")
	ErrBroken  = fault.New("store_broken", "The server could not write to its disk and has to start again. Everything on your phone is safe and will be sent again.")
	ErrClosed  = fault.New("store_closed", "The server is stopping. Everything on your phone is safe and will be sent when it is back.")
	ErrVersion = fault.New("store_version_unknown", "This data folder was written by a newer Leafturn. Start that version, or a newer one; nothing was changed.")
)
