package replica

import (
	"context"
	"io"

	"leafturn/model"
	"leafturn/sync/exchange"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// HandOver writes to a file all that this phone knows, so that a phone without a
// network can be brought up to date by hand.
func (r *Replica) HandOver(ctx context.Context, to io.Writer) error {
	r.syncing.Lock()
	defer r.syncing.Unlock()
	if err := r.seal(ctx); err != nil {
		return err
	}
	return exchange.Pack(ctx, to, (*side)(r), nil)
}

// TakeOver takes in a file that another phone of the household wrote, and says what
// it refused. It takes what it can: also from a file that turns out to be damaged,
// which is an error.
func (r *Replica) TakeOver(ctx context.Context, from io.Reader) ([]wire.Refused, error) {
	r.syncing.Lock()
	defer r.syncing.Unlock()
	if err := r.seal(ctx); err != nil {
		return nil, err
	}
	_, refused, err := exchange.Unpack(ctx, from, (*side)(r))
	if err != nil {
		return refused, err
	}
	if err := r.foldSelf(ctx); err != nil {
		return refused, err
	}
	if err := r.takeUp(ctx); err != nil {
		return refused, err
	}
	return refused, r.putAway(ctx)
}

// foldSelf folds in this phone's own log, if it has been waiting for the invitation
// that it begins with.
func (r *Replica) foldSelf(ctx context.Context) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, known := r.state.Key(r.device); known {
		return nil
	}
	heads, err := r.vault.Heads(ctx)
	if err != nil {
		return err
	}
	if err := r.loadLogs(ctx, map[model.DeviceID]oplog.Head{r.device: heads[r.device]}, verified); err != nil {
		return err
	}
	r.sealed = r.state.Tail(r.device).Head()
	r.clock.Observe(r.state.Stamp()) // a clock started since has not seen the stamp of the join
	return nil
}
