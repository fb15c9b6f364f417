package agenda_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/agenda"
)

func key(r model.Rule, subject [16]byte, n uint32) model.TaskKey {
	return model.TaskKey{Rule: r, Subject: subject, Ordinal: n}
}

func TestRoundsComeSoonerWherePestsAre(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Places[sill].RoundEvery = 14
	h.did(ada, 0, &model.TaskCompleted{Task: roundKey(sill, 1)})
	require.Equal(t, monday.Add(agenda.WatchfulRound), h.agenda(1).Round(sill).Due)
	h.Outbreaks[thrips].Pest = model.PestSpiderMite
	read := h.did(ada, 1, &model.Temperature{Place: sill, Coldest: 200, Warmest: 260})
	r := h.agenda(1).Round(sill)
	require.Equal(t, monday.Add(agenda.FastRound), r.Due)
	last := r.Why[len(r.Why)-1]
	require.Equal(t, []any{agenda.WarmAndFast, 260, read}, []any{last.Because, last.Tenths, last.Fact})
	h.Outbreaks[thrips].Closed = monday.Add(1)
	require.Equal(t, monday.Add(14), h.agenda(1).Round(sill).Due)
	h.did(bo, 2, &model.Handling{Kind: model.CutCameIn, Place: sill})
	require.Equal(t, monday.Add(2+agenda.CutRound), h.agenda(2).Round(sill).Due)
	require.Equal(t, roundKey(sill, 2), h.agenda(2).Round(sill).Key)
}

func TestRoundsRideOnWaterings(t *testing.T) {
	h := newHouse(t, "UTC")
	h.did(ada, 0, &model.TaskCompleted{Task: roundKey(bath, 1)})
	for _, day := range []int{-2, 5, 12} {
		h.did(ada, day, &model.Handling{Kind: model.Watered, Place: bath, Plants: []model.PlantID{orchid}})
	}
	require.Equal(t, monday.Add(12), h.agenda(12).Round(bath).Due, "two days early, with the watering")
}

func TestCards(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Places[bath].Card = model.YellowCard
	read, renew := key(model.RuleCardRead, bath.UUID(), 1), key(model.RuleCardNew, bath.UUID(), 1)
	require.Equal(t, monday, find(t, h.agenda(0), read).Due)
	h.did(ada, 0, &model.CardReading{Place: bath, Colour: model.YellowCard, Counted: -1, Completes: read})
	read.Ordinal = 2
	require.Equal(t, monday.Add(agenda.CardEvery), find(t, h.agenda(0), read).Due)
	require.Equal(t, monday.Add(agenda.CardLasts), find(t, h.agenda(0), renew).Due)
	fresh := &model.CardReading{Place: bath, Colour: model.YellowCard, Counted: -1, Replaced: true}
	fresh.Completes = h.agenda(9).Match(fresh)
	require.Equal(t, renew, fresh.Completes)
	h.did(bo, 9, fresh)
	require.Equal(t, monday.Add(9+agenda.CardEvery), find(t, h.agenda(9), read).Due, "that was a reading too")
	renew.Ordinal = 2
	require.Equal(t, monday.Add(9+agenda.CardLasts), find(t, h.agenda(9), renew).Due)
}

func TestQuarantineEnds(t *testing.T) {
	h := newHouse(t, "UTC")
	k := key(model.RuleQuarantine, orchid.UUID(), 1)
	do := func(day int, kind model.HandlingKind) *model.Fact {
		return h.did(ada, day, &model.Handling{Kind: kind, Plants: []model.PlantID{orchid}})
	}
	do(0, model.CameIn)
	require.Equal(t, monday.Add(21), find(t, h.agenda(0), k).Due)
	end := h.did(bo, 22, &model.Inspection{Plant: orchid, Completes: k})
	require.Empty(t, rule(h.agenda(22), model.RuleQuarantine))
	do(100, model.WentOut)
	do(190, model.BackIn)
	k.Ordinal = 2
	require.Equal(t, monday.Add(211), find(t, h.agenda(190), k).Due)
	h.Outbreaks[thrips].Affects[orchid] = true
	require.Empty(t, rule(h.agenda(190), model.RuleQuarantine), "its course looks at it")
	h.Outbreaks[thrips].Closed = monday.Add(230)
	require.Equal(t, monday.Add(251), find(t, h.agenda(231), k).Due)
	do(195, model.Isolated)
	do(240, model.Released)
	require.Empty(t, rule(h.agenda(240), model.RuleQuarantine))
	require.NotNil(t, end)
}

