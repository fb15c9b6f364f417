package replica_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

func sums(list []replica.Photo) []model.PhotoSum {
	var out []model.PhotoSum
	for _, p := range list {
		out = append(out, p.Sum)
	}
	return out
}

func TestPhotoThatNothingShowsStaysHere(t *testing.T) {
	s, c, a, _ := pair(t)
	sum, old := draft(t, a, 1), draft(t, a, 2)
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.Empty(t, s.photos)

	const day = 24 * 60 * 60 * 1000
	c.pass(6 * day)
	require.NoError(t, a.DropDrafts(ctx))
	show(t, a, model.PlantID{1}, sum)
	fresh := draft(t, a, 3)
	c.pass(day)
	require.NoError(t, a.DropDrafts(ctx))
	_, _, err := a.PhotoBytes(ctx, nil, old, 0)
	require.ErrorIs(t, err, replica.ErrNoPhoto, "nobody went on with it")
	for _, kept := range []model.PhotoSum{sum, fresh} {
		_, _, err := a.PhotoBytes(ctx, nil, kept, 0)
		require.NoError(t, err)
	}
	require.NoError(t, a.Upload(ctx, a.server, nil))
	require.NotNil(t, s.photos[sum], "a look shows it now")
}

// affected is a plant of an outbreak.
func affected(t *testing.T, p *phone, n byte, more ...oplog.Setting) model.PlantID {
	t.Helper()
	plant := model.PlantID{n}
	affects := oplog.Setting{Key: model.FieldKey{Field: model.OutbreakAffects, Sub: plant.UUID()}, Value: model.Bool(true)}
	_, err := p.Do(ctx, replica.Set(model.KindOutbreak, model.OutbreakID{n}, append(more, affects)...))
	require.NoError(t, err)
	return plant
}

func TestNewestOutbreakIsSentFirst(t *testing.T) {
	_, _, a, _ := pair(t)
	opened := func(day int) oplog.Setting { return replica.To(model.OutbreakOpened, model.Int(day)) }
	early, late := affected(t, a, 1, opened(20_000)), affected(t, a, 2, opened(20_100))
	ended := affected(t, a, 3, opened(20_200), replica.To(model.OutbreakClosed, model.Int(20_201)))
	var want []model.PhotoSum
	for seed, plant := range []model.PlantID{ended, early, {9}, late} {
		sum := draft(t, a, uint64(seed+1))
		show(t, a, plant, sum)
		want = append(want, sum)
	}
	require.Equal(t, []model.PhotoSum{want[3], want[1], want[0], want[2]}, sums(queue(t, a)))
}
