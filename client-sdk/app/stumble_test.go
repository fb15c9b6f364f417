package app

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
)

// After a panic the app says so, derives everything anew, and syncs again.
func TestStumbling(t *testing.T) {
	w := newWorld(t)
	ada, ben := w.household(model.Helper)
	ada.do(screens.ActNothingFound, "plant", ada.plant("Fern"))
	job, _ := ada.BeginSync()
	require.NotNil(t, job) // and panics, so that nobody hears of it
	none, _ := ada.BeginSync()
	require.Nil(t, none, "one at a time")
	ada.AbandonSync()
	require.Equal(t, ada.App.t.Say.Stumbled, ada.Stumbled().Say)
	require.Contains(t, ada.open(screens.RouteToday), "Round: Window sill")
	ada.sync()
	ben.sync()
	require.Equal(t, ada.digest(), ben.digest())
}
