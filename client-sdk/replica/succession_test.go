package replica_test

import (
	"crypto/ed25519"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
)

// sameNotes requires a phone to know these inspections, each once.
func sameNotes(t *testing.T, want []string, phones ...*phone) {
	t.Helper()
	for i, p := range phones {
		require.ElementsMatch(t, want, notes(p), "phone %d", i)
	}
}

// A phone and its copy write as one. The one that comes second takes a new identity by
// itself, and everything that both wrote is there, once.
func TestAPhoneAndItsCopy(t *testing.T) {
	s, _, a, b := pair(t)
	b.do(t, look("both"))
	twin := copyOf(t, b)
	b.do(t, look("the phone"))
	old := twin.Device()
	kept := twin.do(t, look("the copy"), look("a mistake"), named("fern"))
	twin.do(t, replica.Seen(&model.Withdrawn{Fact: kept[1]}), named("big fern"))
	twin.do(t, replica.Set(model.KindDevice, old, replica.To(model.DeviceName, model.Text("new phone"))))
	var before model.Fact
	twin.Read(func(book *model.Book) {
		f, ok := book.Fact(kept[0])
		require.True(t, ok)
		before = *f
	})
	b.sync(t)
	twin.sync(t)

	require.NotEqual(t, old, twin.Device())
	require.Equal(t, b.Member(), twin.Member())
	status := twin.Status()
	require.Equal(t, oplog.ErrFork.Code, status.Moved.Why.Code)
	require.Equal(t, 6, status.Moved.Carried)
	require.Zero(t, status.Moved.Left)
	require.Nil(t, status.Blocked)
	require.Zero(t, status.Unsent)
	a.sync(t)
	b.sync(t)
	requireSame(t, s, a, b, twin)
	sameNotes(t, []string{"both", "the phone", "the copy", "a mistake"}, a, b, twin)
	require.Equal(t, "big fern", nameOf(a))
	a.Read(func(book *model.Book) {
		require.Equal(t, "new phone", book.Devices[twin.Device()].Name)
		for _, f := range book.Facts() {
			if i, ok := f.Body.(*model.Inspection); ok {
				require.Equal(t, i.Note != "a mistake", book.Stands(f.ID), "the withdrawal names the fact as it is now")
				if i.Note == "the copy" {
					require.Equal(t, []any{before.At, before.By, before.Stamp}, []any{f.At, f.By, f.Stamp})
				}
			}
		}
	})
	require.Empty(t, a.Lost(model.Ref{Kind: model.KindPlant, ID: fern.UUID()}, model.FieldKey{Field: model.PlantName}), "each setting had seen the one before")

	twin.reopen(t)
	require.Equal(t, status.Moved, twin.Status().Moved, "until somebody has read it")
	require.NoError(t, twin.ForgetMove(ctx))
	require.Nil(t, twin.Status().Moved)
	twin.reopen(t)
	require.Nil(t, twin.Status().Moved)
	twin.do(t, look("goes on"))
	twin.sync(t)
	b.do(t, look("both go on"))
	b.sync(t)
	a.sync(t)
	twin.sync(t)
	requireSame(t, s, a, b, twin)
	require.Len(t, notes(a), 6)
}

// The founder's phone can be copied too, and several copies can be made.
// The server adds to the history that a copy takes over what its author might not write.
// It does not get into the vault, where it would keep the phone from opening.
func TestACopyTakesOverOnlyWhatWasAllowed(t *testing.T) {
	s, _, a, b := pair(t)
	twin := copyOf(t, b)
	b.do(t, look("the phone"))
	b.sync(t)
	twin.do(t, look("the copy"))
	id, err := b.vault.Identity(ctx)
	require.NoError(t, err)
	tail := s.household.State.Tail(b.Device()).Clone()
	before := tail.Head()
	ops, err := tail.Write(tail.Stamp()+1, &oplog.Invite{Key: make([]byte, ed25519.PublicKeySize), Role: model.Keeper, Expires: model.Instant(s.now() + 1000)})
	require.NoError(t, err)
	batch, err := tail.Seal(ed25519.NewKeyFromSeed(id.Seed), before, ops)
	require.NoError(t, err)
	s.smuggled = []*oplog.Batch{batch}
	require.NoError(t, twin.Sync(ctx, twin.server))
	twin.reopen(t)
	s.smuggled = nil
	twin.sync(t)
	a.sync(t)
	b.sync(t)
	sameNotes(t, []string{"the phone", "the copy"}, a, b, twin)
	requireSame(t, s, a, b, twin)
}

