package replica_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

func TestAnnounceAgainWhenTheAnswerWasLost(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	a := newPhone(s, c, 1)
	r, err := replica.Found(ctx, a.vault, a.opts, replica.Start{Household: "Birch Row 4", Zone: "Europe/Oslo", Member: "Ash", Setup: s.setupToken})
	require.NoError(t, err)
	a.use(r)
	for _, f := range []fate{requestLost, answerLost, inTrouble} {
		a.line.fates = []fate{f}
		require.Error(t, a.Announce(ctx, a.server))
		a.reopen(t)
	}
	require.NoError(t, a.Announce(ctx, a.server))
	a.sync(t)

	b := invited(t, a, 2, "Elm")
	for _, f := range []fate{requestLost, answerLost, inTrouble} {
		b.line.fates = []fate{f}
		require.Error(t, b.Announce(ctx, b.server))
		b.reopen(t)
	}
	c.pass(3_600_000)
	require.NoError(t, b.Announce(ctx, b.server), "the same phone again, though the invitation is used and has run out")
	b.sync(t)
	b.sync(t)
	a.sync(t)
	requireSame(t, s, a, b)
}

func TestGuessedSetupTokenIsRefused(t *testing.T) {
	c := newClock()
	a := newPhone(newFakeServer(c.now), c, 1)
	r, err := replica.Found(ctx, a.vault, a.opts, replica.Start{Household: "Birch Row 4", Setup: "guessed"})
	require.NoError(t, err)
	a.use(r)
	require.ErrorIs(t, a.Announce(ctx, a.server), errSetup)
	require.ErrorIs(t, a.Sync(ctx, a.server), errSetup)
}

// A founder that is killed before it was announced is announced by the next sync.
func TestSyncAnnouncesTheFounder(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	a := newPhone(s, c, 1)
	_, err := replica.Found(ctx, a.vault, a.opts, replica.Start{Household: "Birch Row 4", Member: "Ash", Setup: s.setupToken})
	require.NoError(t, err)
	a.reopen(t)
	a.sync(t)
	requireSame(t, s, a)
}

func TestInvitationIsForOnePhoneAndAQuarterHour(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	a := founder(t, s, c)
	i, expires, err := a.Invite(ctx, model.Guest, model.MemberID{})
	require.NoError(t, err)
	require.InDelta(t, c.now()+15*60*1000, int64(expires), 100)
	a.sync(t)
	join := func(seed byte) *phone {
		p := newPhone(s, c, seed)
		r, err := replica.Join(ctx, p.vault, p.opts, i, replica.Start{Member: "Elm"})
		require.NoError(t, err)
		return p.use(r)
	}
	first, second := join(2), join(3)
	require.NoError(t, first.Announce(ctx, first.server))
	require.ErrorIs(t, second.Announce(ctx, second.server), errUsed)
	require.ErrorIs(t, second.Sync(ctx, second.server), errUsed)
	require.Equal(t, errUsed.Code, second.Status().Trouble.Code)

	i, _, err = a.Invite(ctx, model.Guest, model.MemberID{})
	require.NoError(t, err)
	a.sync(t)
	late := join(4)
	c.pass(16 * 60 * 1000)
	require.ErrorIs(t, late.Announce(ctx, late.server), errExpired)
	first.sync(t)
	require.Equal(t, model.Guest, first.Role())
}

// TestKilledJoiner: at every step of joining the app may be killed.
func TestKilledJoiner(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	a := founder(t, s, c)
	a.do(t, named("Fern"))
	b := invited(t, a, 2, "Elm")
	require.Zero(t, b.Role())
	b.reopen(t)
	require.Zero(t, b.Role())
	_, err := b.Do(ctx, named("Too early"))
	require.ErrorIs(t, err, oplog.ErrStranger, "the invitation has not been seen yet")

	// It was never announced: the first sync does that.
	b.sync(t)
	require.Equal(t, model.Helper, b.Role())
	require.Positive(t, b.Status().Unsent, "its names")
	b.reopen(t)
	b.sync(t)
	a.sync(t)
	elm := b.Member()
	a.Read(func(book *model.Book) { require.Equal(t, "Elm", book.Members[elm].Name) })
	requireSame(t, s, a, b)
}

