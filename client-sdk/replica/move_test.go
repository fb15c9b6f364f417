package replica_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
)

// A keeper signs a phone off by its name, so a copy has one, and not that of the phone it
// was made of. Who comes back as somebody new is called as before.
func TestNamesAfterAMove(t *testing.T) {
	s, _, a, b := pair(t)
	b.do(t, replica.Set(model.KindDevice, b.Device(), replica.To(model.DeviceName, model.Text("Pixie (blue)"))))
	b.do(t, replica.Set(model.KindMember, b.Member(), replica.To(model.MemberName, model.Text("Linden"))))
	b.sync(t)
	copied := func(of *phone) *phone {
		twin := copyOf(t, of)
		of.do(t, look("goes on"))
		twin.do(t, look("goes on as well"))
		of.sync(t)
		twin.sync(t)
		return twin
	}
	first := copied(b)
	second := copied(first)
	a.sync(t)
	i, _, err := a.Invite(ctx, model.Helper, model.MemberID{})
	require.NoError(t, err)
	old := b.Device()
	b.do(t, replica.Set(model.KindMember, b.Member(), replica.To(model.MemberName, model.Text("Linden tree"))))
	require.NoError(t, a.Revoke(ctx, old))
	a.sync(t)
	require.NoError(t, b.Rejoin(ctx, b.server, i))
	b.sync(t)
	a.sync(t)
	a.Read(func(book *model.Book) {
		require.Equal(t, "Pixie (blue) (2)", book.Devices[first.Device()].Name)
		require.Equal(t, "Pixie (blue) (3)", book.Devices[second.Device()].Name)
		require.NotEqual(t, old, b.Device())
		require.Equal(t, "Pixie (blue)", book.Devices[b.Device()].Name)
		require.Equal(t, "Linden tree", book.Members[b.Member()].Name, "as the person had said last")
		require.Equal(t, "Linden", book.Members[first.Member()].Name)
	})
	require.NotEqual(t, first.Member(), b.Member())
	first.sync(t)
	second.sync(t)
	requireSame(t, s, a, b, first, second)
}

// A phone whose clock was fast comes back, is restarted with its clock set right before
// it has carried anything over, and goes on after the stamps of what it carries.
func TestAMoveByAClockThatWasFast(t *testing.T) {
	s, _, a, b := pair(t)
	right := b.opts.Wall
	b.opts.Wall = func() int64 { return right() + 3_600_000 }
	b.reopen(t)
	b.do(t, look("an hour fast"))
	i, _, err := a.Invite(ctx, model.Helper, b.Member())
	require.NoError(t, err)
	require.NoError(t, a.Revoke(ctx, b.Device()))
	a.sync(t)
	v := &brokenVault{Vault: b.vault}
	b.vault = v
	b.reopen(t)
	v.addPending = errBroken
	require.Error(t, b.Rejoin(ctx, b.server, i))
	v.addPending, b.opts.Wall = nil, right
	b.reopen(t)
	b.do(t, look("set right"))
	b.sync(t)
	a.sync(t)
	sameNotes(t, []string{"an hour fast", "set right"}, a, b)
	requireSame(t, s, a, b)
}

// A name that is as long as one may be cannot take a number; the copy goes on all the same.
func TestACopyWithALongName(t *testing.T) {
	s, _, a, b := pair(t)
	b.do(t, replica.Set(model.KindDevice, b.Device(), replica.To(model.DeviceName, model.Text(strings.Repeat("x", 200)))))
	b.sync(t)
	twin := copyOf(t, b)
	b.do(t, look("the phone"))
	twin.do(t, look("the copy"))
	b.sync(t)
	twin.sync(t)
	a.sync(t)
	b.sync(t)
	sameNotes(t, []string{"the phone", "the copy"}, a, b, twin)
	requireSame(t, s, a, b, twin)
}
