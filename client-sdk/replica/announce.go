package replica

import (
	"context"
	"errors"
	"slices"

	"leafturn/sync/exchange"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Announce tells the server about this phone: by the set-up token that it was
// started with if it founded the household, by its invitation if it joined. It may
// be called again when no answer came; Sync does so by itself.
func (r *Replica) Announce(ctx context.Context, s *Server) error {
	r.syncing.Lock()
	defer r.syncing.Unlock()
	return r.announce(ctx, s)
}

// announce introduces this phone. A server that was restored may lack what its log
// builds on, such as its invitation, and whoever wrote that may be gone; so if the server
// says that something is missing, this phone brings along what it knows.
func (r *Replica) announce(ctx context.Context, s *Server) error {
	if done, err := r.found(ctx, s); err != nil || done {
		return err
	}
	err := r.introduce(ctx, s, nil)
	if !slices.ContainsFunc([]error{oplog.ErrGap, oplog.ErrInvitation, oplog.ErrStranger}, func(lack error) bool { return errors.Is(err, lack) }) {
		return err
	}
	others, readErr := r.others(ctx)
	if readErr != nil || len(others) == 0 {
		return err
	}
	return r.introduce(ctx, s, others)
}

// others is what this phone knows of the other logs, whoever invited before whoever was
// invited, as far as it goes into one message.
func (r *Replica) others(ctx context.Context) ([]*oplog.Batch, error) {
	var all []*oplog.Batch
	side, room := (*side)(r), exchange.PageBytes
	for _, d := range side.Devices() {
		if d == r.device || room <= 0 {
			continue
		}
		batches, err := r.vault.Read(ctx, d, 0, room)
		if err != nil {
			return nil, err
		}
		for _, b := range batches {
			room -= len(b.Encode())
		}
		all = append(all, batches...)
	}
	return all, nil
}

// introduce tells the server who this phone is.
func (r *Replica) introduce(ctx context.Context, s *Server, others []*oplog.Batch) error {
	first, err := r.vault.Read(ctx, r.device, 0, 1)
	if err != nil {
		return err
	}
	if len(first) == 0 {
		return oplog.ErrGap
	}
	m := &wire.Message{Household: r.identity.Household, Have: oplog.Vector{r.device: first[0].Last()}, Batches: append(first, others...)}
	data, err := m.Encode()
	if err != nil {
		return err
	}
	return s.join(ctx, data)
}

// Return brings the household back to a server that has lost all it had, or to a new one,
// with the token of a set-up link that the server prints. Any phone of the household can;
// the others follow by themselves. Where the server knows the household it is a Sync.
func (r *Replica) Return(ctx context.Context, s *Server, setup string) error {
	r.syncing.Lock()
	err := r.vault.Keep(ctx, keptSetup, []byte(setup))
	r.syncing.Unlock()
	if err != nil {
		return err
	}
	return r.Sync(ctx, s)
}

// found founds the household if this phone has a set-up token, perhaps once more: the
// server may have lost it whole. A phone that is not the founder's brings what it knows.
// It reports whether the phone is introduced by that.
func (r *Replica) found(ctx context.Context, s *Server) (bool, error) {
	setup, err := r.vault.Kept(ctx, keptSetup)
	if err != nil || setup == nil {
		return false, err
	}
	founder, err := r.founding(ctx)
	if err != nil || founder == nil {
		return false, err
	}
	if founder.Device == r.device {
		return true, r.foundBy(ctx, s, setup, []*oplog.Batch{founder})
	}
	all, err := r.others(ctx)
	if err != nil {
		return false, err
	}
	own, err := r.vault.Read(ctx, r.device, 0, 1)
	if err != nil {
		return false, err
	}
	all = slices.DeleteFunc(append(all, own...), func(b *oplog.Batch) bool { return b.Device == founder.Device && b.First == founder.First })
	if r.foundBy(ctx, s, setup, append([]*oplog.Batch{founder}, all...)) == nil {
		return true, nil
	}
	// The household is there, or what is here does not go into one message.
	return false, r.foundBy(ctx, s, setup, []*oplog.Batch{founder})
}

func (r *Replica) foundBy(ctx context.Context, s *Server, setup []byte, batches []*oplog.Batch) error {
	m := &wire.Message{Household: r.identity.Household, Have: oplog.Vector{batches[0].Device: batches[0].Last()}, Batches: batches}
	data, err := m.Encode()
	if err != nil {
		return err
	}
	return s.found(ctx, string(setup), data)
}

// founding is the batch that the household begins with, nil if it is not here.
func (r *Replica) founding(ctx context.Context) (*oplog.Batch, error) {
	heads, err := r.vault.Heads(ctx)
	if err != nil {
		return nil, err
	}
	for _, d := range oplog.VectorOf(heads).Devices() {
		first, err := r.vault.Read(ctx, d, 0, 1)
		if err != nil {
			return nil, err
		}
		if len(first) == 0 {
			continue
		}
		if intro, err := oplog.Introduction(r.identity.Household, first[0]); err == nil {
			if _, ok := intro.(*oplog.Found); ok {
				return first[0], nil
			}
		}
	}
	return nil, nil
}
