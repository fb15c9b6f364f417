package household_test

import (
	"crypto/ed25519"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household/phonetest"
	"leafturn/sync/oplog"
)

// revoke signs a phone off, as far as the keeper has seen its log.
func revoke(t testing.TB, keeper, p *phonetest.Phone) {
	t.Helper()
	keeper.Write(t, &oplog.Revoke{Device: p.Device(), Last: keeper.State.Tail(p.Device()).Head().Seq})
}

// From the write on that tells of the revocation, the phone is nobody: it is not let
// in, its stream ends, and what it wrote and nobody had seen does not count.
func TestARevokedPhone(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	seen := b.Look(t, 1)
	w.sync(t, b)
	w.sync(t, a)
	unseen := b.Look(t, 2)
	w.sync(t, b)
	unsent := b.Look(t, 3)
	watch := w.watch(t, a.Household())
	revoke(t, a, b)
	w.sync(t, a)

	require.True(t, heard(watch), "whoever holds its stream looks again")
	_, err := w.Mark(ctx, b.Household(), b.Device())
	require.ErrorIs(t, err, oplog.ErrRevoked)
	_, err = w.Exchange(ctx, b.Household(), b.Device(), b.Message(unsent))
	require.ErrorIs(t, err, oplog.ErrRevoked)
	_, _, err = w.Member(ctx, b.Household(), b.Device())
	require.ErrorIs(t, err, oplog.ErrRevoked)
	key, err := w.DeviceKey(ctx, b.Household(), b.Device())
	require.ErrorIs(t, err, oplog.ErrRevoked)
	require.Equal(t, b.Key.Public().(ed25519.PublicKey), key, "so that it can prove who it was, and be told")

	w.sync(t, a)
	counted := func(o *oplog.Batch) bool {
		_, ok := a.State.Book().Fact(model.FactID{Device: o.Device, Seq: o.Last()})
		return ok
	}
	require.True(t, counted(seen))
	require.False(t, counted(unseen), "it is in the log and set aside")
	require.Len(t, a.State.SetAside(), 1)
	require.Equal(t, w.digest(t, a), a.Digest(t))

	answer, err := w.Exchange(ctx, a.Household(), a.Device(), a.Message(unsent))
	require.NoError(t, err)
	require.Empty(t, answer.Refused, "another phone may hand it over")
	w.sync(t, a)
	require.False(t, counted(unsent), "and it does not count either")
	require.Len(t, a.State.SetAside(), 2)
	w.restart()
	require.Equal(t, w.digest(t, a), a.Digest(t))
	require.Equal(t, unsent.Last(), a.State.Vector()[b.Device()])
}

// A phone takes its own place under another key, but not once it is revoked.
func TestSucceeding(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	next, late := phonetest.Succeed(t, 3, w.clock.now, b), phonetest.Succeed(t, 4, w.clock.now, b)
	_, err := w.Join(ctx, next.Introduction())
	require.NoError(t, err)
	_, err = w.Join(ctx, next.Introduction())
	require.NoError(t, err, "the answer was lost")
	w.sync(t, next)
	member, role, err := w.Member(ctx, next.Household(), next.Device())
	require.NoError(t, err)
	require.Equal(t, b.State.Member(b.Device()), member)
	require.Equal(t, model.Helper, role)

	w.sync(t, a)
	revoke(t, a, b)
	w.sync(t, a)
	_, err = w.Join(ctx, late.Introduction())
	require.ErrorIs(t, err, oplog.ErrRevoked)
	_, err = w.Exchange(ctx, next.Household(), next.Device(), next.Message())
	require.ErrorIs(t, err, oplog.ErrRevoked, "the keeper did not name it")
}

func TestARemovedMemberIsKeptOut(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	w.sync(t, a)
	member := a.State.Member(b.Device())
	a.Write(t, &oplog.Remove{Member: member, Seen: []model.FactID{{Device: b.Device(), Seq: 1}}})
	w.sync(t, a)
	_, err := w.Exchange(ctx, b.Household(), b.Device(), b.Message())
	require.ErrorIs(t, err, oplog.ErrRevoked)
	w.clock.advance(time.Minute)
	c := w.joined(t, a, 5)
	_, role, err := w.Member(ctx, c.Household(), c.Device())
	require.NoError(t, err)
	require.Equal(t, model.Helper, role)
}
