package replica

import (
	"bytes"
	"context"
	"errors"
	"slices"

	"leafturn/model/fault"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// What a person reads when the check finds something.
var (
	ErrSnapshot = fault.New("snapshot_differs", "What this phone had put away for a quick start did not match its entries. It was made anew from them; nothing is lost.")
	ErrOldLog   = fault.New("log_damaged", "Some older entries on this phone's disk are damaged. What was shared is safe with the others. When this phone has shared everything, ask a keeper for a new invitation and set it up again.")
)

// checkBytes is how much of a log is compared at a time, if no batch is larger: little
// enough that a tap meanwhile is answered at once.
const checkBytes = 2 << 10

// keptChecked is the sum of the last snapshot that was found to be that of the log.
const keptChecked = "checked"

// uncheckedSum gives the sum of a snapshot, nil if it was compared with the log before.
func (r *Replica) uncheckedSum(ctx context.Context, snapshot []byte) []byte {
	sum := snapshot[:sumBytes]
	if checked, err := r.vault.Kept(ctx, keptChecked); err == nil && bytes.Equal(checked, sum) {
		return nil
	}
	return sum
}

// CheckSnapshot compares what this phone opened from with its log, once for each
// snapshot: every signature is verified again, and every operation looked up. It takes
// seconds and is done in small steps, so call it beside everything else.
//
// It returns ErrSnapshot if there was a difference: then the snapshot is thrown away and
// the log was read again from its beginning. It returns ErrOldLog if the log itself
// cannot be read; then everything stays as it is.
func (r *Replica) CheckSnapshot(ctx context.Context) error {
	r.mu.Lock()
	sum, state := r.unchecked, r.state
	audit := state.Audit()
	r.mu.Unlock()
	if sum == nil {
		return nil
	}
	for done := false; !done; {
		var err error
		done, err = r.checkStep(ctx, state, audit)
		if errors.Is(err, merge.ErrDiffers) {
			return r.renew(ctx, state)
		}
		if unreadable(err) {
			return ErrOldLog.Because(err)
		}
		if err != nil {
			return err
		}
	}
	return r.vault.Keep(ctx, keptChecked, sum)
}

// unreadable tells a log that is wrong from a vault that gave no answer.
func unreadable(err error) bool {
	return slices.ContainsFunc([]error{oplog.ErrGap, oplog.ErrFork, oplog.ErrSignature, oplog.ErrDamaged}, func(e error) bool { return errors.Is(err, e) })
}

// checkStep compares a little, and reports whether that was the end.
func (r *Replica) checkStep(ctx context.Context, state *merge.State, audit *merge.Audit) (done bool, err error) {
	for d, h := range (*side)(r).Heads() {
		at := audit.At(d)
		if at >= h.Seq {
			continue
		}
		batches, err := r.vault.Read(ctx, d, at, checkBytes)
		if err != nil {
			return false, err
		}
		if len(batches) == 0 {
			return false, oplog.ErrGap
		}
		return r.compare(state, audit, batches)
	}
	return r.compare(state, audit, nil)
}

// compare takes batches into an audit; without any, it ends it. What the phone has
// begun anew meanwhile, as it does under a new key, needs no check.
func (r *Replica) compare(state *merge.State, audit *merge.Audit, batches []*oplog.Batch) (done bool, err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.state != state {
		return true, nil
	}
	for _, b := range batches {
		if err := audit.Take(b); err != nil {
			return false, err
		}
	}
	if len(batches) > 0 {
		return false, nil
	}
	r.unchecked = nil
	return true, audit.End()
}

// renew makes the state anew from the log alone, and a snapshot of it. The log is read in
// small steps too, beside everything else; only what came meanwhile is read while nobody
// can write.
func (r *Replica) renew(ctx context.Context, wrong *merge.State) error {
	id, err := r.vault.Identity(ctx)
	if err != nil {
		return err
	}
	anew := newReplica(r.vault, r.opts, *id)
	anew.piece = checkBytes
	failed := anew.readLogs(ctx)
	r.syncing.Lock()
	defer r.syncing.Unlock()
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.state != wrong {
		return nil
	}
	if failed == nil {
		failed = anew.readLogs(ctx)
	}
	if failed == nil {
		failed = anew.loadRest(ctx)
	}
	if failed != nil {
		return ErrOldLog.Because(failed) // a wrong state is better than none, and the snapshot stays
	}
	if err := r.vault.SaveSnapshot(ctx, nil); err != nil {
		return err
	}
	r.state, r.pending, r.sealed, r.status, r.contacts = anew.state, anew.pending, anew.sealed, anew.status, anew.contacts
	r.unchecked, r.fresh = nil, snapshotEvery
	if err := r.keepSnapshot(ctx); err != nil {
		return err
	}
	return ErrSnapshot
}

// readLogs folds in, verified, what the vault's logs hold beyond the state.
func (r *Replica) readLogs(ctx context.Context) error {
	heads, err := r.vault.Heads(ctx)
	if err != nil {
		return err
	}
	return r.loadLogs(ctx, heads, verified)
}