func TestLooksAfterClearing(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Places[sill].RoundEvery = 14
	h.Outbreaks[thrips].Closed = monday
	k := key(model.RuleMaintain, thrips.UUID(), 1)
	require.Equal(t, monday.Add(7), find(t, h.agenda(0), k).Due)
	h.did(ada, 18, &model.Inspection{Plant: fern1, Completes: k})
	require.Empty(t, rule(h.agenda(18), model.RuleMaintain), "fortnightly now, as the rounds are")
	h.Places[sill].RoundEvery = 30
	k.Ordinal = 2
	require.Equal(t, monday.Add(32), find(t, h.agenda(18), k).Due)
	require.Empty(t, rule(h.agenda(60), model.RuleMaintain), "two months on it is over")
}

func TestBuying(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[soap].StockMilli = 13_000
	h.accept(ada, 0, nil) // 6 ml each, three times
	k := key(model.RuleBuy, soap.UUID(), 1)
	buy := find(t, h.agenda(0), k)
	require.Equal(t, []model.Date{monday.Add(14), monday.Add(15)}, []model.Date{buy.Due, buy.Latest})
	last := buy.Why[len(buy.Why)-1]
	require.Equal(t, []any{agenda.RunsOut, 13_000, 18_000, soap, step(3)}, []any{last.Because, last.Have, last.Want, last.Product, last.Task})
	h.did(bo, 2, &model.TaskCompleted{Task: k})
	require.Empty(t, rule(h.agenda(2), model.RuleBuy))
	h.accept(ada, 3, nil)
	require.Equal(t, uint32(2), rule(h.agenda(3), model.RuleBuy)[0].Ordinal, "another plan, another need")
}

// What was used since somebody said what is left is not on the shelf any more, so that
// the middle of a course does not make the shelf look full.
// Badly damaged leaves are cut off before the plants are treated. The task has a number
// that no step of a plan can have, whatever the plan is changed to.
func TestPruning(t *testing.T) {
	h := newHouse(t, "UTC")
	look := func(day int, p model.PlantID, damage uint8) *model.Fact {
		return h.did(ada, day, &model.Inspection{Plant: p, Damage: damage, Findings: []model.Finding{{Part: model.Underside}}})
	}
	prune := func(day int) *agenda.Task {
		for _, task := range h.agenda(day).Open() {
			if agenda.Prunes(task.Key) {
				return task
			}
		}
		return nil
	}
	look(0, fern1, 2)
	seen := look(0, fern2, 4)
	look(0, basil, 5)
	require.Nil(t, prune(0), "nobody has a plan yet")
	h.accept(ada, 0, nil)
	task := prune(0)
	require.Equal(t, []model.PlantID{fern2}, task.Plants)
	require.Equal(t, monday, task.Due)
	require.Equal(t, model.Pruned, task.Handling())
	last := task.Why[len(task.Why)-1]
	require.Equal(t, []any{agenda.BadlyDamaged, seen}, []any{last.Because, last.Fact})

	h.accept(bo, 0, func(p *model.PlanAccepted) {
		for day := range 200 {
			p.Steps = append(p.Steps[:min(day, len(p.Steps))], model.PlanStep{Kind: model.StepWipe, Day: monday.Add(day)})
		}
	})
	require.Equal(t, task.ID, prune(0).ID, "the plan was changed to as many steps of the same rule as there may be")
	h.accept(ada, 0, nil)

	wrong := h.did(bo, 1, &model.Handling{Kind: model.Pruned, Plants: []model.PlantID{fern1}})
	require.NotNil(t, prune(1), "that was another plant")
	done := &model.Handling{Kind: model.Pruned, Plants: []model.PlantID{fern2}}
	done.Completes = h.agenda(1).Match(done)
	require.Equal(t, task.Key, done.Completes)
	f := h.did(bo, 1, done)
	require.Nil(t, prune(1))
	require.Equal(t, []model.TaskKey{task.Key}, keys(h.agenda(1).DoneToday))
	require.Equal(t, []model.TaskKey{step(1), step(2), step(3)}, rule(h.agenda(1), model.RuleSpray), "it is no step of the plan")
	h.withdraw(bo, 1, f)
	require.Equal(t, task.ID, prune(1).ID)
	look(2, fern2, 1)
	require.Nil(t, prune(2), "the last look saw little")
	require.True(t, h.Stands(wrong.ID))
}

