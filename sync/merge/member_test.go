package merge_test

import (
	"crypto/ed25519"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// everyOrder requires the batches of a household to make the same state in many
// orders, and gives it.
func everyOrder(t *testing.T, h *mergetest.House) *merge.State {
	t.Helper()
	want := merge.New(h.ID)
	deliver(t, want, 0, h.Batches())
	for seed := range uint64(12) {
		got := merge.New(h.ID)
		deliver(t, got, seed, shuffled(seed, h.Batches()))
		same(t, want, got)
		restored, err := merge.Restore(snapshot(t, got))
		require.NoError(t, err)
		same(t, want, restored)
		require.Equal(t, want.SetAside(), restored.SetAside())
	}
	return want
}

// headOf is what a pen has seen of another's log.
func headOf(p, other *mergetest.Pen) model.FactID {
	return model.FactID{Device: other.Device(), Seq: p.State.Tail(other.Device()).Head().Seq}
}

func appoint(t *testing.T, p, other *mergetest.Pen, role model.Role) {
	t.Helper()
	p.Write(t, &oplog.Appoint{Member: other.Member(), Role: role, Seen: []model.FactID{headOf(p, other)}})
	p.Seal(t)
}

func revoke(t *testing.T, p, other *mergetest.Pen, stay ...model.DeviceID) {
	t.Helper()
	p.Write(t, &oplog.Revoke{Device: other.Device(), Last: headOf(p, other).Seq, Stay: stay})
	p.Seal(t)
}

func look(t *testing.T, p *mergetest.Pen) model.FactID {
	t.Helper()
	id := p.Fact(t, &model.Inspection{Plant: mergetest.ID[model.Plant]("fern")})
	p.Seal(t)
	return id
}

func counted(s *merge.State, id model.FactID) bool {
	_, ok := s.Book().Fact(id)
	return ok
}

func asides(s *merge.State) map[model.FactID]fault.Code {
	out := map[model.FactID]fault.Code{}
	for _, a := range s.SetAside() {
		out[a.ID] = fault.CodeOf(a.Why)
	}
	return out
}

// Two phones joined by one invitation, over servers that did not know of each other.
func TestAnInvitationLetsTheFirstPhoneIn(t *testing.T) {
	for _, secondArrivesFirst := range []bool{false, true} {
		h := mergetest.Found(t, "one invitation")
		i := h.Pens[0].Invite(t, model.Helper)
		known := h.Batches()
		first, second := h.JoinBy(t, i, known...), h.JoinBy(t, i, known...)
		if secondArrivesFirst {
			h.Pens[1], h.Pens[2] = h.Pens[2], h.Pens[1]
		}
		a, b := look(t, first), look(t, second)

		s := everyOrder(t, h)
		winner, loser := first, second
		if w, l := second.State.Tail(second.Device()), first.State.Tail(first.Device()); w.Device().String() < l.Device().String() {
			winner, loser = second, first // both joined at one stamp
			a, b = b, a
		}
		require.NoError(t, s.Access(winner.Device()))
		require.ErrorIs(t, s.Access(loser.Device()), oplog.ErrUsed)
		require.Zero(t, s.Role(loser.Device()))
		require.True(t, counted(s, a))
		require.False(t, counted(s, b))
		require.Equal(t, oplog.ErrUsed.Code, asides(s)[b])
		require.NotContains(t, s.Book().Devices, loser.Device())
		_, used := s.Invitation(i.Op)
		require.Equal(t, []model.DeviceID{winner.Device(), loser.Device()}, used, "the one that counts comes first")
	}
}

func TestTwoInvitationsWithOneKeyAreTwo(t *testing.T) {
	h := mergetest.Found(t, "one key")
	key := mergetest.KeyOf("invitation")
	var joined []*mergetest.Pen
	for _, role := range []model.Role{model.Guest, model.Keeper} {
		id := h.Pens[0].Write(t, &oplog.Invite{Key: mergetest.Public(key), Role: role, Expires: mergetest.Start})
		h.Pens[0].Seal(t)
		joined = append(joined, h.JoinBy(t, mergetest.Invitation{Key: key, Op: id}, h.Pens[0].Batches...))
	}
	s := everyOrder(t, h)
	for _, p := range joined {
		require.NoError(t, s.Access(p.Device()))
		require.Equal(t, model.Guest, s.Role(p.Device()), "the key stands for one member, whom the first one made")
	}
}

// What a member wrote before the change was known is judged by the role of then, and
// what the keeper had not seen by the new one.
func TestAChangeOfRole(t *testing.T) {
	for name, test := range map[string]struct {
		from, to     model.Role
		before, then bool // whether a setting counts
	}{
		"a guest becomes helper": {model.Guest, model.Helper, false, true},
		"a helper becomes guest": {model.Helper, model.Guest, true, false},
	} {
		t.Run(name, func(t *testing.T) {
			h := mergetest.Found(t, "roles change")
			keeper, other := h.Pens[0], h.Join(t, test.from)
			name := model.FieldKey{Field: model.PlantName}
			write := func(plant string) error {
				d, err := other.State.Draft(other.Device())
				require.NoError(t, err)
				_, err = d.Write(other.State.Stamp()+1, &oplog.Set{Record: mergetest.Plant(plant), Fields: []oplog.Setting{mergetest.Setting(model.PlantName, model.Text(plant))}})
				return err
			}
			require.Equal(t, test.before, write("before") == nil)
			if test.before {
				other.Set(t, mergetest.Plant("before"), name, model.Text("before"))
			}
			seen := look(t, other)
			keeper.Take(t, h.Batches()...)
			unseen := look(t, other)
			if test.before {
				other.Set(t, mergetest.Plant("unseen"), name, model.Text("unseen"))
				other.Seal(t)
			}
			appoint(t, keeper, other, test.to)
			other.Take(t, keeper.Batches...)
			require.Equal(t, test.to, other.State.Role(other.Device()))
			require.Equal(t, test.then, write("then") == nil)
			if test.then {
				other.Set(t, mergetest.Plant("then"), name, model.Text("then"))
				other.Seal(t)
			}

			s := everyOrder(t, h)
			require.Equal(t, test.to, s.Book().Members[other.Member()].Role)
			require.True(t, counted(s, seen))
			require.True(t, counted(s, unseen), "guests look too")
			plants := s.Book().Plants
			require.Equal(t, test.before, plants[mergetest.ID[model.Plant]("before")] != nil)
			require.Equal(t, test.then, plants[mergetest.ID[model.Plant]("then")] != nil)
			require.Nil(t, plants[mergetest.ID[model.Plant]("unseen")])
			if test.before {
				require.Len(t, s.SetAside(), 1)
				require.IsType(t, &oplog.Set{}, s.SetAside()[0].Body)
				require.ErrorIs(t, s.SetAside()[0].Why, oplog.ErrNotAllowed)
			}
		})
	}
}

// A revocation cuts a log where the keeper knew it, whatever the stamps say.
func TestARevokedDevice(t *testing.T) {
	h := mergetest.Found(t, "revoked")
	keeper, other := h.Pens[0], h.Join(t, model.Keeper)
	before, known := look(t, other), h.Batches()
	keeper.Take(t, known...)
	keeper.Wall += 3_600_000
	revoke(t, keeper, other)
	after := look(t, other) // its stamp is an hour before the revocation's
	invitation := other.Invite(t, model.Keeper)
	stranger := h.JoinBy(t, invitation, append(known, other.Batches...)...)
	smuggled := look(t, stranger)

	s := everyOrder(t, h)
	require.ErrorIs(t, s.Access(other.Device()), oplog.ErrRevoked)
	require.True(t, counted(s, before))
	require.False(t, counted(s, after))
	require.False(t, counted(s, smuggled), "who was invited after the end is not let in")
	require.Error(t, s.Access(stranger.Device()))
	aside := asides(s)
	require.Equal(t, oplog.ErrRevoked.Code, aside[after])
	require.Contains(t, aside, invitation.Op)
	require.True(t, s.Book().Devices[other.Device()].Ended)
	require.Zero(t, s.Book().Members[other.Member()].Role)

	other.Take(t, keeper.Batches...)
	_, err := other.State.Draft(other.Device())
	require.ErrorIs(t, err, oplog.ErrRevoked)
}

// The invitation that a revoked device used does not become free for the next one.
func TestARevokedDeviceLeavesItsInvitationUsed(t *testing.T) {
	h := mergetest.Found(t, "used up")
	i := h.Pens[0].Invite(t, model.Helper)
	first := h.JoinBy(t, i, h.Batches()...)
	h.Pens[0].Take(t, first.Batches...)
	h.Pens[0].Write(t, &oplog.Revoke{Device: first.Device()})
	h.Pens[0].Seal(t)
	second := h.JoinBy(t, i, h.Pens[0].Batches...)
	s := everyOrder(t, h)
	require.ErrorIs(t, s.Access(first.Device()), oplog.ErrRevoked)
	require.ErrorIs(t, s.Access(second.Device()), oplog.ErrUsed)
}

func TestARemovedMember(t *testing.T) {
	h := mergetest.Found(t, "removed")
	keeper, phone := h.Pens[0], h.Join(t, model.Helper)
	invite := func() mergetest.Invitation {
		key := mergetest.KeyOf("further phone " + string(rune('0'+len(h.Pens))))
		id := keeper.Write(t, &oplog.Invite{Key: mergetest.Public(key), Role: model.Helper, Expires: mergetest.Start, Member: phone.Member()})
		keeper.Seal(t)
		return mergetest.Invitation{Key: key, Op: id}
	}
	before, open, known := look(t, phone), invite(), h.Batches()
	keeper.Take(t, h.Batches()...)
	keeper.Write(t, &oplog.Remove{Member: phone.Member(), Seen: []model.FactID{headOf(keeper, phone)}})
	keeper.Seal(t)
	after := look(t, phone)
	tablet := h.JoinBy(t, open, known...)
	fromTablet := look(t, tablet)

	s := everyOrder(t, h)
	require.True(t, counted(s, before))
	require.False(t, counted(s, after))
	require.False(t, counted(s, fromTablet), "by an invitation that was open then")
	require.Zero(t, s.Book().Members[phone.Member()].Role)
	require.Empty(t, s.DevicesOf(phone.Member()))

	back := h.JoinBy(t, invite(), h.Batches()...)
	again := look(t, back)
	s = everyOrder(t, h)
	require.True(t, counted(s, again), "a later invitation brings the same member back")
	require.Equal(t, phone.Member(), s.Member(back.Device()))
	require.Equal(t, model.Helper, s.Role(back.Device()))
	require.False(t, counted(s, after))
}

func TestLeaving(t *testing.T) {
	h := mergetest.Found(t, "leaving")
	founder, guest := h.Pens[0], h.Join(t, model.Guest)
	d, err := guest.State.Draft(guest.Device())
	require.NoError(t, err)
	_, err = d.Write(guest.State.Stamp()+1, &oplog.Remove{Member: founder.Member()})
	require.ErrorIs(t, err, oplog.ErrNotAllowed)
	_, err = d.Write(guest.State.Stamp()+1, &oplog.Revoke{Device: founder.Device()})
	require.ErrorIs(t, err, oplog.ErrNotAllowed)
	_, err = d.Write(guest.State.Stamp()+1, &oplog.Appoint{Member: guest.Member(), Role: model.Keeper})
	require.ErrorIs(t, err, oplog.ErrNotAllowed)

	before := look(t, guest)
	guest.Write(t, &oplog.Remove{Member: guest.Member()})
	guest.Seal(t)
	s := everyOrder(t, h)
	require.True(t, counted(s, before))
	require.ErrorIs(t, s.Access(guest.Device()), oplog.ErrRevoked)
}

func TestTheLastKeeperStays(t *testing.T) {
	h := mergetest.Found(t, "last keeper")
	founder, helper := h.Pens[0], h.Join(t, model.Helper)
	founder.Take(t, h.Batches()...)
	for name, body := range map[string]any{
		"leaves":          &oplog.Remove{Member: founder.Member()},
		"becomes helper":  &oplog.Appoint{Member: founder.Member(), Role: model.Helper},
		"signs off":       &oplog.Revoke{Device: founder.Device()},
		"is no one known": &oplog.Appoint{Member: model.MemberID{7}, Role: model.Helper},
	} {
		d, err := founder.State.Draft(founder.Device())
		require.NoError(t, err)
		_, err = d.Write(founder.State.Stamp()+1, body)
		if name == "is no one known" {
			require.ErrorIs(t, err, oplog.ErrNotAllowed, name)
			continue
		}
		require.ErrorIs(t, err, oplog.ErrLastKeeper, name)
	}
	appoint(t, founder, helper, model.Keeper)
	appoint(t, founder, founder, model.Helper)
	s := everyOrder(t, h)
	require.Equal(t, model.Keeper, s.Role(helper.Device()))
	require.Equal(t, model.Helper, s.Role(founder.Device()))
}

// Two keepers shut each other out, neither having seen what the other did: the one
// who is longer in the household stays, whatever the stamps say.
func TestKeepersWhoShutEachOtherOut(t *testing.T) {
	for name, act := range map[string]func(t *testing.T, p, other *mergetest.Pen){
		"by role":       func(t *testing.T, p, other *mergetest.Pen) { appoint(t, p, other, model.Guest) },
		"by revocation": func(t *testing.T, p, other *mergetest.Pen) { revoke(t, p, other) },
		"by removal": func(t *testing.T, p, other *mergetest.Pen) {
			p.Write(t, &oplog.Remove{Member: other.Member(), Seen: []model.FactID{headOf(p, other)}})
			p.Seal(t)
		},
	} {
		for _, juniorFirst := range []bool{false, true} {
			t.Run(name, func(t *testing.T) {
				h := mergetest.Found(t, "quarrel")
				senior, junior := h.Pens[0], h.Join(t, model.Keeper)
				senior.Take(t, h.Batches()...)
				if juniorFirst {
					senior.Wall += 60_000
				} else {
					junior.Wall += 60_000
				}
				act(t, senior, junior)
				act(t, junior, senior)
				s := everyOrder(t, h)
				require.Equal(t, model.Keeper, s.Role(senior.Device()))
				require.NotEqual(t, model.Keeper, s.Role(junior.Device()))
				require.Len(t, s.SetAside(), 1)
			})
		}
	}
}

// Both of the only two keepers step down at once: one of them stays.
func TestTwoKeepersLeaveAtOnce(t *testing.T) {
	h := mergetest.Found(t, "both leave")
	a, b := h.Pens[0], h.Join(t, model.Keeper)
	a.Take(t, h.Batches()...)
	for _, p := range h.Pens {
		p.Write(t, &oplog.Remove{Member: p.Member()})
		p.Seal(t)
	}
	s := everyOrder(t, h)
	keepers := 0
	for _, p := range []*mergetest.Pen{a, b} {
		if s.Role(p.Device()) == model.Keeper {
			keepers++
		}
	}
	require.Equal(t, 1, keepers)
	require.Equal(t, oplog.ErrLastKeeper.Code, fault.CodeOf(s.SetAside()[0].Why))
}

// A thief revokes in turn, with a stamp that is older than the revocation of the
// phone: what the revoker had not seen does not count.
func TestBackdatingDoesNotHelp(t *testing.T) {
	h := mergetest.Found(t, "thief")
	founder, stolen, third := h.Pens[0], h.Join(t, model.Keeper), h.Join(t, model.Helper)
	for _, p := range h.Pens {
		p.Take(t, h.Batches()...)
	}
	founder.Wall += 3_600_000
	revoke(t, founder, stolen)
	revoke(t, stolen, founder)
	appoint(t, stolen, third, model.Keeper)
	s := everyOrder(t, h)
	require.Equal(t, model.Keeper, s.Role(founder.Device()))
	require.Equal(t, model.Helper, s.Role(third.Device()))
	require.Zero(t, s.Role(stolen.Device()))
}

// A keeper is shut out by somebody who is shut out in turn: only what still counts
// has an effect.
func TestAStruckRevocationHasNoEffect(t *testing.T) {
	h := mergetest.Found(t, "chain")
	a, b, c := h.Pens[0], h.Join(t, model.Keeper), h.Join(t, model.Keeper)
	for _, p := range h.Pens {
		p.Take(t, h.Batches()...)
	}
	appoint(t, b, a, model.Keeper) // b does something that counts
	c.Wall += 1000
	c.Write(t, &oplog.Revoke{Device: b.Device()}) // all that b ever wrote
	c.Seal(t)
	a.Wall += 2000
	revoke(t, a, c) // not having seen that
	s := everyOrder(t, h)
	require.Equal(t, model.Keeper, s.Role(b.Device()))
	require.Zero(t, s.Role(c.Device()))
	require.Len(t, s.SetAside(), 1)
}

func TestASuccessor(t *testing.T) {
	h := mergetest.Found(t, "successor")
	keeper, old := h.Pens[0], h.Join(t, model.Helper)
	before := look(t, old)
	fresh := h.Succeed(t, old, mergetest.KeyOf("fresh"))
	after := look(t, fresh)
	s := everyOrder(t, h)
	require.Equal(t, old.Member(), s.Member(fresh.Device()))
	require.Equal(t, model.Helper, s.Role(fresh.Device()))
	require.True(t, counted(s, before) && counted(s, after))
	require.Equal(t, []model.DeviceID{fresh.Device()}, s.Successors(old.Device()))

	grandchild := h.Succeed(t, fresh, mergetest.KeyOf("fresh again"))
	keeper.Take(t, h.Batches()...)
	unknown := h.Succeed(t, old, mergetest.KeyOf("whoever has the copy"))
	revoke(t, keeper, old, fresh.Device())
	s = everyOrder(t, h)
	require.NoError(t, s.Access(fresh.Device()), "it was named to stay")
	require.NoError(t, s.Access(grandchild.Device()), "and what came after it")
	require.ErrorIs(t, s.Access(old.Device()), oplog.ErrRevoked)
	require.ErrorIs(t, s.Access(unknown.Device()), oplog.ErrRevoked, "nobody named it")
	require.True(t, counted(s, before) && counted(s, after))
}

func TestSuccessorsThatAreRefused(t *testing.T) {
	h := mergetest.Found(t, "no successor")
	old := h.Join(t, model.Helper)
	look(t, old)
	s := whole(t, h)
	fresh := mergetest.KeyOf("fresh")
	body := func(signer, of *mergetest.Pen, after uint64) *oplog.Succeed {
		return &oplog.Succeed{Key: mergetest.Public(fresh), Device: of.Device(), After: after, Proof: ed25519.Sign(signer.Key, oplog.SucceedBytes(h.ID, mergetest.Public(fresh)))}
	}
	refused(t, s, oplog.ErrSignature.Code, forge(t, h.ID, s, fresh, body(h.Pens[0], old, 1)))
	refused(t, s, oplog.ErrGap.Code, forge(t, h.ID, s, fresh, body(old, old, 99)))
	stranger := mergetest.Found(t, "elsewhere").Pens[0]
	refused(t, s, oplog.ErrStranger.Code, forge(t, h.ID, s, fresh, body(stranger, stranger, 1)))
	refused(t, s, oplog.ErrStranger.Code, forge(t, h.ID, s, mergetest.KeyOf("another"), body(old, old, 1)))
}
