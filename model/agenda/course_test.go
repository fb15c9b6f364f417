package agenda_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/dose"
)

func TestACourseFromFindingToEnd(t *testing.T) {
	h := newHouse(t, "Europe/Berlin")
	h.did(bo, 0, &model.Inspection{Plant: fern2})
	found := h.did(ada, 0, &model.Inspection{Plant: fern1, Findings: []model.Finding{{Part: model.Underside, Signs: model.SilveryPatches}}})
	require.Equal(t, []agenda.Waiting{{Outbreak: thrips, Wait: agenda.NoPlan}}, h.agenda(0).Waiting)

	accepted := h.accept(ada, 0, nil)
	a := h.agenda(0)
	require.Empty(t, a.Waiting)
	require.Equal(t, []model.TaskKey{step(1)}, keys(a.Tomorrow.Tasks))
	first := find(t, a, step(1))
	require.Equal(t, monday.Add(1), first.Due)
	require.Equal(t, []model.PlantID{fern1, fern2, fern3}, first.Plants)
	require.Equal(t, []model.PlaceID{sill}, first.Places)
	require.Equal(t, soap, first.Product)
	require.Equal(t, thrips, first.Outbreak)
	require.Equal(t, planA, first.Plan.Plan)
	require.Equal(t, []agenda.Reason{
		{Because: agenda.WasFound, Fact: found, Date: monday},
		{Because: agenda.OutbreakOpened, Date: monday},
		{Because: agenda.PlanAccepted, Fact: accepted, Date: monday, Basis: model.CommonPractice},
		{Because: agenda.FirstDay, Date: monday.Add(1)},
	}, first.Why)
	require.Equal(t, dose.ToMix, first.Mix.Kind)
	require.Equal(t, "6", first.Mix.Product.Decimal()) // 3 plants x 100 ml at 20 ml per litre

	h.spray(bo, 2, step(1)) // a day late
	a = h.agenda(2)
	require.Equal(t, []model.TaskKey{step(1)}, keys(a.DoneToday))
	require.Equal(t, bo, a.DoneToday[0].Done.First.By)
	require.Equal(t, monday.Add(9), find(t, a, step(2)).Due)
	require.Equal(t, monday.Add(5), find(t, a, check(1)).Due)
	require.Contains(t, because(find(t, a, check(1))), agenda.Treated)

	h.did(ada, 5, &model.Inspection{Plant: fern3, Completes: check(1)})
	require.Equal(t, []model.TaskKey{check(2), check(3)}, rule(h.agenda(5), model.RuleCheck))
	require.True(t, find(t, h.agenda(5), check(2)).Projected)
	for n := uint32(2); n <= 3; n++ {
		h.spray(ada, int(n)*7, step(n))
	}
	a = h.agenda(22)
	require.Empty(t, rule(a, model.RuleSpray))
	require.Equal(t, []model.TaskKey{check(2), check(3)}, rule(a, model.RuleCheck))
	h.did(ada, 24, &model.Inspection{Plant: fern3, Completes: check(3)})
	a = h.agenda(24)
	require.Empty(t, rule(a, model.RuleCheck), "the later look answers for the one before")
	require.Equal(t, []agenda.Waiting{{Outbreak: thrips, Wait: agenda.CourseOver}}, a.Waiting)
	h.Outbreaks[thrips].Closed = monday.Add(24)
	require.Empty(t, h.agenda(24).Waiting)
}

// The finding that led to a plan is the last one before it that stands, on one of
// its plants.
func TestWhyAPlanWasMade(t *testing.T) {
	h := newHouse(t, "UTC")
	look := func(day int, p model.PlantID, found ...model.Finding) *model.Fact {
		return h.did(ada, day, &model.Inspection{Plant: p, Findings: found})
	}
	found := model.Finding{Part: model.Underside}
	look(-9, fern1, found)
	last := look(-2, fern2, found)
	h.withdraw(ada, 0, look(-1, fern3, found))
	look(-1, basil, found)
	look(-1, fern2)
	h.accept(ada, 0, nil)
	look(1, fern1, found)
	require.Equal(t, agenda.Reason{Because: agenda.WasFound, Fact: last, Date: monday.Add(-2)}, find(t, h.agenda(1), step(1)).Why[0])
}

