package agenda_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
)

func kinds(ws []agenda.Warning) []agenda.WarningKind {
	all := []agenda.WarningKind{}
	for _, w := range ws {
		all = append(all, w.Kind)
	}
	return all
}

func (h *house) guard(day int, p model.ProductID, plants ...model.PlantID) []agenda.Warning {
	return agenda.CheckApplication(h.Book, ada, p, plants, h.at(day), h.zone)
}

func TestGuard(t *testing.T) {
	type kindList = []agenda.WarningKind
	for name, c := range map[string]struct {
		before func(*house)
		day    int
		with   model.ProductID
		on     model.PlantID
		want   kindList
	}{
		"nothing speaks against it":      {nil, 3, soap, fern1, kindList{agenda.NotAbove}},
		"sprayed four days ago":          {func(h *house) { h.spray(bo, 0, model.TaskKey{}) }, 4, soap, fern1, kindList{agenda.WithinInterval, agenda.NotAbove}},
		"sprayed five days ago":          {func(h *house) { h.spray(bo, 0, model.TaskKey{}) }, 5, soap, fern1, kindList{agenda.NotAbove}},
		"another plant was sprayed":      {func(h *house) { h.spray(bo, 2, model.TaskKey{}, fern2) }, 3, soap, fern1, kindList{agenda.NotAbove}},
		"that spray was withdrawn":       {func(h *house) { h.withdraw(bo, 2, h.spray(bo, 2, model.TaskKey{})) }, 3, soap, fern1, kindList{agenda.NotAbove}},
		"sprayed this morning":           {func(h *house) { h.spray(bo, 3, model.TaskKey{}) }, 3, oil, fern1, kindList{agenda.TouchedTooEarly}},
		"the label's interval not known": {func(h *house) { h.did(bo, 0, &model.Application{Plants: []model.PlantID{fern1}, Product: oil}) }, 6, oil, fern1, kindList{agenda.WithinHabit}},
		"a week ago, interval not known": {func(h *house) { h.did(bo, 0, &model.Application{Plants: []model.PlantID{fern1}, Product: oil}) }, 7, oil, fern1, kindList{}},
		"eaten":                          {nil, 3, oil, basil, kindList{agenda.NotForFood}},
		"eaten, but on the label":        {func(h *house) { h.Products[oil].EdibleAllowed = true }, 3, oil, basil, kindList{}},
		"sensitive":                      {nil, 3, oil, orchid, kindList{agenda.TryOneLeaf}},
		"rinsing harms nobody": {func(h *house) {
			h.Products[oil].Means = model.MeansWater
			h.did(bo, 3, &model.Application{Plants: []model.PlantID{basil}, Product: oil})
		}, 3, oil, basil, kindList{}},
		"not on the shelf": {nil, 3, model.ProductID{7}, fern1, kindList{agenda.LabelNotEntered}},
		"gone":             {func(h *house) { h.did(bo, 0, &model.Handling{Kind: model.ThrownOut, Plants: []model.PlantID{fern1}}) }, 3, oil, fern1, kindList{agenda.PlantNotThere}},
		"unknown here":     {nil, 3, oil, model.PlantID{77}, kindList{agenda.PlantNotThere}},
		"as often as the label allows": {func(h *house) {
			for day := -360; day < -354; day++ {
				h.spray(bo, day, model.TaskKey{}, fern1)
			}
		}, 4, soap, fern1, kindList{agenda.MostPerSeason, agenda.NotAbove}},
		"the first of them is a year ago": {func(h *house) {
			for day := -360; day < -354; day++ {
				h.spray(bo, day, model.TaskKey{}, fern1)
			}
		}, 5, soap, fern1, kindList{agenda.NotAbove}},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, "America/New_York")
			if c.before != nil {
				c.before(h)
			}
			require.Equal(t, c.want, kinds(h.guard(c.day, c.with, c.on)))
		})
	}
}

