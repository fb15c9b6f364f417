package household_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household"
	"leafturn/sync/hint"
	"leafturn/sync/merge"
)

// A household that was only glanced at is not kept; one that is in use stays.
func TestAGlanceKeepsNothing(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	w.sync(t, a)
	glance := func(s *household.Service) {
		require.NoError(t, s.Glance(ctx, a.Household(), func(st *merge.State) error {
			require.Equal(t, markOf(a), hint.Of(st.Heads()))
			return nil
		}))
	}
	require.Equal(t, 1, household.Rooms(w.Service))
	glance(w.Service)
	require.Equal(t, 1, household.Rooms(w.Service), "the phone may come back soon")

	w.restart()
	glance(w.Service)
	require.Zero(t, household.Rooms(w.Service))
	require.Zero(t, household.Weight(w.Service))
	require.ErrorIs(t, w.Glance(ctx, model.HouseholdID{1}, nil), household.ErrUnknown)
	w.sync(t, a)
	glance(w.Service)
	require.Equal(t, 1, household.Rooms(w.Service))
}
