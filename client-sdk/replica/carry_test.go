package replica_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/exchange"
)

func carry(t tester, from, to *phone) {
	t.Helper()
	var file bytes.Buffer
	require.NoError(t, from.HandOver(ctx, &file))
	refused, err := to.TakeOver(ctx, &file)
	require.NoError(t, err)
	require.Empty(t, refused)
}

func TestPhonesAgreeByFiles(t *testing.T) {
	_, _, a, b := pair(t)
	a.do(t, look("by a"))
	b.do(t, look("by b"))
	carry(t, a, b)
	carry(t, b, a)
	require.Equal(t, a.digest(t), b.digest(t))
	a.reopen(t)
	b.reopen(t)
	require.Equal(t, a.digest(t), b.digest(t))
	require.NotZero(t, a.Status().Unsent, "the server has not heard of it")
	a.sync(t)
	require.Zero(t, a.Status().Unsent)
}

// A phone joins without ever seeing the server: the invitation comes by link, the
// household by file.
func TestJoiningByFile(t *testing.T) {
	_, c, a, _ := pair(t)
	i, _, err := a.Invite(ctx, model.Guest, model.MemberID{})
	require.NoError(t, err)
	n := newPhone(a.line.server, c, 9)
	right := n.opts.Wall
	n.opts.Wall = func() int64 { return right() + 3_600_000 } // an hour fast, until somebody sets it right
	r, err := replica.Join(ctx, n.vault, n.opts, i, replica.Start{Member: "Oak", Phone: "Oak's phone"})
	require.NoError(t, err)
	n.use(r)
	require.Zero(t, n.Role())
	n.opts.Wall = right
	n.reopen(t) // its clock has not seen the stamp of the join
	carry(t, a, n)
	require.Equal(t, model.Guest, n.Role())
	n.do(t, look("by the newcomer"))
	before := n.digest(t)
	n.reopen(t)
	require.Equal(t, before, n.digest(t))
	carry(t, n, a)
	require.Equal(t, n.digest(t), a.digest(t))
}

func TestADamagedFileIsNamed(t *testing.T) {
	_, _, a, b := pair(t)
	a.do(t, look("by a"))
	var file bytes.Buffer
	require.NoError(t, a.HandOver(ctx, &file))
	_, err := b.TakeOver(ctx, bytes.NewReader(file.Bytes()[:file.Len()-1]))
	require.ErrorIs(t, err, exchange.ErrFileCut)
	carry(t, a, b)
	require.Equal(t, a.digest(t), b.digest(t))
}