func TestManyCopies(t *testing.T) {
	s, c, a, b := pair(t)
	random := rand.New(rand.NewPCG(4, 4))
	phones := []*phone{a, b}
	var want []string
	write := func(p *phone) {
		note := fmt.Sprint("note ", len(want))
		p.do(t, look(note))
		want = append(want, note)
	}
	for range 30 {
		c.pass(60_000)
		if len(phones) < 8 {
			p := phones[random.IntN(len(phones))]
			for range random.IntN(3) {
				write(p) // not sent yet
			}
			phones = append(phones, copyOf(t, p))
			twin := phones[len(phones)-1]
			write(p)
			write(twin)
		}
		p := phones[random.IntN(len(phones))]
		write(p)
		if random.IntN(2) == 0 {
			p.line.fates = []fate{fate(random.IntN(int(fates))), arrives, fate(random.IntN(int(fates)))}
			_ = p.Sync(ctx, p.server) // whatever becomes of it
			p.line.fates = nil
			p.reopen(t)
		}
	}
	for range 3 {
		for _, p := range phones {
			p.sync(t)
		}
	}
	sameNotes(t, want, phones...)
	requireSame(t, s, phones...)
	ids := map[model.DeviceID]bool{}
	for _, p := range phones {
		ids[p.Device()] = true
	}
	require.Len(t, ids, len(phones), "no two write as one any more")
}

// A phone may be killed at any write of a move.
func TestAMoveThatIsInterrupted(t *testing.T) {
	for name, broken := range map[string]func(*brokenVault){
		"before it is kept":          func(v *brokenVault) { v.succeed = errBroken },
		"before entries are carried": func(v *brokenVault) { v.addPending = errBroken },
		"before it is noted":         func(v *brokenVault) { v.keep = errBroken },
	} {
		t.Run(name, func(t *testing.T) {
			s, _, a, b := pair(t)
			twin := copyOf(t, b)
			b.do(t, look("the phone"))
			twin.do(t, look("the copy"), look("once more"))
			b.sync(t)
			v := &brokenVault{Vault: twin.vault}
			twin.vault = v
			twin.reopen(t)
			broken(v)
			require.Error(t, twin.Sync(ctx, twin.server))
			*v = brokenVault{Vault: v.Vault}
			twin.reopen(t)
			twin.sync(t)
			a.sync(t)
			b.sync(t)
			sameNotes(t, []string{"the phone", "the copy", "once more"}, a, b, twin)
			requireSame(t, s, a, b, twin)
		})
	}
}

// The server is restored from last week's backup, and phones on either side know more
// than it does.
func TestARestoredServer(t *testing.T) {
	s, c, a, b := pair(t)
	phones := []*phone{a, b}
	var want []string
	write := func(p *phone) {
		want = append(want, fmt.Sprint("note ", len(want)))
		p.do(t, look(want[len(want)-1]))
	}
	for i := range 8 {
		write(phones[i%2])
		phones[i%2].sync(t)
	}
	backup := s.backup(t)
	for i := range 10 {
		c.pass(86_400_000)
		write(phones[i%2])
		phones[i%2].sync(t)
	}
	write(b) // not sent
	s.restore(t, backup)
	s.signOut()
	for i := range 6 {
		write(phones[i%2])
	}
	b.sync(t)
	require.True(t, b.Status().Restored, "the server knows less than it had said")
	a.sync(t)
	b.sync(t)
	require.Len(t, want, 25)
	sameNotes(t, want, a, b)
	requireSame(t, s, a, b)
}

// A phone was copied, and the server restored to a time before that.
func TestACopyAndARestoredServer(t *testing.T) {
	for _, copyFirst := range []bool{false, true} {
		s, _, a, b := pair(t)
		var want []string
		write := func(p *phone) {
			want = append(want, fmt.Sprint("note ", len(want)))
			p.do(t, look(want[len(want)-1]))
		}
		write(b)
		b.sync(t)
		backup := s.backup(t)
		for range 4 {
			write(b)
			b.sync(t)
		}
		write(b)
		twin := copyOf(t, b)
		for range 5 {
			write(b)
			write(twin)
		}
		b.sync(t)
		s.restore(t, backup)
		s.signOut()
		order := []*phone{b, twin}
		if copyFirst {
			slices.Reverse(order)
		}
		for range 2 {
			for _, p := range append(order, a) {
				write(p)
				p.sync(t)
			}
		}
		for _, p := range append(order, a) {
			p.sync(t)
		}
		sameNotes(t, want, a, b, twin)
		requireSame(t, s, a, b, twin)
	}
}

