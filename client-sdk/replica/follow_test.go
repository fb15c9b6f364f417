package replica_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
)

// carried gives a phone what another one knows, by a file.
func carried(t *testing.T, from, to *phone) {
	t.Helper()
	var file bytes.Buffer
	require.NoError(t, from.HandOver(ctx, &file))
	_, err := to.TakeOver(ctx, &file)
	require.NoError(t, err)
}

// parted makes a household in which b and its copy have written under one key, the
// server has what b wrote, and a what the copy wrote.
func parted(t *testing.T) (s *fakeServer, a, b, twin *phone) {
	s, _, a, b = pair(t)
	b.do(t, named("Fern"), look("both"))
	b.sync(t)
	a.sync(t)
	twin = copyOf(t, b)
	b.do(t, look("the phone"))
	ids := twin.do(t, look("the copy"), look("a mistake"), named("Big fern"))
	twin.do(t, replica.Seen(&model.Withdrawn{Fact: ids[1]}))
	carried(t, twin, a)
	b.sync(t)
	return s, a, b, twin
}

var partedNotes = []string{"both", "the phone", "the copy", "a mistake"}

// requireFollowed checks that all phones know the same, and what it is.
func requireFollowed(t *testing.T, s *fakeServer, phones ...*phone) {
	t.Helper()
	requireSame(t, s, phones...)
	sameNotes(t, partedNotes, phones...)
	for _, p := range phones {
		require.Nil(t, p.Status().Unread)
		require.Zero(t, p.Status().Unsent)
		require.Equal(t, "Big fern", nameOf(p))
		p.Read(func(b *model.Book) {
			for _, f := range b.Facts() {
				if i, ok := f.Body.(*model.Inspection); ok {
					require.Equal(t, i.Note != "a mistake", b.Stands(f.ID), i.Note)
				}
			}
		})
	}
}

// A phone has another history of a log than the server. It follows the server, and
// brings along what nobody else has: the copy that wrote it is never heard of again.
func TestAPhoneFollowsTheServersHistory(t *testing.T) {
	s, a, b, _ := parted(t)
	a.sync(t)
	require.Empty(t, a.SetAside())
	a.sync(t)
	b.sync(t)
	requireFollowed(t, s, a, b)
	a.reopen(t)
	requireFollowed(t, s, a, b)
	before := len(written(t, s))
	a.sync(t)
	require.Len(t, written(t, s), before, "once")
}

// The copy comes back, before or after: what both write again counts once.
func TestWhatTwoHaveGivenUpCountsOnce(t *testing.T) {
	for name, copyFirst := range map[string]bool{"the copy first": true, "the copy last": false} {
		t.Run(name, func(t *testing.T) {
			s, a, b, twin := parted(t)
			order := []*phone{a, twin}
			if copyFirst {
				order = []*phone{twin, a}
			}
			for range 3 {
				for _, p := range append(order, b) {
					p.sync(t)
				}
			}
			requireFollowed(t, s, a, b, twin)
		})
	}
}

// Somebody has changed the name since: what was given up does not win over it.
func TestWhatWasGivenUpIsOlderThanWhatCameAfterIt(t *testing.T) {
	s, a, b, _ := parted(t)
	b.do(t, named("Fern by the door"))
	b.sync(t)
	for range 2 {
		a.sync(t)
		b.sync(t)
	}
	requireSame(t, s, a, b)
	require.Equal(t, "Fern by the door", nameOf(a))
}

// The phone is killed at any write of it.
func TestFollowingThatIsInterrupted(t *testing.T) {
	for name, broken := range map[string]func(*brokenVault){
		"before it is kept":          func(v *brokenVault) { v.replace = errBroken },
		"before it is written again": func(v *brokenVault) { v.addPending = errBroken },
	} {
		t.Run(name, func(t *testing.T) {
			s, a, b, _ := parted(t)
			v := &brokenVault{Vault: a.vault}
			a.vault = v
			a.reopen(t)
			broken(v)
			require.Error(t, a.Sync(ctx, a.server))
			*v = brokenVault{Vault: v.Vault}
			a.reopen(t)
			a.sync(t)
			a.sync(t)
			b.sync(t)
			requireFollowed(t, s, a, b)
		})
	}
}