func TestGuardNamesWhoAndWhen(t *testing.T) {
	h := newHouse(t, "UTC")
	h.spray(bo, 1, model.TaskKey{}, fern1)
	last := h.spray(ada, 3, model.TaskKey{}, fern1, fern2)
	ws := h.guard(3, soap, fern2, fern1, fern3)
	require.Equal(t, agenda.Warning{Kind: agenda.WithinInterval, Plants: []model.PlantID{fern1, fern2}, Fact: last, Date: monday.Add(8), Days: 5}, ws[0])
	require.Equal(t, agenda.Warning{Kind: agenda.TouchedTooEarly, Plants: []model.PlantID{fern2, fern1}, Fact: last, Until: last.At + 4*3600_000}, ws[1])
	require.Equal(t, agenda.Warning{Kind: agenda.NotAbove, Celsius: 30}, ws[2])
}

func TestCautions(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, func(p *model.PlanAccepted) { p.Plants = []model.PlantID{fern1, basil, orchid} })
	h.did(ada, -30, &model.Handling{Kind: model.WentOut, Plants: []model.PlantID{fern1}})
	of := func(h *house, day int) []agenda.CautionKind {
		var all []agenda.CautionKind
		for _, c := range find(t, h.agenda(day), step(1)).Cautions {
			all = append(all, c.Kind)
		}
		return all
	}
	require.Equal(t, []agenda.CautionKind{agenda.LabelFirst, agenda.EdibleNotOnLabel, agenda.GlovesAndAir, agenda.ChildrenAndPets,
		agenda.HotOrSunny, agenda.OneLeafFirst, agenda.BeesIfOutdoors}, of(h, 0))
	task := find(t, h.agenda(0), step(1))
	require.Equal(t, []model.PlantID{basil}, caution(task, agenda.EdibleNotOnLabel).Plants)
	require.Equal(t, []model.PlantID{orchid}, caution(task, agenda.OneLeafFirst).Plants)
	require.Equal(t, []model.PlantID{fern1}, caution(task, agenda.BeesIfOutdoors).Plants)
	require.Equal(t, 30, caution(task, agenda.HotOrSunny).Celsius)

	*h.Products[soap] = model.Product{ID: soap, Means: model.MeansSystemicSoil}
	require.Equal(t, []agenda.CautionKind{agenda.LabelFirst, agenda.RateNotEntered, agenda.IntervalNotKnown, agenda.EdibleNotOnLabel,
		agenda.GlovesAndAir, agenda.ChildrenAndPets, agenda.OnDryMix, agenda.ThenWaterIn, agenda.OneLeafFirst, agenda.BeesIfOutdoors}, of(h, 0), "nothing is sprayed")
	h.Products[soap].Means = model.MeansWater
	require.Equal(t, []agenda.CautionKind{agenda.LabelFirst}, of(h, 0))
}

// A re-entry time that runs is shown on every task that touches the plants, until
// it has run out, and not on one that is for a later day.
func TestReentryOnTasks(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	h.Products[soap].ReentryHours = 24
	f := h.spray(ada, 0, model.TaskKey{}, fern2)
	on := func(day int, k model.TaskKey) *agenda.Caution {
		return caution(find(t, h.agenda(day), k), agenda.ReentryRunning)
	}
	require.Equal(t, &agenda.Caution{Kind: agenda.ReentryRunning, Plants: []model.PlantID{fern2}, Until: f.At + 24*3600_000, Fact: f}, on(0, roundKey(sill, 1)))
	require.Nil(t, on(0, roundKey(bath, 1)))
	require.Nil(t, on(0, step(2)), "due when it has run out")
	require.Nil(t, on(2, roundKey(sill, 1)))
}

func TestMatch(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, func(p *model.PlanAccepted) { p.Isolate = true })
	a := h.agenda(0)
	all := []model.PlantID{fern3, fern2, fern1, basil}
	for name, c := range map[string]struct {
		body model.Body
		want model.TaskKey
	}{
		"all its plants and one more": {&model.Application{Plants: all, Product: soap}, step(1)},
		"not all of them":             {&model.Application{Plants: all[:2], Product: soap}, model.TaskKey{}},
		"another product":             {&model.Application{Plants: all, Product: oil}, model.TaskKey{}},
		"all apart":                   {&model.Handling{Kind: model.Isolated, Plants: all}, planKey(model.RuleIsolate, planA, 1)},
		"rinsed":                      {&model.Handling{Kind: model.Rinsed, Plants: all}, model.TaskKey{}},
		"a look":                      {&model.Inspection{Plant: fern1}, model.TaskKey{}},
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, c.want, a.Match(c.body)) })
	}
}