// A phone was signed off while it held entries that it had not sent. It comes back by
// a new invitation, under a new key, and brings them along.
func TestARevokedPhoneComesBack(t *testing.T) {
	for name, role := range map[string]model.Role{"as it was": model.Helper, "as a guest": model.Guest} {
		t.Run(name, func(t *testing.T) {
			s, _, a, b := pair(t)
			b.do(t, look("sent"))
			b.sync(t)
			a.sync(t)
			b.do(t, look("not seen by the keeper"))
			b.sync(t)
			b.do(t, look("not sent"), named("renamed offline"))
			old := b.Device()
			require.NoError(t, a.Revoke(ctx, old))
			a.sync(t)

			err := b.Sync(ctx, b.server)
			require.Equal(t, oplog.ErrRevoked.Code, fault.CodeOf(err))
			require.Equal(t, oplog.ErrRevoked.Code, b.Status().Trouble.Code)
			sameNotes(t, []string{"sent"}, a)
			aside := a.SetAside()
			require.Len(t, aside, 1)
			require.NoError(t, a.WriteAgain(ctx, aside[0].ID))
			require.Empty(t, a.SetAside(), "it counts now")
			require.ErrorIs(t, a.WriteAgain(ctx, model.FactID{Device: old, Seq: 99}), oplog.ErrNotAllowed)

			i, _, err := a.Invite(ctx, role, model.MemberID{})
			require.NoError(t, err)
			if role == model.Helper {
				i, _, err = a.Invite(ctx, role, b.Member())
				require.NoError(t, err)
			}
			a.sync(t)
			elsewhere := i
			elsewhere.Household = model.HouseholdID{7}
			require.ErrorIs(t, b.Rejoin(ctx, b.server, elsewhere), oplog.ErrInvitation)
			require.Equal(t, old, b.Device())
			b.line.fates = []fate{answerLost}
			require.ErrorIs(t, b.Rejoin(ctx, b.server, i), replica.ErrOffline)
			b.reopen(t)
			require.NoError(t, b.Rejoin(ctx, b.server, i), "with the key that it knocked with before")
			b.sync(t)
			require.NotEqual(t, old, b.Device())
			require.NoError(t, b.Access())
			a.sync(t)
			requireSame(t, s, a, b)
			sameNotes(t, []string{"sent", "not seen by the keeper", "not sent"}, a, b)
			left, err := b.LeftBehind(ctx)
			require.NoError(t, err)
			if role == model.Guest {
				require.Empty(t, nameOf(a))
				require.Len(t, left, 1)
				require.Equal(t, 1, b.Status().Moved.Left)
				return
			}
			require.Equal(t, "renamed offline", nameOf(a))
			require.Empty(t, left)
		})
	}
}

func TestChangingMembers(t *testing.T) {
	s, _, a, b := pair(t)
	_, _, err := a.Invite(ctx, model.Helper, model.MemberID{7})
	require.ErrorIs(t, err, replica.ErrMember, "an invitation that nobody could use")
	require.ErrorIs(t, b.ChangeRole(ctx, b.Member(), model.Keeper), oplog.ErrNotAllowed)
	require.ErrorIs(t, a.ChangeRole(ctx, a.Member(), model.Guest), oplog.ErrLastKeeper)
	require.ErrorIs(t, a.Leave(ctx), oplog.ErrLastKeeper)
	require.NoError(t, a.ChangeRole(ctx, b.Member(), model.Keeper))
	a.sync(t)
	b.sync(t)
	require.Equal(t, model.Keeper, b.Role())
	require.NoError(t, a.Leave(ctx))
	require.Equal(t, oplog.ErrRevoked, a.Access())
	_, err = a.Do(ctx, look("too late"))
	require.ErrorIs(t, err, oplog.ErrRevoked)
	a.sync(t) // it still says so
	require.Equal(t, oplog.ErrRevoked.Code, fault.CodeOf(a.Sync(ctx, a.server)))
	b.sync(t)
	requireSame(t, s, a, b)
	b.Read(func(book *model.Book) { require.Zero(t, book.Members[a.Member()].Role) })
	require.NoError(t, b.Remove(ctx, a.Member()), "once more does no harm")
}