func TestLaterStepsAreProjected(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	due := func(day int) (dates []int, projected []bool) {
		a := h.agenda(day)
		for n := uint32(1); n <= 3; n++ {
			dates = append(dates, find(t, a, step(n)).When().Sub(monday))
			projected = append(projected, find(t, a, step(n)).Projected)
		}
		return dates, projected
	}
	dates, projected := due(0)
	require.Equal(t, []int{1, 8, 15}, dates)
	require.Equal(t, []bool{false, true, true}, projected)
	dates, _ = due(4)
	require.Equal(t, []int{1, 11, 18}, dates, "the late step cannot be done before today")
	require.Equal(t, 3, find(t, h.agenda(4), step(1)).Overdue)
	h.did(ada, 4, &model.TaskPutOff{Task: step(1), Until: monday.Add(6), Reason: model.PlantDry})
	dates, _ = due(4)
	require.Equal(t, []int{6, 13, 20}, dates)
	h.Products[soap].MinInterval = 12
	dates, _ = due(4)
	require.Equal(t, []int{6, 18, 30}, dates, "the label asks for more than the plan")
}

// Everything that is applied counts for the label, whether a task asked for it or
// not, and whoever did it.
func TestTheLabelCountsEveryApplication(t *testing.T) {
	for name, c := range map[string]struct {
		last  func(*house)
		due   int
		moved bool
	}{
		"nothing else":               {func(*house) {}, 8, false},
		"without a task, one plant":  {func(h *house) { h.spray(bo, 6, model.TaskKey{}, fern2) }, 11, true},
		"long enough ago":            {func(h *house) { h.spray(bo, 2, model.TaskKey{}, fern2) }, 8, false},
		"another plant":              {func(h *house) { h.spray(bo, 6, model.TaskKey{}, basil) }, 8, false},
		"for another plan":           {func(h *house) { h.spray(bo, 6, planKey(model.RuleSpray, planB, 1), fern2) }, 11, true},
		"withdrawn":                  {func(h *house) { h.withdraw(bo, 6, h.spray(bo, 6, model.TaskKey{}, fern2)) }, 8, false},
		"a plant that is gone since": {func(h *house) { h.spray(bo, 6, model.TaskKey{}, fern2); h.Plants[fern2].Removed = true }, 8, false},
		"no interval on the label":   {func(h *house) { h.spray(bo, 6, model.TaskKey{}, fern2); h.Products[soap].MinInterval = 0 }, 8, false},
		"another product": {func(h *house) {
			h.Products[oil].MinInterval = 5
			h.did(bo, 6, &model.Application{Plants: []model.PlantID{fern2}, Product: oil})
		}, 8, false},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, "UTC")
			h.accept(ada, 0, nil)
			h.spray(ada, 1, step(1))
			c.last(h)
			next := find(t, h.agenda(6), step(2))
			require.Equal(t, monday.Add(c.due), next.Due)
			if c.moved {
				require.Equal(t, agenda.LabelInterval, next.Why[len(next.Why)-1].Because)
				require.Equal(t, 5, next.Why[len(next.Why)-1].Days)
			} else {
				require.NotContains(t, because(next), agenda.LabelInterval)
			}
		})
	}
}

func TestAWithdrawnCompletionReopensTheSameTask(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	before := find(t, h.agenda(1), step(1))
	sprayed := h.spray(ada, 1, step(1))
	require.NotContains(t, rule(h.agenda(1), model.RuleSpray), step(1))
	undone := h.withdraw(ada, 1, sprayed)
	after := find(t, h.agenda(1), step(1))
	require.Equal(t, before, after)
	require.Empty(t, h.agenda(1).DoneToday)
	require.True(t, find(t, h.agenda(1), check(1)).Projected)
	h.withdraw(ada, 1, undone)
	require.NotContains(t, rule(h.agenda(1), model.RuleSpray), step(1), "the withdrawal was withdrawn")
}

