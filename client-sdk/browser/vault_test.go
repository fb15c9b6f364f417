//go:build js && wasm

package browser_test

import (
	"context"
	"errors"
	"syscall/js"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/browser"
	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/vaulttest"
	"leafturn/model"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

func open(t testing.TB, name string) *browser.Vault {
	v, err := browser.OpenVault(context.Background(), name)
	require.NoError(t, err)
	return v
}

func TestVault(t *testing.T) {
	vaulttest.Run(t, func(t *testing.T) vaulttest.Store {
		var vaults []*browser.Vault
		closeAll := func(*testing.T) {
			for _, v := range vaults {
				v.Close()
			}
			vaults = nil
		}
		t.Cleanup(func() { closeAll(t) })
		return vaulttest.Store{
			Open: func(t *testing.T, name string) replica.Vault {
				vaults = append(vaults, open(t, t.Name()+"/"+name))
				return vaults[len(vaults)-1]
			},
			Close: closeAll,
		}
	})
}

func begun(t testing.TB, name string) (*browser.Vault, *logtest.Pen) {
	v, p := open(t, name), logtest.NewPen(model.HouseholdID{1}, 1)
	id := replica.Identity{Household: p.Household, Seed: p.Key.Seed()}
	require.NoError(t, v.Begin(context.Background(), replica.Beginning{Identity: id}))
	return v, p
}

// TestTwoHandles: a second tab that is behind is refused, and its transaction leaves
// nothing behind, not even what came before the operation that clashed.
func TestTwoHandles(t *testing.T) {
	ctx := context.Background()
	a, p := begun(t, t.Name())
	b := open(t, t.Name())
	defer a.Close()
	defer b.Close()
	require.NoError(t, a.AddPending(ctx, []replica.Pending{{Seq: 1, Op: []byte("a1")}, {Seq: 2, Op: []byte("a2")}}))
	require.ErrorIs(t, b.AddPending(ctx, []replica.Pending{{Seq: 1, Op: []byte("b1")}, {Seq: 2, Op: []byte("b2")}}), replica.ErrTwoWriters)
	require.ErrorIs(t, b.AddPending(ctx, []replica.Pending{{Seq: 2, Op: []byte("b2")}, {Seq: 3, Op: []byte("b3")}}), replica.ErrTwoWriters)
	for _, v := range []*browser.Vault{a, b} {
		got, err := v.Pending(ctx)
		require.NoError(t, err)
		require.Equal(t, []replica.Pending{{Seq: 1, Op: []byte("a1")}, {Seq: 2, Op: []byte("a2")}}, got)
	}

	// One that was wiped and begun again under another handle is somebody else's.
	require.NoError(t, a.Wipe(ctx))
	other := logtest.NewPen(p.Household, 2)
	require.NoError(t, a.Begin(ctx, replica.Beginning{Identity: replica.Identity{Household: p.Household, Seed: other.Key.Seed()}}))
	require.ErrorIs(t, b.AddPending(ctx, []replica.Pending{{Seq: 1, Op: []byte("b1")}}), replica.ErrTwoWriters)
	require.ErrorIs(t, b.Begin(ctx, replica.Beginning{Identity: replica.Identity{Household: p.Household, Seed: p.Key.Seed()}}), replica.ErrTaken)
}

// TestClosed: a database that was taken away gives an error, also in the middle.
func TestClosed(t *testing.T) {
	ctx := context.Background()
	v, p := begun(t, t.Name())
	v.Close()
	require.ErrorIs(t, v.Append(ctx, []*oplog.Batch{p.Batch(t, 1)}), browser.ErrClosed)
	_, err := v.Identity(ctx)
	require.ErrorIs(t, err, browser.ErrClosed)

	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	w := open(t, t.Name())
	defer w.Close()
	require.ErrorIs(t, w.Append(cancelled, []*oplog.Batch{p.Batch(t, 1)}), context.Canceled)
	heads, err := w.Heads(ctx)
	require.NoError(t, err)
	require.Empty(t, heads)
}

// TestNewer: a database of a later form is refused in words, and an older page lets
// go of the database when a newer one wants to change it.
func TestNewer(t *testing.T) {
	v, _ := begun(t, t.Name())
	upgraded := make(chan error, 1)
	request := js.Global().Get("indexedDB").Call("open", t.Name(), 99)
	done := js.FuncOf(func(js.Value, []js.Value) any { upgraded <- nil; return nil })
	failed := js.FuncOf(func(js.Value, []js.Value) any { upgraded <- errors.New("the upgrade failed"); return nil })
	defer done.Release()
	defer failed.Release()
	request.Set("onsuccess", done)
	request.Set("onerror", failed)
	request.Set("onblocked", failed)
	require.NoError(t, <-upgraded)
	request.Get("result").Call("close")

	_, err := v.Heads(context.Background())
	require.ErrorIs(t, err, browser.ErrClosed)
	_, err = browser.OpenVault(context.Background(), t.Name())
	require.ErrorIs(t, err, browser.ErrVersion)
}
