package household_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

func TestFoundingAgain(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	never := func(func() error) error { return errors.New("the token was spent twice") }
	answer, err := w.Found(ctx, a.Introduction(), never)
	require.NoError(t, err, "the answer was lost")
	require.Equal(t, oplog.Vector{a.Device(): 1}, answer.Have)
	require.Empty(t, answer.Batches)

	a.Look(t, 1)
	_, err = w.Found(ctx, a.Message(a.Batches(t, a.Device())...), never)
	require.ErrorIs(t, err, household.ErrExists, "more than the beginning")
}

func TestFoundingSpendsOnlyIfItSucceeds(t *testing.T) {
	w := newWorld(t)
	a := phonetest.Found(t, 1, w.clock.now)
	spent := 0
	spend := func(found func() error) error {
		err := found()
		if err == nil {
			spent++
		}
		return err
	}
	w.gate.full = errors.New("no room")
	_, err := w.Found(ctx, a.Introduction(), spend)
	require.ErrorIs(t, err, w.gate.full)
	require.Zero(t, spent)
	_, err = w.Digest(ctx, a.Household())
	require.ErrorIs(t, err, household.ErrUnknown)

	w.gate.full = nil
	refuse := errors.New("no such token")
	_, err = w.Found(ctx, a.Introduction(), func(func() error) error { return refuse })
	require.ErrorIs(t, err, refuse)
	_, err = w.Digest(ctx, a.Household())
	require.ErrorIs(t, err, household.ErrUnknown)

	_, err = w.Found(ctx, a.Introduction(), spend)
	require.NoError(t, err)
	require.Equal(t, 1, spent)
}

func TestIntroductionsThatAreNone(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	i := a.Invite(t, 101, time.Hour)
	w.sync(t, a)
	b, c := phonetest.Join(t, 2, w.clock.now, i), phonetest.Found(t, 3, w.clock.now)
	look := a.Look(t, 1)
	of := func(p *phonetest.Phone, batches ...*oplog.Batch) *wire.Message {
		return &wire.Message{Household: p.Household(), Batches: batches}
	}
	for name, c := range map[string]struct {
		found bool
		m     *wire.Message
		want  error
	}{
		"found with nothing":          {true, of(c), household.ErrIntroduction},
		"join with nothing":           {false, of(a), household.ErrIntroduction},
		"found by a join":             {true, b.Introduction(), household.ErrIntroduction},
		"join by a founding":          {false, c.Introduction(), household.ErrIntroduction},
		"found from the middle":       {true, of(a, look), oplog.ErrStranger},
		"join with others who are in": {false, of(a, a.Introduction().Batches[0], b.Introduction().Batches[0]), household.ErrIntroduction},
		"found with another's":        {true, of(c, c.Introduction().Batches[0], look), oplog.ErrStranger},
		"found under another's id":    {true, of(phonetest.Found(t, 9, w.clock.now), c.Introduction().Batches...), oplog.ErrHousehold},
	} {
		t.Run(name, func(t *testing.T) {
			var err error
			if c.found {
				_, err = w.Found(ctx, c.m, free)
			} else {
				_, err = w.Join(ctx, c.m)
			}
			require.ErrorIs(t, err, c.want)
		})
	}
	hs, err := w.db.Households(ctx)
	require.NoError(t, err)
	require.Equal(t, []model.HouseholdID{a.Household()}, hs)
}

func TestInvitations(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	good, late := a.Invite(t, 101, 15*time.Minute), a.Invite(t, 102, 5*time.Minute)
	unknown := a.Invite(t, 103, 15*time.Minute)
	w.sync(t, w.founded(t, 50)) // another household, to show that nothing leaks
	refused, err := a.Sync(func(m *wire.Message) (*wire.Message, error) {
		if n := len(m.Batches); n > 0 {
			m.Batches = m.Batches[:n-1] // the server does not hear of the last one
		}
		return w.Exchange(ctx, a.Household(), a.Device(), m)
	})
	require.NoError(t, err)
	require.Empty(t, refused)

	elsewhere := good
	elsewhere.Household = model.HouseholdID{7}
	phone := func(seed byte, i phonetest.Invitation) *phonetest.Phone {
		return phonetest.Join(t, seed, w.clock.now, i)
	}
	join := func(p *phonetest.Phone) error {
		_, err := w.Join(ctx, p.Introduction())
		return err
	}
	b := phone(2, good)
	require.ErrorIs(t, join(phone(2, unknown)), oplog.ErrInvitation)
	require.ErrorIs(t, join(phone(2, elsewhere)), oplog.ErrInvitation)
	require.NoError(t, join(b))
	require.NoError(t, join(b), "the answer was lost")
	require.ErrorIs(t, join(phone(3, good)), oplog.ErrUsed)
	w.clock.advance(5 * time.Minute)
	require.ErrorIs(t, join(phone(4, late)), household.ErrExpired)
	w.clock.advance(time.Hour)
	require.NoError(t, join(b), "it joined in time")
	require.ErrorIs(t, join(phone(3, good)), oplog.ErrUsed, "used comes before expired")
}

// A member may hand over the logs of two phones that joined by one invitation, as when
// they joined over different servers. Both are kept, and one counts.
func TestOfTwoPhonesOnOneInvitationOneCounts(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	i := a.Invite(t, 101, 15*time.Minute)
	w.sync(t, a)
	b := phonetest.Join(t, 2, w.clock.now, i)
	w.clock.advance(time.Second)
	c := phonetest.Join(t, 3, w.clock.now, i)

	for _, p := range []*phonetest.Phone{c, b} {
		answer, err := w.Exchange(ctx, a.Household(), a.Device(), a.Message(p.Introduction().Batches[0]))
		require.NoError(t, err)
		require.Empty(t, answer.Refused)
		require.Contains(t, answer.Have, p.Device())
	}
	_, role, err := w.Member(ctx, b.Household(), b.Device())
	require.NoError(t, err)
	require.Equal(t, model.Helper, role)
	_, _, err = w.Member(ctx, c.Household(), c.Device())
	require.ErrorIs(t, err, oplog.ErrUsed)
	_, err = w.Exchange(ctx, c.Household(), c.Device(), c.Message())
	require.ErrorIs(t, err, oplog.ErrUsed)
}
