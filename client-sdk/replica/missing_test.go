package replica_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
)

const aDay = 24 * 60 * 60 * 1000

func TestLostPhotosAreSentAgain(t *testing.T) {
	s, c, a, b := pair(t)
	first, second := snap(t, a, 1), snap(t, a, 2)
	a.sync(t)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	b.sync(t)
	require.Zero(t, s.count("POST "+api+"/households/"+a.Household().String()+"/photos/missing"), "nothing was sent before")
	delete(s.photos, first)
	c.pass(aDay)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.NotNil(t, s.photos[first])

	delete(s.photos, second)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.Nil(t, s.photos[second], "it asks once a day")
	require.NoError(t, b.Upload(ctx, b.server, nil))
	require.Nil(t, s.photos[second], "who does not have it cannot send it")
	c.pass(aDay)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.NotNil(t, s.photos[second])
	require.Empty(t, queue(t, a))
}

func TestARestoredServerIsAskedAtOnce(t *testing.T) {
	s, _, a, _ := pair(t)
	sum := snap(t, a, 1)
	a.sync(t)
	for range 2 { // the second one asks
		require.NoError(t, a.Upload(ctx, a.server, nil))
	}
	delete(s.photos, sum)
	s.forget(t, func(_ model.DeviceID, n int) int { return n - 1 })
	a.sync(t)
	require.True(t, a.Status().Restored)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.NotNil(t, s.photos[sum])
}

// What the server has is not sent a second time.
func TestAnUploadOfAPhotoThatIsThereSendsNothing(t *testing.T) {
	s, _, a, b := pair(t)
	snap(t, a, 1)
	a.sync(t)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	sent := s.count("PATCH")
	snap(t, b, 1)
	require.NoError(t, b.Upload(ctx, b.server, nil))
	require.Empty(t, queue(t, b))
	require.Equal(t, sent, s.count("PATCH"))
}
