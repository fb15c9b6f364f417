package vaulttest

import (
	"context"
	"errors"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

func setUp(t *testing.T, s Store) {
	ctx, v, p := context.Background(), s.Open(t, "main"), newPen()
	id, err := v.Identity(ctx)
	require.NoError(t, err)
	require.Nil(t, id)
	requireNobody(t, v, p.Batch(t, 1))

	p = newPen()
	first := p.Batch(t, 1)
	seq := first.Last()
	b := replica.Beginning{
		Identity: replica.Identity{Household: household, Seed: p.Key.Seed(), Local: true},
		First:    first, Pending: ops(seq+1, seq+3), Kept: map[string][]byte{"name": []byte("Ash"), "empty": {}},
	}
	foreign := b
	foreign.Identity.Household[0]++
	require.ErrorIs(t, v.Begin(ctx, foreign), oplog.ErrFork, "a batch of another household")
	id, err = v.Identity(ctx)
	require.NoError(t, err)
	require.Nil(t, id, "a beginning that failed keeps nothing")
	kept, err := v.Kept(ctx, "name")
	require.NoError(t, err)
	require.Nil(t, kept)

	require.NoError(t, v.Begin(ctx, b))
	other := replica.Beginning{Identity: identity(logtest.NewPen(household, 101)), Kept: map[string][]byte{"name": []byte("Elm")}}
	require.ErrorIs(t, v.Begin(ctx, other), replica.ErrTaken)

	lasts(t, s, v, func(v replica.Vault) {
		id, err = v.Identity(ctx)
		require.NoError(t, err)
		require.Equal(t, &b.Identity, id)
		require.Equal(t, seq, headOf(t, v, p.Device()))
		requirePending(t, v, seq+1, seq+3)
		kept, err = v.Kept(ctx, "name")
		require.NoError(t, err)
		require.Equal(t, "Ash", string(kept))
	})
}

func requireNobody(t *testing.T, v replica.Vault, b *oplog.Batch) {
	t.Helper()
	ctx := context.Background()
	require.ErrorIs(t, v.Append(ctx, []*oplog.Batch{b}), replica.ErrNobody)
	require.ErrorIs(t, v.Seal(ctx, b), replica.ErrNobody)
	require.ErrorIs(t, v.AddPending(ctx, ops(1, 1)), replica.ErrNobody)
	_, err := v.Read(ctx, b.Device, 0, 1)
	require.ErrorIs(t, err, replica.ErrNobody)
	_, err = v.Heads(ctx)
	require.ErrorIs(t, err, replica.ErrNobody)
	_, err = v.Pending(ctx)
	require.ErrorIs(t, err, replica.ErrNobody)
}

func pending(t *testing.T, s Store) {
	ctx := context.Background()
	v, p := opened(t, s)
	require.NoError(t, v.AddPending(ctx, nil))
	require.NoError(t, v.AddPending(ctx, ops(1, 2)))
	require.NoError(t, v.AddPending(ctx, ops(3, 12)))
	requirePending(t, v, 1, 12)
	v = reopen(t, s)
	requirePending(t, v, 1, 12)

	for _, c := range []struct {
		name string
		ops  []replica.Pending
	}{
		{"the same numbers", ops(12, 12)},
		{"some of the same numbers", ops(11, 14)},
		{"a gap", ops(14, 14)},
		{"a gap inside", append(ops(13, 13), ops(15, 15)...)},
		{"not in order", append(ops(14, 14), ops(13, 13)...)},
	} {
		require.ErrorIs(t, v.AddPending(ctx, c.ops), replica.ErrTwoWriters, c.name)
		requirePending(t, v, 1, 12)
	}
	require.NoError(t, v.AddPending(ctx, ops(13, 13)))

	// What is signed is taken as well, though it is not pending any more.
	b := p.Batch(t, 20)
	require.Greater(t, b.Last(), uint64(13))
	require.NoError(t, v.Seal(ctx, b))
	require.ErrorIs(t, v.AddPending(ctx, ops(14, 14)), replica.ErrTwoWriters)
	require.NoError(t, v.AddPending(ctx, ops(b.Last()+1, b.Last()+1)))
	requirePending(t, v, b.Last()+1, b.Last()+1)
}

func twoWriters(t *testing.T, s Store) {
	ctx := context.Background()
	a, p := opened(t, s)
	b := s.Open(t, "main")
	require.NoError(t, a.AddPending(ctx, ops(1, 3)))
	require.ErrorIs(t, b.AddPending(ctx, ops(1, 1)), replica.ErrTwoWriters)
	requirePending(t, b, 1, 3)

	batch := p.Batch(t, 2)
	require.NoError(t, a.Seal(ctx, batch))
	require.ErrorIs(t, b.AddPending(ctx, ops(batch.Last(), batch.Last())), replica.ErrTwoWriters)
	require.Equal(t, batch.Last(), headOf(t, b, p.Device()))
	next := p.Batch(t, 1)
	require.NoError(t, b.Append(ctx, []*oplog.Batch{next}), "each sees what the other has kept")
	require.NoError(t, a.Append(ctx, []*oplog.Batch{next}))

	race(t, []replica.Vault{a, b}, next.Last()+1)
}

// race lets writers try for the same numbers: each is won once.
func race(t *testing.T, vaults []replica.Vault, first uint64) {
	const rounds = 10
	ctx := context.Background()
	before, err := vaults[0].Pending(ctx)
	require.NoError(t, err)
	if n := len(before); n > 0 {
		first = before[n-1].Seq + 1
	}
	for seq := first; seq < first+rounds; seq++ {
		errs := make(chan error, 2*len(vaults))
		var wg sync.WaitGroup
		for range 2 {
			for _, v := range vaults {
				wg.Go(func() { errs <- v.AddPending(ctx, ops(seq, seq)) })
			}
		}
		wg.Wait()
		won := 0
		for range cap(errs) {
			if err := <-errs; err == nil {
				won++
			} else if !errors.Is(err, replica.ErrTwoWriters) {
				require.NoError(t, err)
			}
		}
		require.Equal(t, 1, won, "operation %d", seq)
	}
	after, err := vaults[1].Pending(ctx)
	require.NoError(t, err)
	require.Equal(t, append(before, ops(first, first+rounds-1)...), after)
}

func seal(t *testing.T, s Store) {
	ctx := context.Background()
	v, p := opened(t, s)
	batch, twin := p.Batch(t, 3), newPen().Batch(t, 4)
	last := batch.Last()
	require.NoError(t, v.AddPending(ctx, ops(1, last+2)))

	gap := p.Batch(t, 1)
	require.ErrorIs(t, v.Seal(ctx, gap), oplog.ErrGap)
	requirePending(t, v, 1, last+2)
	require.Zero(t, headOf(t, v, p.Device()))

	require.NoError(t, v.Seal(ctx, batch))
	lasts(t, s, v, func(v replica.Vault) {
		requirePending(t, v, last+1, last+2)
		require.Equal(t, last, headOf(t, v, p.Device()))
		got, err := v.Read(ctx, p.Device(), 0, oplog.MaxBatchBytes)
		require.NoError(t, err)
		require.Len(t, got, 1)
		require.Equal(t, batch.Encode(), got[0].Encode())
	})
	v = s.Open(t, "main")
	require.NoError(t, v.Seal(ctx, batch), "sealing again changes nothing")
	require.ErrorIs(t, v.Seal(ctx, twin), oplog.ErrFork)
	requirePending(t, v, last+1, last+2)
	require.Equal(t, last, headOf(t, v, p.Device()))
}
