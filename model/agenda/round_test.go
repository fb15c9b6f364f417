package agenda_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
)

func TestFirstRoundIsDueAtOnce(t *testing.T) {
	a := newHouse(t, "Europe/Berlin").agenda(3)
	require.Equal(t, []model.TaskKey{roundKey(sill, 1), roundKey(bath, 1)}, keys(a.Today.Tasks))
	r := a.Round(sill)
	require.Equal(t, monday.Add(3), r.Due)
	require.Zero(t, r.Overdue)
	require.Equal(t, agenda.Open, r.State)
	require.Equal(t, []model.PlantID{basil, fern1, fern2, fern3}, r.Plants)
	require.Equal(t, []agenda.Because{agenda.NeverLooked, agenda.RoundEvery}, because(r))
	require.Equal(t, 7, r.Why[1].Days)
	require.Equal(t, r.Key.ID(model.HouseholdID{9}), r.ID)
	require.Same(t, r, a.Task(r.ID))
}

func TestRoundsFollowTheRhythmOfTheirPlace(t *testing.T) {
	h := newHouse(t, "Europe/Berlin")
	for _, p := range []model.PlaceID{sill, bath} {
		h.did(ada, 0, &model.TaskCompleted{Task: roundKey(p, 1)})
	}
	a := h.agenda(0)
	require.Equal(t, monday.Add(7), a.Round(sill).Due)
	require.Equal(t, monday.Add(14), a.Round(bath).Due)
	require.Equal(t, []model.TaskKey{roundKey(sill, 2)}, keys(a.Week.Tasks))
	require.Equal(t, []model.TaskKey{roundKey(bath, 2)}, keys(a.Later.Tasks))
	require.ElementsMatch(t, []model.TaskKey{roundKey(sill, 1), roundKey(bath, 1)}, keys(a.DoneToday))
	require.Equal(t, []model.TaskKey{roundKey(sill, 2)}, keys(h.agenda(6).Tomorrow.Tasks))
	late := h.agenda(9)
	require.Equal(t, 2, late.Round(sill).Overdue)
	require.Len(t, late.DoneToday, 0)
	require.Len(t, h.agenda(7).DoneLately, 2)
	require.Empty(t, late.DoneLately)
}

func TestRoundOfAPlaceWithoutARhythmIsWeekly(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Places[sill].RoundEvery = 0
	h.did(ada, 0, &model.TaskCompleted{Task: roundKey(sill, 1)})
	require.Equal(t, monday.Add(agenda.DefaultRoundEvery), h.agenda(0).Round(sill).Due)
}

func TestChangingTheRhythmMovesTheDateAndKeepsTheTask(t *testing.T) {
	h := newHouse(t, "UTC")
	delete(h.Outbreaks, thrips)
	h.did(ada, 0, &model.TaskCompleted{Task: roundKey(sill, 1)})
	before := h.agenda(1).Round(sill)
	h.Places[sill].RoundEvery = 14
	after := h.agenda(1).Round(sill)
	require.Equal(t, before.ID, after.ID)
	require.Equal(t, before.Due.Add(7), after.Due)
}

func TestPlacesWithoutLivingPlantsHaveNoRound(t *testing.T) {
	for name, c := range map[string]func(*house){
		"nothing ever stood there": func(h *house) { delete(h.Plants, orchid) },
		"taken off the list":       func(h *house) { h.Plants[orchid].Removed = true },
		"thrown out":               func(h *house) { h.did(bo, 0, &model.Handling{Kind: model.ThrownOut, Plants: []model.PlantID{orchid}}) },
		"moved away":               func(h *house) { h.Plants[orchid].Place = sill },
		"the place is gone":        func(h *house) { h.Places[bath].Removed = true },
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, "UTC")
			require.NotNil(t, h.agenda(0).Round(bath))
			c(h)
			require.Nil(t, h.agenda(0).Round(bath))
			require.NotNil(t, h.agenda(0).Round(sill))
		})
	}
}

// A round that one member began can be taken up by another: who was looked at is
// known, and looks of the round before are not among them.
func TestRoundKnowsWhoWasLookedAt(t *testing.T) {
	h := newHouse(t, "UTC")
	look := func(by model.MemberID, day int, p model.PlantID, n uint32, last bool) *model.Fact {
		x := &model.Inspection{Plant: p, Round: roundKey(sill, n)}
		if last {
			x.Completes = x.Round
		}
		return h.did(by, day, x)
	}
	look(ada, 0, fern1, 1, false)
	look(ada, 0, fern2, 1, true)
	look(ada, 7, fern1, 2, false)
	look(bo, 7, basil, 2, false)
	look(bo, 7, basil, 2, false)
	wrong := look(bo, 7, fern3, 2, false)
	require.Equal(t, []model.PlantID{fern1, fern3, basil}, h.agenda(7).Round(sill).Looked)
	h.withdraw(bo, 7, wrong)
	require.Equal(t, []model.PlantID{fern1, basil}, h.agenda(7).Round(sill).Looked)
}