// TestNamesAreWrittenOnce: the phone is killed after it wrote its names and before
// it forgot that it should, and is renamed then.
func TestNamesAreWrittenOnce(t *testing.T) {
	c := newClock()
	a := founder(t, newFakeServer(c.now), c)
	b := invited(t, a, 2, "Elm")
	broken := &brokenVault{Vault: b.vault}
	b.vault = broken
	b.reopen(t)
	require.NoError(t, b.Announce(ctx, b.server))
	broken.keep = errors.New("killed")
	require.Error(t, b.Sync(ctx, b.server))
	broken.keep = nil
	b.reopen(t)
	b.do(t, replica.Set(model.KindMember, b.Member(), replica.To(model.MemberName, model.Text("Rowan"))))
	b.sync(t)
	b.sync(t)
	elm := b.Member()
	b.Read(func(book *model.Book) {
		require.Equal(t, "Rowan", book.Members[elm].Name)
		require.Equal(t, "Elm's phone", book.Devices[b.Device()].Name)
	})
}

func TestFurtherPhoneOfAMember(t *testing.T) {
	s, c, a, b := pair(t)
	i, _, err := a.Invite(ctx, model.Helper, b.Member())
	require.NoError(t, err)
	a.sync(t)
	tablet := newPhone(s, c, 9)
	r, err := replica.Join(ctx, tablet.vault, tablet.opts, i, replica.Start{Phone: "Elm's tablet"})
	require.NoError(t, err)
	tablet.use(r)
	tablet.sync(t)
	require.Equal(t, b.Member(), tablet.Member())
	elm := b.Member()
	tablet.Read(func(book *model.Book) { require.Equal(t, "Elm", book.Members[elm].Name) })
	_, _, err = b.Invite(ctx, model.Keeper, model.MemberID{})
	require.ErrorIs(t, err, oplog.ErrNotAllowed, "only keepers invite")
}

func TestVaultIsTakenOnce(t *testing.T) {
	c := newClock()
	p := newPhone(newFakeServer(c.now), c, 1)
	_, err := replica.Open(ctx, p.vault, p.opts)
	require.ErrorIs(t, err, replica.ErrNobody)

	full := &brokenVault{Vault: p.vault, begin: replica.ErrFull}
	_, err = replica.Found(ctx, full, p.opts, replica.Start{Household: "Birch Row 4"})
	require.ErrorIs(t, err, replica.ErrFull)
	_, err = replica.Open(ctx, p.vault, p.opts)
	require.ErrorIs(t, err, replica.ErrNobody, "nothing is left of a set-up that failed")

	r, err := replica.Found(ctx, p.vault, p.opts, replica.Start{Household: "Birch Row 4", Member: "Ash"})
	require.NoError(t, err)
	_, err = replica.Found(ctx, p.vault, p.opts, replica.Start{Household: "Another"})
	require.ErrorIs(t, err, replica.ErrTaken)
	_, err = replica.Join(ctx, p.vault, p.opts, replica.Invitation{Op: model.FactID{Device: model.DeviceID{1}, Seq: 1}, Seed: make([]byte, 32)}, replica.Start{})
	require.ErrorIs(t, err, replica.ErrTaken)
	p.use(r)
	before := p.digest(t)
	p.reopen(t)
	require.Equal(t, before, p.digest(t))
	ash := p.Member()
	p.Read(func(b *model.Book) {
		require.Equal(t, "Birch Row 4", b.Household.Name)
		require.Equal(t, "Ash", b.Members[ash].Name)
	})
}

