package household_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/server/household/phonetest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// bringing is how a phone introduces itself to a server that may have forgotten what it
// builds on.
func bringing(t *testing.T, p *phonetest.Phone, from ...*phonetest.Phone) *wire.Message {
	m := p.Introduction()
	for _, other := range from {
		m.Batches = append(m.Batches, p.Batches(t, other.Device())...)
	}
	return m
}

// A server was restored to a time before it heard of an invitation, and whoever wrote
// that is gone. The phone that came by it, and one that took its place, bring along what
// the server lacks.
func TestAPhoneBringsAlongWhatARestoredServerLacks(t *testing.T) {
	lived, w := newWorld(t), newWorld(t)
	a := lived.founded(t, 1)
	_, err := w.Found(ctx, a.Introduction(), free) // all that the backup has
	require.NoError(t, err)
	b := lived.joined(t, a, 2)
	b.Look(t, 1)
	lived.sync(t, b)
	c := phonetest.Succeed(t, 3, lived.clock.now, b)
	_, err = lived.Join(ctx, c.Introduction())
	require.NoError(t, err)
	lived.sync(t, c)

	_, err = w.Join(ctx, c.Introduction())
	require.Error(t, err)
	_, err = w.Join(ctx, bringing(t, c, b))
	require.Error(t, err, "it also lacks whoever invited the old one")
	before := w.digest(t, a)
	_, err = w.Join(ctx, bringing(t, c, a, b))
	require.NoError(t, err)
	require.NotEqual(t, before, w.digest(t, a))
	w.sync(t, c)
	require.Equal(t, lived.digest(t, c), w.digest(t, c))
	w.restart()
	require.Equal(t, lived.digest(t, c), w.digest(t, c))
}

// Who may not come in leaves nothing behind.
func TestWhatIsBroughtBySomebodyWhoMayNotComeIn(t *testing.T) {
	lived, w := newWorld(t), newWorld(t)
	a := lived.founded(t, 1)
	_, err := w.Found(ctx, a.Introduction(), free)
	require.NoError(t, err)
	b := lived.joined(t, a, 2)
	c := phonetest.Succeed(t, 3, lived.clock.now, b)
	late := lived.joined(t, a, 4)
	a.Write(t, &oplog.Revoke{Device: b.Device(), Last: 1})
	lived.sync(t, a)
	lived.sync(t, late)
	before := w.digest(t, a)
	tries := map[string]struct {
		m    *wire.Message
		want fault.Code
	}{
		"in the place of one that was revoked": {&wire.Message{Household: a.Household(), Batches: append(append(c.Introduction().Batches, a.Batches(t, a.Device())...), b.Batches(t, b.Device())...)}, oplog.ErrRevoked.Code},
		"by an invitation that has run out":    {bringing(t, late, a), "invitation_expired"},
	}
	w.clock.advance(time.Hour)
	for name, test := range tries {
		t.Run(name, func(t *testing.T) {
			_, err := w.Join(ctx, test.m)
			require.Equal(t, test.want, fault.CodeOf(err))
			require.Equal(t, before, w.digest(t, a))
			w.restart()
			require.Equal(t, before, w.digest(t, a))
		})
	}
}

// A device that has ended does not write by introducing itself once more.
func TestARevokedDeviceDoesNotComeInAgain(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	b := w.joined(t, a, 2)
	w.sync(t, a)
	a.Write(t, &oplog.Revoke{Device: b.Device(), Last: b.Vector()[b.Device()]})
	w.sync(t, a)
	before := w.digest(t, a)
	later := b.Smuggle(t, phonetest.Look(b, 9))
	m := b.Introduction()
	m.Batches = append(m.Batches, later)
	_, err := w.Join(ctx, m)
	require.ErrorIs(t, err, oplog.ErrRevoked)
	require.Equal(t, before, w.digest(t, a))
}