func TestPreview(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[soap].StockMilli, h.Products[soap].StockAt = 19_000, h.at(-50) // said after the sprays of fern2; the one of fern1 took 2 ml
	h.spray(bo, -1, model.TaskKey{}, fern1)
	for range 3 {
		h.spray(bo, -100, model.TaskKey{}, fern2)
	}
	plan := &model.PlanAccepted{Plan: planB, Outbreak: thrips, Plants: []model.PlantID{fern1, fern2, fern3},
		Isolate: true, Basis: model.CommonPractice, Steps: model.Rhythm(soap, monday.Add(1), 4, 3, 2)}
	facts := h.Len()
	v := agenda.PreviewPlan(h.Book, plan, h.at(0), h.zone)
	require.Equal(t, facts, h.Len())
	key := func(r model.Rule, n uint32) model.TaskKey { return planKey(r, planB, n) }
	require.Equal(t, []model.TaskKey{key(model.RuleIsolate, 1), key(model.RuleSpray, 1), key(model.RuleCheck, 1),
		key(model.RuleSpray, 2), key(model.RuleCheck, 2), key(model.RuleSpray, 3), key(model.RuleCheck, 3)}, keys(v.Tasks))
	var days []int
	for _, task := range v.Tasks {
		days = append(days, task.When().Sub(monday))
	}
	require.Equal(t, []int{0, 4, 6, 9, 11, 14, 16}, days, "five days after yesterday's spray, then as often as the label allows")
	require.Len(t, v.Needs, 1)
	require.Equal(t, 3, v.Needs[0].Applications)
	require.Equal(t, "6", v.Needs[0].Each.Product.Decimal())
	require.Equal(t, "18", v.Needs[0].Total.Product.Decimal())
	require.Equal(t, []agenda.Limit{
		{Kind: agenda.ShorterThanLabel, Product: soap, Have: 4, Want: 5},
		{Kind: agenda.StockTooSmall, Product: soap, Have: 17_000, Want: 18_000},
	}, v.Limits)
	plan.Steps = model.Rhythm(soap, monday.Add(1), 4, 4, 2)
	require.Contains(t, agenda.PreviewPlan(h.Book, plan, h.at(0), h.zone).Limits, agenda.Limit{Kind: agenda.MoreThanLabel, Product: soap, Have: 7, Want: 6})

	accepted := h.did(ada, 0, plan)
	a := h.agenda(0)
	require.Equal(t, find(t, a, key(model.RuleSpray, 1)).Due, v.Tasks[1].Due, "accepted, it comes to what the preview said")
	require.Equal(t, planB, accepted.Body.(*model.PlanAccepted).Plan)
}

// Whoever takes over what is another's turn hears that the other may have done it.
func TestGuardAsksWhoseTurnItWas(t *testing.T) {
	h := newHouse(t, "Europe/Berlin")
	h.Members[bo] = &model.Member{ID: bo, Role: model.Helper}
	for _, p := range h.Places {
		p.TurnSet, p.Turn, p.TurnOf = true, model.OneMember, bo
	}
	h.did(bo, 0, &model.Inspection{Plant: fern3})
	h.accept(ada, 0, nil)
	due := find(t, h.agenda(0), step(1)).When()
	on := due.Sub(monday)
	guard := func(by model.MemberID, day int) []agenda.Warning {
		return agenda.CheckTurns(h.Book, by, []*agenda.Task{find(t, h.agenda(day), step(1))}, h.zone)
	}
	task := find(t, h.agenda(on+1), step(1))
	require.Equal(t, bo, task.Turn)
	require.Equal(t, []agenda.Warning{{Kind: agenda.TheirTurn, Plants: task.Plants, Member: bo, Date: due}}, guard(ada, on+1))
	require.Empty(t, guard(bo, on+1), "one's own turn")
	h.did(bo, on, &model.Inspection{Plant: fern3})
	require.Empty(t, guard(ada, on+1), "what was written since would have told")
}