func TestWhatWasUsedIsNotThereAnyMore(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[soap].StockMilli, h.Products[soap].StockAt = 13_000, h.at(0)
	h.spray(bo, -20, model.TaskKey{})
	h.accept(ada, 0, nil) // 6 ml each, three times
	k := key(model.RuleBuy, soap.UUID(), 1)
	left := func() int { return agenda.StockLeft(h.Book, h.Products[soap]) }
	require.Equal(t, 13_000, left(), "what was used before is not taken off")
	h.spray(ada, 1, step(1))
	require.Equal(t, 7_000, left())
	buy := find(t, h.agenda(1), k)
	require.Equal(t, monday.Add(14), buy.Due)
	last := buy.Why[len(buy.Why)-1]
	require.Equal(t, []int{7_000, 12_000}, []int{last.Have, last.Want})
	noted := h.did(bo, 8, &model.Application{Plants: []model.PlantID{fern1, fern2, fern3}, Product: soap, AmountMl: 400, Completes: step(2)})
	require.Zero(t, left(), "400 ml at 20 ml per litre is more than there was")
	h.withdraw(bo, 8, noted)
	require.Equal(t, 7_000, left())
	h.Products[soap].StockMilli, h.Products[soap].StockAt = 500_000, h.at(9)
	require.Equal(t, 500_000, left())
	require.Empty(t, rule(h.agenda(9), model.RuleBuy))
}

func TestMeasuringAgain(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	require.Empty(t, rule(h.agenda(0), model.RuleMeasure))
	h.did(ada, 0, &model.Measurement{Plant: fern1, Photo: model.PhotoSum{1}, Method: 1})
	k := key(model.RuleMeasure, fern1.UUID(), 1)
	require.Equal(t, monday.Add(4), find(t, h.agenda(0), k).Due)
	h.did(ada, 4, &model.Measurement{Plant: fern1, Photo: model.PhotoSum{2}, Method: 1, Completes: k})
	k.Ordinal = 2
	require.Greater(t, find(t, h.agenda(4), k).Due, monday.Add(4))
}

