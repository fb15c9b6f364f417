package agenda_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
)

var drench = model.ProductID{3}

// mixed is a plan of several kinds of steps, counted in days from Monday.
func (h *house) mixed(kinds ...model.PlanStep) *model.Fact {
	h.Products[drench] = &model.Product{ID: drench, Name: "Drench", Means: model.MeansSoilDrench, MinInterval: 14}
	return h.accept(ada, 0, func(p *model.PlanAccepted) {
		p.Basis, p.Steps = model.Computed, kinds
		for i := range kinds {
			kinds[i].Day += monday
		}
	})
}

func (h *house) days(t *testing.T, today int) map[model.TaskKey]int {
	days := map[model.TaskKey]int{}
	for _, task := range h.agenda(today).Open() {
		if task.Step != nil {
			days[task.Key] = task.When().Sub(monday)
		}
	}
	return days
}

func TestAPlanOfSeveralKinds(t *testing.T) {
	h := newHouse(t, "Europe/Berlin")
	why := []model.StepWhy{{Because: 4, Days: 6, TenthsCelsius: 260}}
	h.mixed(
		model.PlanStep{Kind: model.StepTryLeaf, Day: 1, Product: soap},
		model.PlanStep{Kind: model.StepRinse, Day: 3},
		model.PlanStep{Kind: model.StepSpray, Day: 3, Product: soap, Why: why},
		model.PlanStep{Kind: model.StepSoil, Day: 4, Product: drench},
		model.PlanStep{Kind: model.StepLook, Day: 6},
		model.PlanStep{Kind: model.StepSpray, Day: 9, Product: oil},
		model.PlanStep{Kind: model.StepLook, Day: 12},
	)
	try, rinse, soil := planKey(model.RuleTryLeaf, planA, 1), planKey(model.RuleWash, planA, 1), planKey(model.RuleSoil, planA, 1)
	require.Equal(t, map[model.TaskKey]int{try: 1, rinse: 3, step(1): 3, soil: 4, check(1): 6, step(2): 9, check(2): 12}, h.days(t, 0))
	spray := find(t, h.agenda(0), step(1))
	require.Equal(t, agenda.Reason{Because: agenda.PlanSays, Step: &why[0]}, spray.Why[len(spray.Why)-3])
	require.True(t, spray.Projected)
	require.False(t, find(t, h.agenda(0), soil).Projected, "the mix does not wait for the leaves")
	require.Equal(t, drench, find(t, h.agenda(0), soil).Product)

	h.did(ada, 3, &model.Handling{Kind: model.Tried, Plants: []model.PlantID{fern1, fern2, fern3}, Completes: try})
	require.Equal(t, map[model.TaskKey]int{rinse: 5, step(1): 5, soil: 4, check(1): 6, step(2): 11, check(2): 14}, h.days(t, 3), "two days late; the first look follows the mix")
	h.did(ada, 5, &model.Handling{Kind: model.Rinsed, Plants: []model.PlantID{fern1, fern2, fern3}, Completes: rinse})
	h.spray(ada, 5, step(1))
	require.Equal(t, map[model.TaskKey]int{soil: 4, check(1): 7, step(2): 11, check(2): 14}, h.days(t, 5), "what is late moves the look after it, not the leaves")
	require.Equal(t, rinse, h.agenda(5).DoneToday[1].Key)
	require.Empty(t, h.agenda(5).DoneToday[1].Done.Missed)
}

func TestAStepWaitsForTheSeason(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[soap].MaxPerSeason = 2
	h.accept(ada, 0, nil)
	h.spray(bo, -300, model.TaskKey{}, fern2)
	a := h.agenda(0)
	require.Equal(t, monday.Add(1), find(t, a, step(1)).Due)
	second := find(t, a, step(2))
	require.Equal(t, monday.Add(-300+agenda.SeasonDays), second.Due)
	require.Equal(t, agenda.Reason{Because: agenda.SeasonFull, Date: second.Due, Count: 2}, second.Why[len(second.Why)-1])
	require.Equal(t, monday.Add(1+agenda.SeasonDays), find(t, a, step(3)).Due)
}

func TestAStepWaitsUntilThePlantsMayBeTouched(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[oil].ReentryHours = 48
	h.accept(ada, 0, nil)
	by := h.did(bo, 0, &model.Application{Plants: []model.PlantID{fern2}, Product: oil})
	first := find(t, h.agenda(0), step(1))
	require.Equal(t, monday.Add(2), first.Due)
	require.Equal(t, agenda.Reason{Because: agenda.Untouchable, Fact: by, Date: monday.Add(2)}, first.Why[len(first.Why)-1])
	require.Equal(t, monday.Add(1), find(t, h.agenda(4), step(1)).Due, "over, it moves nothing")
}

func TestMatchOfOtherSteps(t *testing.T) {
	h := newHouse(t, "UTC")
	h.mixed(model.PlanStep{Kind: model.StepWipe, Day: 1}, model.PlanStep{Kind: model.StepSoil, Day: 1, Product: drench})
	all := []model.PlantID{fern1, fern2, fern3}
	a := h.agenda(0)
	require.Equal(t, planKey(model.RuleWash, planA, 1), a.Match(&model.Handling{Kind: model.Wiped, Plants: all}))
	require.Zero(t, a.Match(&model.Handling{Kind: model.Rinsed, Plants: all}))
	require.Equal(t, planKey(model.RuleSoil, planA, 1), a.Match(&model.Application{Product: drench, Plants: all}))
}
