package replica_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

// Who may write what is said in other logs, and logs are read in order of their
// devices' ids: a phone opens whichever of them comes first.
func TestALogWaitsForWhatGaveItsAuthorTheRight(t *testing.T) {
	for name, seeds := range map[string][2]byte{"one order": {2, 3}, "the other": {3, 2}} {
		t.Run(name, func(t *testing.T) {
			c := newClock()
			s := newFakeServer(c.now)
			a := founder(t, s, c)
			b, g := joiner(t, a, seeds[0], "Elm"), joiner(t, a, seeds[1], "Oak")
			keeper := func(by, m *phone) {
				by.do(t, &oplog.Appoint{Member: m.Member(), Role: model.Keeper, Seen: []model.FactID{{Device: m.Device(), Seq: m.Vector()[m.Device()]}}})
				by.sync(t)
				m.sync(t)
			}
			a.sync(t)
			keeper(a, b)
			keeper(b, g)
			g.do(t, replica.Set(model.KindHousehold, g.Household(), replica.To(model.HouseholdName, model.Text("Birch Row 5"))))
			g.sync(t)
			for _, p := range []*phone{a, b, g} {
				p.sync(t)
				before := p.digest(t)
				p.reopen(t)
				require.Equal(t, before, p.digest(t))
			}
		})
	}
}