func TestWhoseTurn(t *testing.T) {
	h := newHouse(t, "UTC")
	cy := model.MemberID{0xc}
	h.Members[ada] = &model.Member{ID: ada, Role: model.Keeper}
	h.Members[bo] = &model.Member{ID: bo, Role: model.Helper}
	h.Members[cy] = &model.Member{ID: cy, Role: model.Guest, Ends: monday.Add(3)}
	h.Household.Turn = model.Rotating
	first := h.agenda(0).Round(sill).Turn
	h.did(ada, 0, &model.TaskCompleted{Task: roundKey(sill, 1)})
	second := h.agenda(0).Round(sill).Turn
	require.ElementsMatch(t, []model.MemberID{ada, bo}, []model.MemberID{first, second})
	h.Members[second].AwayFrom, h.Members[second].AwayUntil = monday.Add(5), monday.Add(9)
	require.Equal(t, first, h.agenda(0).Round(sill).Turn)

	h.Places[bath].TurnSet, h.Places[bath].Turn, h.Places[bath].TurnOf = true, model.OneMember, cy
	sees := func(m model.MemberID, day int) []model.TaskKey {
		a := h.agenda(day)
		return keys(a.For(h.Members[m], a.Open()))
	}
	require.Equal(t, []model.TaskKey{roundKey(bath, 1)}, sees(cy, 0))
	require.NotContains(t, sees(ada, 0), roundKey(bath, 1))
	require.Empty(t, sees(cy, 4), "the guest's days are over")
	require.Contains(t, sees(ada, 4), roundKey(bath, 1), "then it is for whoever is at home")
	h.did(bo, 4, &model.TaskClaimed{Task: roundKey(bath, 1), Until: h.at(5)})
	require.NotContains(t, sees(ada, 4), roundKey(bath, 1))
	require.Contains(t, sees(bo, 4), roundKey(bath, 1))
	require.Equal(t, []agenda.Share{{Member: ada, Tasks: 1}, {Member: bo}}, h.agenda(4).Shares)
}

func TestBreaches(t *testing.T) {
	h := newHouse(t, "UTC")
	a := h.spray(ada, 0, model.TaskKey{})
	b := h.spray(bo, 2, model.TaskKey{}, fern2)
	all := h.agenda(2).Breaches
	require.Equal(t, []agenda.Breach{{Kind: agenda.TooClose, Product: soap, Plants: []model.PlantID{fern2}, Applications: []*model.Fact{a, b},
		Members: []model.MemberID{ada, bo}, Next: monday.Add(7), Want: 5}}, all)
	require.Empty(t, h.agenda(7).Breaches)
	h.withdraw(bo, 2, b)
	require.Empty(t, h.agenda(2).Breaches)
}

func TestTheGuardAsksAboutClaimsHeatAndWater(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	claim := h.did(bo, 1, &model.TaskClaimed{Task: step(1), Until: h.at(1) + 1000})
	h.did(ada, 1, &model.Temperature{Place: sill, Coldest: 200, Warmest: 315})
	ws := h.guard(2, soap, fern1)
	require.Equal(t, []agenda.WarningKind{agenda.MaybeTreated, agenda.TooWarm}, kinds(ws))
	require.Equal(t, claim, ws[0].Fact)
	h.did(bo, 2, &model.Inspection{Plant: orchid})
	require.Equal(t, []agenda.WarningKind{agenda.TooWarm}, kinds(h.guard(3, soap, fern1)), "his phone was heard from, and said nothing of it")
	h.did(ada, -9, &model.Handling{Kind: model.Watered, Plants: []model.PlantID{fern1}})
	require.Contains(t, kinds(h.guard(3, soap, fern1)), agenda.Thirsty)
}

// No step is for a day on which the label forbids it, whatever was done before.
func TestNoStepIsInsideTheLabelsInterval(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := lawHouse(rt, t)
		for range rapid.IntRange(0, 20).Draw(rt, "facts") {
			h.anyFact(rt, anyChange(rt, h))
		}
		label := h.Products[soap].MinInterval
		for _, task := range h.agenda(rapid.IntRange(0, 30).Draw(rt, "today")).Open() {
			if task.Product != soap || task.Step == nil || label == 0 {
				continue
			}
			for _, f := range h.Facts() {
				x, ok := f.Body.(*model.Application)
				if !ok || x.Product != soap || !h.Stands(f.ID) {
					continue
				}
				for _, p := range x.Plants {
					for _, q := range task.Plants {
						require.False(rt, p == q && task.When() < f.At.Date(h.zone).Add(label))
					}
				}
			}
		}
	})
}