func TestInvitationText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i := replica.Invitation{
			Household: model.HouseholdID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "household")),
			Seed:      rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "seed"),
			After:     hlc.Stamp(rapid.Uint64().Draw(t, "after")),
		}
		text := i.String()
		got, err := replica.ParseInvitation(text)
		require.NoError(t, err)
		require.Equal(t, i, got)
		cut := rapid.IntRange(0, len(text)-1).Draw(t, "cut")
		_, err = replica.ParseInvitation(text[:cut])
		require.ErrorIs(t, err, replica.ErrLink)
	})
	_, err := replica.ParseInvitation("B" + replica.Invitation{Seed: make([]byte, 32)}.String()[1:])
	require.Equal(t, fault.Code("op_version_unknown"), fault.CodeOf(err), "a link of another version is told from a broken one")
	_, err = replica.ParseInvitation("not a link!")
	require.ErrorIs(t, err, replica.ErrLink)
}

// TestWriteKeepsAllOrNothing: a vault that cannot keep operations leaves the state
// as it was, and the same can be written again.
func TestWriteKeepsAllOrNothing(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	a := founder(t, s, c)
	broken := &brokenVault{Vault: a.vault, addPending: replica.ErrFull}
	a.vault = broken
	a.reopen(t)
	before := a.digest(t)
	_, err := a.Do(ctx, named("Fern"), look("clean"))
	require.ErrorIs(t, err, replica.ErrFull)
	require.Equal(t, before, a.digest(t))

	broken.addPending = nil
	_, err = a.Do(ctx, look("clean"), replica.Seen(&model.Inspection{}))
	require.Error(t, err, "the second cannot be true")
	require.Equal(t, before, a.digest(t))
	a.do(t, named("Fern"), look("clean"))

	broken.seal = replica.ErrFull
	require.ErrorIs(t, a.Sync(ctx, a.server), replica.ErrFull)
	require.Equal(t, "storage_full", string(a.Status().Trouble.Code))
	broken.seal = nil
	a.sync(t)
	a.reopen(t)
	require.Equal(t, "Fern", nameOf(a))
	requireSame(t, s, a)
}

func TestSecondTabIsRefused(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	a := founder(t, s, c)
	tab := &phone{vault: a.vault, opts: a.opts, line: a.line}
	tab.reopen(t)
	a.do(t, look("first tab"))
	_, err := tab.Do(ctx, look("second tab"))
	require.ErrorIs(t, err, replica.ErrTwoWriters)
	require.Empty(t, notes(tab))
	a.sync(t)
	_, err = tab.Do(ctx, look("second tab"))
	require.ErrorIs(t, err, replica.ErrTwoWriters, "signed or not")
	a.do(t, look("goes on"))
	require.NoError(t, tab.Sync(ctx, tab.server), "the other tab may sync")
	a.sync(t)
	tab.reopen(t)
	tab.do(t, look("second tab"))
	require.Equal(t, []string{"first tab", "goes on", "second tab"}, notes(tab))
	tab.sync(t)
	requireSame(t, s, tab)
}

func TestGuestsWriteWhatTheyMay(t *testing.T) {
	c := newClock()
	s := newFakeServer(c.now)
	a := founder(t, s, c)
	i, _, err := a.Invite(ctx, model.Guest, model.MemberID{})
	require.NoError(t, err)
	a.sync(t)
	g := &phone{vault: memvault.New(), opts: a.opts, line: a.line}
	r, err := replica.Join(ctx, g.vault, g.opts, i, replica.Start{Member: "Guest"})
	require.NoError(t, err)
	g.use(r)
	g.sync(t)
	g.do(t, look("seen by a guest"))
	_, err = g.Do(ctx, look("kept by no one"), named("Renamed"))
	require.ErrorIs(t, err, oplog.ErrNotAllowed)
	g.reopen(t)
	require.Equal(t, []string{"seen by a guest"}, notes(g))
	g.sync(t)
	a.sync(t)
	requireSame(t, s, a, g)
}
