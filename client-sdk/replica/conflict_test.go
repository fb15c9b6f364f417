package replica_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
)

func TestChoose(t *testing.T) {
	ref, key := model.Ref{Kind: model.KindPlant, ID: fern.UUID()}, model.FieldKey{Field: model.PlantName}
	for name, other := range map[string]bool{"the other": true, "the one that counts": false} {
		t.Run(name, func(t *testing.T) {
			s, _, a, b := pair(t)
			a.do(t, named("Fern by the door"))
			b.do(t, named("Fern in the bath"))
			for _, p := range []*phone{a, b, a} {
				p.sync(t)
			}
			found := a.Conflicts(ref)
			require.Len(t, found, 1)
			require.Len(t, found[0].Lost, 1)
			chosen := found[0].Now
			if other {
				chosen = found[0].Lost[0]
			}
			require.NoError(t, a.Choose(t.Context(), ref, key, chosen.By))
			a.sync(t)
			b.sync(t)
			requireSame(t, s, a, b)
			for _, p := range []*phone{a, b} {
				require.Equal(t, chosen.Value.Text, nameOf(p))
				require.Empty(t, p.Conflicts(ref))
			}
			require.ErrorIs(t, b.Choose(t.Context(), ref, key, chosen.By), replica.ErrSettled)
			b.do(t, named("Big fern"))
			require.Empty(t, b.Conflicts(ref), "what was settled stays so")
		})
	}
}

// Chosen differently on two phones at the same time, it is a conflict again.
func TestChooseOnTwoPhones(t *testing.T) {
	ref, key := model.Ref{Kind: model.KindPlant, ID: fern.UUID()}, model.FieldKey{Field: model.PlantName}
	s, _, a, b := pair(t)
	a.do(t, named("Fern by the door"))
	b.do(t, named("Fern in the bath"))
	for _, p := range []*phone{a, b, a} {
		p.sync(t)
	}
	found := a.Conflicts(ref)[0]
	require.NoError(t, a.Choose(t.Context(), ref, key, found.Now.By))
	require.NoError(t, b.Choose(t.Context(), ref, key, found.Lost[0].By))
	for _, p := range []*phone{a, b, a} {
		p.sync(t)
	}
	requireSame(t, s, a, b)
	require.Len(t, a.Conflicts(ref), 1)
}