// A guest may not write what others saw. It stays on the phone until the guest may.
func TestAGuestKeepsWhatItGaveUp(t *testing.T) {
	s, _, a, b := pair(t)
	i, _, err := a.Invite(ctx, model.Guest, model.MemberID{})
	require.NoError(t, err)
	a.sync(t)
	g := newPhone(s, nil, 7)
	g.opts.Wall = a.opts.Wall
	r, err := replica.Join(ctx, g.vault, g.opts, i, replica.Start{Member: "Oak"})
	require.NoError(t, err)
	g.use(r).sync(t)
	twin := copyOf(t, b)
	b.do(t, look("the phone"))
	twin.do(t, look("the copy"))
	carried(t, twin, g)
	b.sync(t)
	for range 2 {
		g.sync(t)
	}
	requireSame(t, s, g)
	require.NotContains(t, notes(g), "the copy")
	a.sync(t)
	require.NoError(t, a.ChangeRole(ctx, g.Member(), model.Helper))
	for range 3 {
		for _, p := range []*phone{a, g, b} {
			p.sync(t)
		}
	}
	sameNotes(t, []string{"the phone", "the copy"}, a, b, g)
	requireSame(t, s, a, b, g)
	kept, err := g.vault.Kept(ctx, "given-up")
	require.NoError(t, err)
	require.Nil(t, kept)
}

// newcomerOf is a phone that somebody invited by a file and that has written something.
func newcomerOf(t *testing.T, s *fakeServer, by *phone) *phone {
	t.Helper()
	i, _, err := by.Invite(ctx, model.Helper, model.MemberID{})
	require.NoError(t, err)
	p := newPhone(s, nil, 8)
	p.opts.Wall = by.opts.Wall
	r, err := replica.Join(ctx, p.vault, p.opts, i, replica.Start{Member: "Oak"})
	require.NoError(t, err)
	p.use(r)
	carried(t, by, p)
	p.do(t, look("by the newcomer"))
	return p
}

// The server's history lacks an invitation by which somebody came whose log is here.
// That phone has to be invited again, and what it wrote is there before it comes.
func TestANewcomerOfTheHistoryThatIsGivenUp(t *testing.T) {
	s, _, a, b := pair(t)
	require.NoError(t, a.ChangeRole(ctx, b.Member(), model.Keeper))
	a.sync(t)
	b.sync(t)
	twin := copyOf(t, a)
	c := newcomerOf(t, s, twin)
	carried(t, c, b)
	a.do(t, look("by the phone"))
	a.sync(t)
	want := []string{"by the phone", "by the newcomer"}
	b.sync(t)
	sameNotes(t, want, b)
	b.reopen(t)
	b.sync(t)
	a.sync(t)
	sameNotes(t, want, a, b)

	require.Error(t, c.Sync(ctx, c.server))
	i, _, err := a.Invite(ctx, model.Helper, model.MemberID{})
	require.NoError(t, err)
	a.sync(t)
	require.NoError(t, c.Rejoin(ctx, c.server, i))
	for range 3 {
		for _, p := range []*phone{c, a, b} {
			p.sync(t)
		}
	}
	sameNotes(t, want, a, b, c)
	requireSame(t, s, a, b, c)
}

// The phone that invited gives up its own history, because its copy was at the server
// first. Nobody else has what the newcomer wrote; that phone is lost.
func TestANewcomerOfTheHistoryThatThisPhoneGivesUp(t *testing.T) {
	s, _, a, b := pair(t)
	twin := copyOf(t, a)
	c := newcomerOf(t, s, a)
	carried(t, c, a)
	twin.do(t, look("by the copy"))
	twin.sync(t)
	for range 3 {
		for _, p := range []*phone{a, twin, b} {
			p.sync(t)
		}
	}
	require.NotEqual(t, twin.Device(), a.Device())
	sameNotes(t, []string{"by the copy", "by the newcomer"}, a, b, twin)
	requireSame(t, s, a, b, twin)
}
