package agenda_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/agenda"
)

// Two members complete the same spray without hearing of each other: one task is
// done, both sprays stand, and a flag says so.
func TestDoneTwice(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	first := h.spray(ada, 1, step(1))
	require.Empty(t, h.agenda(1).Flags)
	second := h.spray(bo, 2, step(1), fern2, fern3, basil)
	a := h.agenda(2)
	require.Len(t, a.DoneToday, 0)
	require.Equal(t, []model.TaskKey{step(1)}, keys(a.DoneLately), "one task is done, by the first of the two")
	require.Equal(t, ada, a.DoneLately[0].Done.First.By)
	require.Equal(t, []agenda.Flag{{
		Key: step(1), ID: step(1).ID(model.HouseholdID{9}), Outbreak: thrips, Product: soap,
		Applications: []*model.Fact{first, second},
		Members:      []model.MemberID{ada, bo},
		Plants:       []model.PlantID{fern1, fern2, fern3, basil},
		Twice:        []model.PlantID{fern2, fern3},
		Next:         monday.Add(9),
	}}, a.Flags)

	next := find(t, a, step(2))
	require.Equal(t, monday.Add(8), next.Due, "the rhythm counts one")
	require.Equal(t, monday.Add(9), next.When(), "but nobody sprays before the flag allows it")
	require.Contains(t, because(next), agenda.DoneTwice)

	h.Products[soap].MinInterval = 12
	require.Equal(t, monday.Add(14), h.agenda(2).Flags[0].Next, "the label asks for more than the plan")
	h.Products[soap].MinInterval = 5

	h.did(bo, 2, &model.Settled{Task: step(1)})
	a = h.agenda(2)
	require.Empty(t, a.Flags)
	require.Equal(t, monday.Add(8), find(t, a, step(2)).When())
}

func TestHowAFlagGoes(t *testing.T) {
	for name, c := range map[string]struct {
		then func(h *house, first, second *model.Fact)
		flag bool
	}{
		"not by itself":                   {func(*house, *model.Fact, *model.Fact) {}, true},
		"settled":                         {func(h *house, _, _ *model.Fact) { h.did(bo, 2, &model.Settled{Task: step(1)}) }, false},
		"another task was settled":        {func(h *house, _, _ *model.Fact) { h.did(bo, 2, &model.Settled{Task: step(2)}) }, true},
		"the settlement was withdrawn":    {func(h *house, _, _ *model.Fact) { h.withdraw(bo, 2, h.did(bo, 2, &model.Settled{Task: step(1)})) }, true},
		"the first was withdrawn":         {func(h *house, first, _ *model.Fact) { h.withdraw(ada, 2, first) }, false},
		"the second was withdrawn":        {func(h *house, _, second *model.Fact) { h.withdraw(ada, 2, second) }, false},
		"a third came, one was withdrawn": {func(h *house, first, _ *model.Fact) { h.spray(bo, 2, step(1)); h.withdraw(ada, 2, first) }, true},
		"settled, then a third came":      {func(h *house, _, _ *model.Fact) { h.did(bo, 2, &model.Settled{Task: step(1)}); h.spray(bo, 2, step(1)) }, true},
		"a look completes it too": {func(h *house, first, _ *model.Fact) {
			h.withdraw(ada, 2, first)
			h.did(bo, 2, &model.TaskCompleted{Task: step(1)})
		}, false},
		"the plan was withdrawn": {func(h *house, _, _ *model.Fact) { h.withdraw(bo, 2, h.Plans(thrips)[0]) }, true},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, "UTC")
			h.accept(ada, 0, nil)
			c.then(h, h.spray(ada, 1, step(1)), h.spray(bo, 1, step(1)))
			require.Equal(t, c.flag, len(h.agenda(2).Flags) == 1)
		})
	}
}

// However many applications complete one task, it is done once, the next step is
// the same one, and taking all but one back leaves no flag.
func TestDoneManyTimes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHouse(t, "UTC")
		h.accept(ada, 0, nil)
		n := rapid.IntRange(2, 6).Draw(rt, "times")
		var sprays []*model.Fact
		for range n {
			by := rapid.SampledFrom([]model.MemberID{ada, bo}).Draw(rt, "by")
			sprays = append(sprays, h.spray(by, rapid.IntRange(1, 4).Draw(rt, "day"), step(1)))
		}
		a := h.agenda(4)
		require.Len(rt, append(a.DoneToday, a.DoneLately...), 1)
		require.Equal(rt, []model.TaskKey{step(2), step(3)}, rule(a, model.RuleSpray))
		require.Len(rt, a.Flags, 1)
		require.ElementsMatch(rt, sprays, a.Flags[0].Applications)
		require.GreaterOrEqual(rt, find(rt, a, step(2)).When(), a.Flags[0].Next)
		for _, f := range sprays[1:] {
			require.Len(rt, h.agenda(4).Flags, 1)
			h.withdraw(ada, 4, f)
		}
		require.Empty(rt, h.agenda(4).Flags)
		h.withdraw(ada, 4, sprays[0])
		require.Equal(rt, []model.TaskKey{step(1), step(2), step(3)}, rule(h.agenda(4), model.RuleSpray))
	})
}

// Both of two applications for one task count for the label's most per season.
func TestBothCountForTheSeason(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[soap].MaxPerSeason = 2
	h.accept(ada, 0, nil)
	h.spray(ada, 1, step(1))
	require.Nil(t, caution(find(t, h.agenda(1), step(2)), agenda.SeasonReached))
	h.spray(bo, 1, step(1), fern2)
	require.Equal(t, 2, caution(find(t, h.agenda(1), step(2)), agenda.SeasonReached).Count)
	h.Plants[fern2].Removed = true
	require.Nil(t, caution(find(t, h.agenda(1), step(2)), agenda.SeasonReached), "the others had it once")
}