// Two members accept different plans without hearing of each other: the one
// written last rules, the other is shown, and its sprays still count.
func TestThePlanAcceptedLastRules(t *testing.T) {
	h := newHouse(t, "UTC")
	old := h.accept(ada, 0, nil)
	h.spray(ada, 1, step(1))
	second := func(p *model.PlanAccepted) { p.Plan, p.Steps = planB, model.Rhythm(soap, monday.Add(3), 7, 3, 3) }
	ruling := h.accept(bo, 1, second)
	a := h.agenda(1)
	require.Equal(t, []model.TaskKey{planKey(model.RuleSpray, planB, 1), planKey(model.RuleSpray, planB, 2), planKey(model.RuleSpray, planB, 3)}, rule(a, model.RuleSpray))
	require.NotContains(t, rule(a, model.RuleCheck), check(1))
	require.Equal(t, []agenda.Superseded{{Accepted: old, By: ruling}}, a.Superseded)
	require.Equal(t, []model.TaskKey{step(1)}, keys(a.DoneToday), "what was done is not forgotten")
	next := find(t, a, planKey(model.RuleSpray, planB, 1))
	require.Equal(t, monday.Add(6), next.Due, "five days after the spray of the other plan")
	require.Equal(t, ada, caution(next, agenda.SprayedLately).Fact.By)

	h.withdraw(bo, 1, ruling)
	a = h.agenda(1)
	require.Equal(t, []model.TaskKey{step(2), step(3)}, rule(a, model.RuleSpray))
	require.Empty(t, a.Superseded)
	h.accept(ada, 2, func(p *model.PlanAccepted) { p.Steps = model.Rhythm(soap, monday.Add(1), 10, 3, 3) })
	a = h.agenda(2)
	require.Equal(t, monday.Add(11), find(t, a, step(2)).Due, "accepted again with another rhythm, the plan keeps its steps")
	require.Empty(t, a.Superseded)
}

func TestWhatEndsACourse(t *testing.T) {
	for name, c := range map[string]struct {
		end  func(*house)
		wait []agenda.Waiting
	}{
		"closed":            {func(h *house) { h.Outbreaks[thrips].Closed = monday.Add(2) }, nil},
		"outbreak not here": {func(h *house) { delete(h.Outbreaks, thrips) }, nil},
		"all plants removed": {func(h *house) {
			h.Plants[fern1].Removed, h.Plants[fern2].Removed, h.Plants[fern3].Removed = true, true, true
		}, []agenda.Waiting{{thrips, agenda.NoPlants}}},
		"all thrown out": {func(h *house) {
			h.did(ada, 1, &model.Handling{Kind: model.ThrownOut, Plants: []model.PlantID{fern1, fern2, fern3}})
		}, []agenda.Waiting{{thrips, agenda.NoPlants}}},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, "UTC")
			h.accept(ada, 0, func(p *model.PlanAccepted) { p.Isolate = true })
			h.spray(ada, 1, step(1))
			c.end(h)
			a := h.agenda(2)
			for _, r := range []model.Rule{model.RuleSpray, model.RuleCheck, model.RuleIsolate} {
				require.Empty(t, rule(a, r))
			}
			require.Equal(t, c.wait, a.Waiting)
			require.Equal(t, []model.TaskKey{step(1)}, keys(a.DoneLately))
		})
	}
}

func TestPlantsThatAreGoneDropOut(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	before := find(t, h.agenda(1), step(1))
	h.Plants[fern1].Removed = true
	after := find(t, h.agenda(1), step(1))
	require.Equal(t, before.ID, after.ID)
	require.Equal(t, []model.PlantID{fern2, fern3}, after.Plants)
	require.Equal(t, "4", after.Mix.Product.Decimal())
}

