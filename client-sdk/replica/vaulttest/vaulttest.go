// Package vaulttest is the conformance suite of replica.Vault. Every vault runs it,
// in memory and in the browser alike.
package vaulttest

import (
	"context"
	"fmt"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// Store is what the suite tests. Open opens the vault of a name. It may be called
// while that vault is open, as a second tab would, and after Close, when everything
// kept must still be there. Close closes all that were opened; it is nil for vaults
// that live in memory only, whose Open gives the same vault again.
type Store struct {
	Open  func(t *testing.T, name string) replica.Vault
	Close func(t *testing.T)
}

// Run runs the suite. It proves, for every vault:
//
//  1. it is an oplog.Log once it is somebody's, and nobody's before;
//  2. it is set up in one step, once;
//  3. pending operations come back in order, and only go on where the log ends;
//  4. of two writers one is refused, and what the other wrote stays whole;
//  5. sealing moves operations from pending into the log in one step;
//  6. snapshot, settings and photos come back as they were kept;
//  7. everything survives reopening, and nothing survives wiping;
//  8. it goes on under another key in one step, also if a server has handed out the
//     new log's beginning before that;
//  9. a segment takes the place of its batches in one step, and of nothing else;
//  10. it puts another history of a log in the place of one, in one step;
//  11. what it gives and takes are copies.
func Run(t *testing.T, fresh func(t *testing.T) Store) {
	t.Run("log", func(t *testing.T) { logtest.Run(t, func(t *testing.T) logtest.Store { return logOf(fresh(t)) }) })
	for _, part := range []struct {
		name string
		run  func(*testing.T, Store)
	}{
		{"set-up", setUp},
		{"pending", pending},
		{"two writers", twoWriters},
		{"seal", seal},
		{"succession", succession},
		{"succession to a log that is known", knownSuccession},
		{"segments", segments},
		{"replacement", replacement},
		{"settings", settings},
		{"photos", photos},
		{"reopening and wiping", lasting},
	} {
		t.Run(part.name, func(t *testing.T) { part.run(t, fresh(t)) })
	}
}

// logOf lets the suite of logs test the log of a vault.
func logOf(s Store) logtest.Store {
	return logtest.Store{
		Open: func(t *testing.T, h model.HouseholdID) oplog.Log {
			v := s.Open(t, h.String())
			id, err := v.Identity(context.Background())
			require.NoError(t, err)
			if id == nil {
				begin(t, v, logtest.NewPen(h, 200))
			}
			return v
		},
		Close: s.Close,
	}
}

var household = model.HouseholdID(uuid.NewSHA1(uuid.NameSpaceOID, []byte("vaults")))

func newPen() *logtest.Pen { return logtest.NewPen(household, 100) }

func identity(p *logtest.Pen) replica.Identity {
	return replica.Identity{Household: p.Household, Seed: p.Key.Seed()}
}

func begin(t *testing.T, v replica.Vault, p *logtest.Pen) {
	t.Helper()
	require.NoError(t, v.Begin(context.Background(), replica.Beginning{Identity: identity(p)}))
}

// opened gives a vault that the pen's device has begun.
func opened(t *testing.T, s Store) (replica.Vault, *logtest.Pen) {
	v, p := s.Open(t, "main"), newPen()
	begin(t, v, p)
	return v, p
}

// reopen gives the vault as it is after the app was closed.
func reopen(t *testing.T, s Store) replica.Vault {
	if s.Close != nil {
		s.Close(t)
	}
	return s.Open(t, "main")
}

// lasts checks a vault as it is, and again after it was reopened.
func lasts(t *testing.T, s Store, v replica.Vault, check func(v replica.Vault)) {
	t.Helper()
	check(v)
	check(reopen(t, s))
}

// ops makes pending operations, which a vault never looks into.
func ops(first, last uint64) []replica.Pending {
	var out []replica.Pending
	for seq := first; seq <= last; seq++ {
		out = append(out, replica.Pending{Seq: seq, Op: fmt.Appendf(nil, "operation %d", seq)})
	}
	return out
}

func requirePending(t *testing.T, v replica.Vault, first, last uint64) {
	t.Helper()
	got, err := v.Pending(context.Background())
	require.NoError(t, err)
	require.Len(t, got, int(last+1-first))
	for i, want := range ops(first, last) {
		require.Equal(t, want, got[i])
	}
}

func headOf(t *testing.T, v replica.Vault, d model.DeviceID) uint64 {
	t.Helper()
	heads, err := v.Heads(context.Background())
	require.NoError(t, err)
	return heads[d].Seq
}