func TestTwoMembersCompleteOneRound(t *testing.T) {
	h := newHouse(t, "UTC")
	h.did(bo, 1, &model.Inspection{Plant: orchid, Completes: roundKey(bath, 1)})
	h.did(ada, 0, &model.Inspection{Plant: orchid, Completes: roundKey(bath, 1)})
	a := h.agenda(1)
	require.Equal(t, roundKey(bath, 2), a.Round(bath).Key)
	require.Equal(t, monday.Add(14), a.Round(bath).Due, "the first completion sets the rhythm, though it was written later")
	require.Empty(t, a.Flags, "to look twice does no harm")
	done := a.Task(roundKey(bath, 1).ID(model.HouseholdID{9}))
	require.Equal(t, agenda.Done, done.State)
	require.Equal(t, ada, done.Done.First.By)
	require.Len(t, done.Done.All, 2)
}

func TestTheLastNumberHasNoSuccessor(t *testing.T) {
	h := newHouse(t, "UTC")
	h.did(ada, 0, &model.TaskCompleted{Task: roundKey(sill, math.MaxUint32)})
	require.Equal(t, roundKey(sill, 1), h.agenda(0).Round(sill).Key)
}

func TestClaimsExpire(t *testing.T) {
	h := newHouse(t, "UTC")
	k := roundKey(sill, 1)
	claim := func(by model.MemberID, day int, until int) *model.Fact {
		return h.did(by, day, &model.TaskClaimed{Task: k, Until: h.at(until)})
	}
	require.Equal(t, agenda.Open, h.agenda(0).Round(sill).State)
	claim(ada, 0, 2)
	bos := claim(bo, 0, 2)
	require.Equal(t, bo, h.agenda(0).Round(sill).Claims[0].By, "he may have taken it over")
	claim(ada, 0, 1)
	r := h.agenda(0).Round(sill)
	require.Equal(t, agenda.Claimed, r.State)
	require.Equal(t, []model.MemberID{ada, bo}, []model.MemberID{r.Claims[0].By, r.Claims[1].By}, "the last word first, each member once")
	require.Equal(t, h.at(1), r.Claims[0].Until)
	r = h.agenda(1).Round(sill)
	require.Equal(t, bo, r.Claims[0].By)
	require.Len(t, r.Claims, 1)
	h.withdraw(bo, 1, bos)
	require.Equal(t, agenda.Open, h.agenda(1).Round(sill).State)
}

func TestADoneTaskIgnoresClaims(t *testing.T) {
	h := newHouse(t, "UTC")
	h.did(ada, 0, &model.TaskClaimed{Task: roundKey(sill, 1), Until: h.at(9)})
	h.did(bo, 0, &model.TaskCompleted{Task: roundKey(sill, 1)})
	a := h.agenda(0)
	require.Equal(t, agenda.Open, a.Round(sill).State)
	require.Equal(t, agenda.Done, a.DoneToday[0].State)
	require.Empty(t, a.DoneToday[0].Claims)
}

func TestPuttingOff(t *testing.T) {
	h := newHouse(t, "UTC")
	k := roundKey(sill, 1)
	h.did(ada, 0, &model.TaskPutOff{Task: k, Until: monday.Add(5), Reason: model.NoTime})
	last := h.did(bo, 1, &model.TaskPutOff{Task: k, Until: monday.Add(3), Reason: model.TooHot})
	r := h.agenda(1).Round(sill)
	require.Equal(t, agenda.PutOff, r.State)
	require.Equal(t, last, r.Delay)
	require.Equal(t, monday.Add(3), r.NotBefore)
	require.Equal(t, monday.Add(3), r.When())
	require.Equal(t, agenda.Reason{Because: agenda.WasPutOff, Fact: last, Date: monday.Add(3), PutOff: model.TooHot}, r.Why[len(r.Why)-1])
	require.Equal(t, []model.TaskKey{k}, keys(h.agenda(2).Tomorrow.Tasks))
	r = h.agenda(3).Round(sill)
	require.Equal(t, agenda.Open, r.State, "its day has come")
	h.withdraw(bo, 3, last)
	require.Equal(t, monday.Add(5), h.agenda(3).Round(sill).NotBefore, "the one before counts again")
}