func TestIsolation(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	require.Empty(t, rule(h.agenda(0), model.RuleIsolate), "not part of this plan")
	h.accept(ada, 0, func(p *model.PlanAccepted) { p.Isolate = true })
	k := planKey(model.RuleIsolate, planA, 1)
	require.Equal(t, []model.PlantID{fern1, fern2, fern3}, find(t, h.agenda(0), k).Plants)
	require.Equal(t, monday, find(t, h.agenda(2), k).Due)
	require.Equal(t, 2, find(t, h.agenda(2), k).Overdue)
	apart := func(day int, kind model.HandlingKind, completes model.TaskKey, plants ...model.PlantID) *model.Fact {
		return h.did(bo, day, &model.Handling{Kind: kind, Plants: plants, Completes: completes})
	}
	apart(0, model.Isolated, model.TaskKey{}, fern1, fern2)
	require.Equal(t, []model.PlantID{fern3}, find(t, h.agenda(0), k).Plants)
	apart(1, model.Released, model.TaskKey{}, fern2)
	require.Equal(t, []model.PlantID{fern2, fern3}, find(t, h.agenda(1), k).Plants)
	done := apart(1, model.Isolated, k, fern2, fern3)
	require.Empty(t, rule(h.agenda(1), model.RuleIsolate))
	require.Equal(t, []model.PlantID{fern2, fern3}, h.agenda(1).DoneToday[0].Plants)
	apart(3, model.Released, model.TaskKey{}, fern1, fern2, fern3)
	require.Empty(t, rule(h.agenda(3), model.RuleIsolate), "done is done")
	h.withdraw(bo, 3, done)
	require.Equal(t, k, find(t, h.agenda(3), k).Key)
}

func TestAStepKnowsWhichPlantsItMissed(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	h.spray(ada, 1, step(1), fern1, fern2)
	done := h.agenda(1).DoneToday[0]
	require.Equal(t, []model.PlantID{fern1, fern2}, done.Plants)
	require.Equal(t, []model.PlantID{fern3}, done.Done.Missed)
	require.Equal(t, soap, done.Product)

	h.did(ada, 8, &model.TaskCompleted{Task: step(2)})
	done = h.agenda(8).DoneToday[0]
	require.Equal(t, []model.PlantID{fern1, fern2, fern3}, done.Plants)
	require.Empty(t, done.Done.Missed, "nobody said which plants")
}

func TestStepsBeyondThePlanCompleteNothing(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	h.spray(ada, 1, step(9))
	require.Equal(t, []model.TaskKey{step(1), step(2), step(3)}, rule(h.agenda(1), model.RuleSpray))
}

func TestAPlanWithoutLooksHasNone(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, func(p *model.PlanAccepted) { p.Steps = model.Rhythm(soap, monday.Add(1), 7, 3, 0) })
	h.spray(ada, 1, step(1))
	require.Empty(t, rule(h.agenda(1), model.RuleCheck))
}

func TestBatchesShareOneMix(t *testing.T) {
	h := newHouse(t, "UTC")
	other := model.OutbreakID{2}
	h.Outbreaks[other] = &model.Outbreak{ID: other, Pest: model.PestAphid}
	h.accept(ada, 0, func(p *model.PlanAccepted) { p.Plants = []model.PlantID{fern1, fern2} })
	h.accept(bo, 0, func(p *model.PlanAccepted) {
		p.Plan, p.Outbreak, p.Plants = planB, other, []model.PlantID{fern2, basil, orchid}
		p.Steps = model.Rhythm(soap, monday, 7, 3, 3)
	})
	a := h.agenda(1)
	require.Len(t, a.Today.Batches, 2)
	onSill, inBath := a.Today.Batches[0], a.Today.Batches[1]
	require.Equal(t, sill, onSill.Place)
	require.Equal(t, []model.TaskKey{planKey(model.RuleSpray, planB, 1), step(1)}, keys(onSill.Tasks), "the late one and today's are mixed together")
	require.Equal(t, []model.PlantID{basil, fern1, fern2}, onSill.Plants, "a plant of both outbreaks is sprayed once")
	require.Equal(t, "6", onSill.Mix.Product.Decimal())
	require.Equal(t, []model.PlantID{orchid}, inBath.Plants)
	require.Equal(t, "2", inBath.Mix.Product.Decimal())
	require.Empty(t, a.Tomorrow.Batches)
}
