package household_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/sync/wire"
)

// A phone that knows more than the server had told it gives the store another epoch,
// but only one that knows what epoch that was, and once: a store cannot have been put
// back while the server runs.
func TestThePhonesTellAServerThatItWasRestored(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	first := w.db.Epoch()
	say := func(told wire.Epoch) wire.Epoch {
		t.Helper()
		m := a.Message()
		m.Epoch = told
		answer, err := w.Exchange(t.Context(), a.Household(), a.Device(), m)
		require.NoError(t, err)
		require.Equal(t, w.db.Epoch(), answer.Epoch)
		return answer.Epoch
	}
	require.Equal(t, first, say(wire.Epoch{}))
	require.Equal(t, first, say(wire.Epoch{Store: first.Store, Age: first.Age + 1}))
	require.Equal(t, first, say(wire.Epoch{Store: first.Store + 1, Age: first.Age}))
	second := say(first)
	require.Equal(t, first.Store, second.Store)
	require.NotEqual(t, first.Age, second.Age)
	require.Equal(t, second, say(first), "it has heard so")
	require.Equal(t, second, say(second), "not twice")
	w.sync(t, b)
	w.restart()
	require.NotEqual(t, second, say(second), "it was not running meanwhile")
}

// A server without room serves all the same, and hears of it again.
func TestAFullServerIsRenewedLater(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	first := w.db.Epoch()
	m := a.Message()
	m.Epoch = first
	for _, full := range []error{fault.New("storage_full", "No room."), nil} {
		w.gate.full = full
		answer, err := w.Exchange(t.Context(), a.Household(), a.Device(), m)
		require.NoError(t, err)
		require.Equal(t, full != nil, answer.Epoch == first)
	}
}

// Somebody who is not of the household has no say.
func TestAStrangerDoesNotRenewAStore(t *testing.T) {
	w := newWorld(t)
	a, other := w.founded(t, 1), w.founded(t, 3)
	first := w.db.Epoch()
	m := a.Message()
	m.Epoch = first
	_, err := w.Exchange(t.Context(), a.Household(), other.Device(), m)
	require.Error(t, err)
	require.Equal(t, first, w.db.Epoch())
}
