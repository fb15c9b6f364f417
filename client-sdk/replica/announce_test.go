package replica_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/fault"
	"leafturn/sync/oplog"
)

// The server has lost all it had. A phone whose invitation has run out long ago opens a
// new set-up link, and the founder's follows by itself.
func TestReturn(t *testing.T) {
	s, c, a, b := pair(t)
	b.do(t, look("before"))
	b.sync(t)
	a.sync(t)
	c.pass(60 * 60 * 1000)
	s.household, s.setupToken = nil, "anew"
	require.Equal(t, errSetup.Code, fault.CodeOf(a.Sync(ctx, a.server)))
	require.Equal(t, oplog.ErrInvitation.Code, fault.CodeOf(b.Sync(ctx, b.server)))
	require.Equal(t, errSetup.Code, fault.CodeOf(b.Return(ctx, b.server, "guessed")))

	require.NoError(t, b.Return(ctx, b.server, "anew"))
	a.do(t, look("after"))
	a.sync(t)
	b.sync(t)
	sameNotes(t, []string{"before", "after"}, a, b)
	requireSame(t, s, a, b)
	require.NoError(t, a.Return(ctx, a.server, "any"), "where the household is known, nothing is asked")
}
