package merge_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// What somebody does who has not heard yet that the rights to it have ended.

// A keeper who is helper by now still signs off and removes others. None of it takes
// effect; to leave is everybody's right.
func TestAKeeperNoMore(t *testing.T) {
	for name, act := range map[string]func(other *mergetest.Pen) any{
		"revokes":  func(other *mergetest.Pen) any { return &oplog.Revoke{Device: other.Device()} },
		"removes":  func(other *mergetest.Pen) any { return &oplog.Remove{Member: other.Member()} },
		"appoints": func(other *mergetest.Pen) any { return &oplog.Appoint{Member: other.Member(), Role: model.Keeper} },
	} {
		t.Run(name, func(t *testing.T) {
			h := mergetest.Found(t, "keeper no more")
			founder, keeper, other := h.Pens[0], h.Join(t, model.Keeper), h.Join(t, model.Helper)
			for _, p := range h.Pens {
				p.Take(t, h.Batches()...)
			}
			appoint(t, founder, keeper, model.Helper)
			void := keeper.Write(t, act(other))
			keeper.Seal(t)
			s := everyOrder(t, h)
			require.Contains(t, asides(s), void)
			require.Equal(t, oplog.ErrNotAllowed.Code, asides(s)[void])
			require.NoError(t, s.Access(other.Device()))
			require.Equal(t, model.Helper, s.Role(other.Device()))

			keeper.Write(t, &oplog.Remove{Member: keeper.Member()})
			keeper.Seal(t)
			require.ErrorIs(t, everyOrder(t, h).Access(keeper.Device()), oplog.ErrRevoked)
		})
	}
}

// Who signs the own device off has seen its whole log.
func TestSigningOneselfOff(t *testing.T) {
	h := mergetest.Found(t, "oneself")
	guest := h.Join(t, model.Guest)
	before := look(t, guest)
	guest.Write(t, &oplog.Revoke{Device: guest.Device()})
	guest.Seal(t)
	s := everyOrder(t, h)
	require.True(t, counted(s, before))
	require.ErrorIs(t, s.Access(guest.Device()), oplog.ErrRevoked)
}

// An invitation for somebody who never came in lets nobody in.
func TestAnInvitationForNobody(t *testing.T) {
	h := mergetest.Found(t, "nobody")
	founder, key := h.Pens[0], mergetest.KeyOf("for nobody")
	id := founder.Write(t, &oplog.Invite{Key: mergetest.Public(key), Role: model.Keeper, Expires: mergetest.Start, Member: model.MemberID{7}})
	founder.Seal(t)
	phone := h.JoinBy(t, mergetest.Invitation{Key: key, Op: id}, h.Batches()...)
	s := everyOrder(t, h)
	require.Error(t, s.Access(phone.Device()))
	require.Zero(t, s.Role(phone.Device()))
}

// To make somebody keeper who is shuts nobody out, so it is no quarrel with a
// revocation that its author had not seen.
func TestAnAppointmentThatTakesNothing(t *testing.T) {
	h := mergetest.Found(t, "takes nothing")
	senior, junior := h.Pens[0], h.Join(t, model.Keeper)
	senior.Take(t, h.Batches()...)
	revoke(t, junior, senior)
	appoint(t, senior, junior, model.Keeper)
	s := everyOrder(t, h)
	require.ErrorIs(t, s.Access(senior.Device()), oplog.ErrRevoked)
	require.Equal(t, model.Keeper, s.Role(junior.Device()))
}

// What a revoked device set settles no conflict of others.
func TestAConflictThatSomebodyRevokedHasSettled(t *testing.T) {
	for name, value := range map[string]string{"for another value": "fern on the shelf", "for the one that lost": "fern by the door"} {
		t.Run(name, func(t *testing.T) {
			h := mergetest.Found(t, "settled in vain")
			keeper, other, lost := h.Pens[0], h.Join(t, model.Helper), h.Join(t, model.Helper)
			fern := mergetest.Plant("fern")
			for _, p := range h.Pens {
				p.Take(t, h.Batches()...)
			}
			by := lost.Set(t, fern, plantName, model.Text("fern by the door"))
			lost.Seal(t)
			other.Take(t, h.Batches()...)
			revoke(t, keeper, other)
			other.Set(t, fern, plantName, model.Text(value))
			other.Seal(t)
			keeper.Wall += 60_000
			keeper.Set(t, fern, plantName, model.Text("fern in the bath"))
			keeper.Seal(t)
			s := everyOrder(t, h)
			require.Equal(t, "fern in the bath", s.Current(fern, plantName).Value.Text)
			got := s.Lost(fern, plantName)
			require.Len(t, got, 1)
			require.Equal(t, by, got[0].By)
		})
	}
}
