package vaulttest

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// succession lets a phone go on under another key, after others got another history
// of its log.
func succession(t *testing.T, s Store) {
	ctx := context.Background()
	v, mine := opened(t, s)
	theirs, other, next := newPen(), logtest.NewPen(household, 150), logtest.NewPen(household, 151)
	theirLog := []*oplog.Batch{theirs.Batch(t, 2), theirs.Photos(t, 2)}
	require.NoError(t, v.Append(ctx, []*oplog.Batch{mine.Batch(t, 2), other.Batch(t, 3)}))
	own := mine.Batch(t, 4)
	require.NoError(t, v.Append(ctx, []*oplog.Batch{own}))
	require.NoError(t, v.AddPending(ctx, ops(own.Last()+1, own.Last()+2)))
	require.NoError(t, v.SaveSnapshot(ctx, []byte{1}))
	require.NoError(t, v.Keep(ctx, "gone", []byte{1}))
	p, data := photo(1, 5)
	require.NoError(t, v.PutPhoto(ctx, p, data))

	first := next.Batch(t, 1)
	x := replica.Succession{Old: mine.Device(), Log: theirLog, Identity: identity(next), First: first,
		Kept: map[string][]byte{"gone": nil, "new": []byte("here")}}
	wrong := x
	wrong.Log = []*oplog.Batch{theirLog[1]}
	require.ErrorIs(t, v.Succeed(ctx, wrong), oplog.ErrGap)
	wrong = x
	wrong.Old = other.Device()
	require.ErrorIs(t, v.Succeed(ctx, wrong), replica.ErrTwoWriters)
	require.Equal(t, own.Last(), headOf(t, v, mine.Device()), "what failed changes nothing")
	requirePending(t, v, own.Last()+1, own.Last()+2)

	require.NoError(t, v.Succeed(ctx, x))
	lasts(t, s, v, func(v replica.Vault) {
		id, err := v.Identity(ctx)
		require.NoError(t, err)
		require.Equal(t, x.Identity, *id)
		require.Equal(t, theirLog[1].Last(), headOf(t, v, mine.Device()))
		got, err := v.Read(ctx, mine.Device(), 0, 1<<20)
		require.NoError(t, err)
		require.Len(t, got, 2)
		require.Equal(t, theirLog[1].Encode(), got[1].Encode())
		require.Equal(t, first.Last(), headOf(t, v, next.Device()))
		require.NotZero(t, headOf(t, v, other.Device()))
		pending, err := v.Pending(ctx)
		require.NoError(t, err)
		require.Empty(t, pending)
		snapshot, err := v.Snapshot(ctx)
		require.NoError(t, err)
		require.Nil(t, snapshot)
		requireKept(t, v, "gone", nil)
		requireKept(t, v, "new", []byte("here"))
		queue, err := v.Queue(ctx)
		require.NoError(t, err)
		require.Len(t, queue, 1)
	})
	v = s.Open(t, "main")
	require.NoError(t, v.AddPending(ctx, ops(first.Last()+1, first.Last()+1)), "it goes on after the new log's beginning")
}

// knownSuccession lets a phone go on under another key whose log's beginning it has
// already: it introduced itself, and then the server gave it what it lacked.
func knownSuccession(t *testing.T, s Store) {
	ctx := context.Background()
	v, mine := opened(t, s)
	next := logtest.NewPen(household, 151)
	own, first := mine.Batch(t, 2), next.Batch(t, 1)
	require.NoError(t, v.Append(ctx, []*oplog.Batch{own, first}))
	require.NoError(t, v.AddPending(ctx, ops(own.Last()+1, own.Last()+1)))
	x := replica.Succession{Old: mine.Device(), Log: []*oplog.Batch{own}, Identity: identity(next), First: first}
	require.NoError(t, v.Succeed(ctx, x))
	lasts(t, s, v, func(v replica.Vault) {
		require.Equal(t, own.Last(), headOf(t, v, mine.Device()))
		require.Equal(t, first.Last(), headOf(t, v, next.Device()))
		got, err := v.Read(ctx, next.Device(), 0, 1<<20)
		require.NoError(t, err)
		require.Len(t, got, 1)
		requirePending(t, v, 1, 0)
	})
	v = s.Open(t, "main")
	require.NoError(t, v.AddPending(ctx, ops(first.Last()+1, first.Last()+1)))
}

// replacement puts another history of another phone's log in the place of the one that
// is kept.
func replacement(t *testing.T, s Store) {
	ctx := context.Background()
	v, mine := opened(t, s)
	here, there := logtest.NewPen(household, 150), logtest.NewPen(household, 150)
	own := mine.Batch(t, 2)
	old := []*oplog.Batch{here.Batch(t, 2), here.Batch(t, 3)}
	require.NoError(t, v.Append(ctx, append(old, own)))
	require.NoError(t, v.AddPending(ctx, ops(own.Last()+1, own.Last()+2)))
	require.NoError(t, v.SaveSnapshot(ctx, []byte{1}))
	require.NoError(t, v.Keep(ctx, "gone", []byte{1}))
	theirs := []*oplog.Batch{there.Photos(t, 1), there.Batch(t, 1)}
	x := replica.Replacement{Device: here.Device(), Log: theirs, Kept: map[string][]byte{"gone": nil, "new": []byte("here")}}
	wrong := x
	wrong.Log = theirs[1:]
	require.ErrorIs(t, v.Replace(ctx, wrong), oplog.ErrGap)
	requireKept(t, v, "gone", []byte{1})
	require.Equal(t, old[1].Last(), headOf(t, v, here.Device()), "what failed changes nothing")

	require.NoError(t, v.Replace(ctx, x))
	lasts(t, s, v, func(v replica.Vault) {
		got, err := v.Read(ctx, here.Device(), 0, 1<<20)
		require.NoError(t, err)
		require.Len(t, got, 2)
		require.Equal(t, theirs[0].Encode(), got[0].Encode())
		require.Equal(t, theirs[1].Last(), headOf(t, v, here.Device()))
		require.Equal(t, own.Last(), headOf(t, v, mine.Device()))
		requirePending(t, v, own.Last()+1, own.Last()+2)
		snapshot, err := v.Snapshot(ctx)
		require.NoError(t, err)
		require.Nil(t, snapshot)
		requireKept(t, v, "gone", nil)
		requireKept(t, v, "new", []byte("here"))
	})
	v = s.Open(t, "main")
	more := there.Batch(t, 1)
	require.NoError(t, v.Append(ctx, []*oplog.Batch{more}), "it goes on")
	require.Equal(t, more.Last(), headOf(t, v, here.Device()))
}
