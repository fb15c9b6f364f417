package agenda_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/agenda"
)

// The laws below hold for any facts, in any order:
//
//  1. Same facts, any order of arrival, any repetition: same agenda.
//  2. A late fact may end the task it completes and the steps before it; every
//     other open task keeps its key and id.
//  3. A step is never for a day before its rhythm or its label allow it, and not
//     for a later one without a reason. A second, slower way of counting agrees.
//  4. An open task is in one group only, and no two have one id.

var (
	allPlants = []model.PlantID{fern1, fern2, fern3, basil, orchid}
	allPlans  = []model.PlanID{planA, planB}
	second    = model.OutbreakID{2}
)

// lawHouse is a house with a plan for each of two outbreaks.
func lawHouse(t *rapid.T, tb testing.TB) *house {
	h := newHouse(tb, rapid.SampledFrom([]string{"UTC", "Europe/Berlin", "Pacific/Auckland"}).Draw(t, "zone"))
	h.Outbreaks[second] = &model.Outbreak{ID: second}
	h.Products[soap].MinInterval = rapid.IntRange(0, 9).Draw(t, "label interval")
	h.accept(ada, 0, func(p *model.PlanAccepted) { p.Isolate = rapid.Bool().Draw(t, "isolate") })
	h.accept(bo, 0, func(p *model.PlanAccepted) {
		p.Plan, p.Outbreak, p.Plants = planB, second, []model.PlantID{fern3, basil, orchid}
		p.Steps = model.Rhythm(soap, monday.Add(1), 9, 3, 3)
	})
	return h
}

func anyTask(t *rapid.T) model.TaskKey {
	n := rapid.Uint32Range(1, 4).Draw(t, "ordinal")
	switch r := rapid.SampledFrom([]model.Rule{model.RuleRound, model.RuleSpray, model.RuleSpray, model.RuleCheck, model.RuleIsolate}).Draw(t, "rule"); r {
	case model.RuleRound:
		return roundKey(rapid.SampledFrom([]model.PlaceID{sill, bath}).Draw(t, "place"), n)
	case model.RuleIsolate:
		return planKey(r, rapid.SampledFrom(allPlans).Draw(t, "plan"), 1)
	default:
		return planKey(r, rapid.SampledFrom(allPlans).Draw(t, "plan"), n)
	}
}

// anyDeed draws a fact that says what somebody saw, did or will do.
func anyDeed(t *rapid.T) model.Body {
	k := anyTask(t)
	if rapid.Bool().Draw(t, "without a task") {
		k = model.TaskKey{}
	}
	plants := rapid.SliceOfNDistinct(rapid.SampledFrom(allPlants), 1, 5, rapid.ID).Draw(t, "plants")
	switch rapid.IntRange(0, 6).Draw(t, "deed") {
	case 0:
		return &model.Inspection{Plant: plants[0], Round: anyTask(t), Completes: k}
	case 1, 2:
		return &model.Application{Plants: plants, Product: rapid.SampledFrom([]model.ProductID{soap, oil}).Draw(t, "product"), Completes: k}
	case 3:
		return &model.Handling{Kind: model.Rinsed, Plants: plants, Completes: k}
	case 4:
		return &model.TaskClaimed{Task: anyTask(t), Until: model.Instant(rapid.Int64Range(1, 1<<41).Draw(t, "until"))}
	case 5:
		return &model.TaskPutOff{Task: anyTask(t), Until: monday.Add(rapid.IntRange(0, 40).Draw(t, "until day")), Reason: model.NoTime}
	default:
		return &model.TaskCompleted{Task: anyTask(t)}
	}
}

// anyChange draws a deed, or something that takes back or changes others.
func anyChange(t *rapid.T, h *house) model.Body {
	switch rapid.IntRange(0, 9).Draw(t, "change") {
	case 0:
		return &model.Withdrawn{Fact: rapid.SampledFrom(h.Facts()).Draw(t, "target").ID}
	case 1:
		return &model.Settled{Task: anyTask(t)}
	case 2:
		kind := rapid.SampledFrom([]model.HandlingKind{model.Isolated, model.Released, model.ThrownOut, model.WentOut}).Draw(t, "kind")
		return &model.Handling{Kind: kind, Plants: []model.PlantID{rapid.SampledFrom(allPlants).Draw(t, "plant")}}
	case 3:
		return &model.PlanAccepted{Plan: model.PlanID{rapid.Byte().Draw(t, "plan id")}, Outbreak: rapid.SampledFrom([]model.OutbreakID{thrips, second}).Draw(t, "outbreak"),
			Plants: []model.PlantID{fern1}, Basis: model.CommonPractice, Steps: model.Rhythm(oil, monday, 8, 2, 2)}
	}
	return anyDeed(t)
}

// anyFact adds a fact whose time of writing and time of doing have little to do
// with each other, as after days without a network.
func (h *house) anyFact(t *rapid.T, body model.Body) *model.Fact {
	h.seq++
	by := rapid.SampledFrom([]model.MemberID{ada, bo}).Draw(t, "by")
	f := &model.Fact{
		ID:    model.FactID{Device: model.DeviceID(by), Seq: h.seq},
		Stamp: rapid.Uint64Range(1, 9).Draw(t, "stamp"),
		At:    h.at(rapid.IntRange(-3, 25).Draw(t, "day")) + model.Instant(rapid.Int64Range(-12, 11).Draw(t, "hour"))*3600_000,
		By:    by, Body: body,
	}
	h.Add(f)
	return f
}

func TestOrderOfArrivalShowsNowhere(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := lawHouse(rt, t)
		for range rapid.IntRange(0, 25).Draw(rt, "facts") {
			h.anyFact(rt, anyChange(rt, h))
		}
		other := *model.NewBook(h.Household.ID)
		other.Places, other.Plants, other.Products, other.Outbreaks = h.Places, h.Plants, h.Products, h.Outbreaks
		facts := slices.Concat(h.Facts(), h.Facts())
		rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 0)).Shuffle(len(facts), func(i, j int) { facts[i], facts[j] = facts[j], facts[i] })
		for i, f := range facts {
			other.Add(f)
			if i%7 == 0 {
				agenda.Derive(&other, h.at(5), h.zone)
			}
		}
		day := rapid.IntRange(-5, 60).Draw(rt, "today")
		require.Equal(rt, h.agenda(day), agenda.Derive(&other, h.at(day), h.zone))
	})
}

// What is derived with what was read before is what is derived anew, whatever comes
// in between: late facts, facts taken back, another day.
func TestTheCacheIsRight(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := lawHouse(rt, t)
		var c agenda.Cache
		day := 0
		for range rapid.IntRange(0, 12).Draw(rt, "steps") {
			if rapid.Bool().Draw(rt, "as it happens") {
				h.did(ada, day, anyChange(rt, h))
			} else {
				h.anyFact(rt, anyChange(rt, h))
			}
			day += rapid.SampledFrom([]int{0, 0, 0, 1, 9}).Draw(rt, "days go by")
			if rapid.Bool().Draw(rt, "a record changes") {
				h.Plants[fern1].Removed = !h.Plants[fern1].Removed
			}
			require.Equal(rt, h.agenda(day), c.Derive(h.Book, h.at(day), h.zone))
		}
	})
}

func TestALateFactRenamesNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := lawHouse(rt, t)
		for range rapid.IntRange(0, 15).Draw(rt, "facts") {
			h.anyFact(rt, anyDeed(rt))
		}
		day := rapid.IntRange(0, 30).Draw(rt, "today")
		before := h.agenda(day)
		completed := completes(h.anyFact(rt, anyDeed(rt)).Body)
		after := h.agenda(day)
		for _, t := range before.Open() {
			if ends := t.Key.Rule == completed.Rule && t.Key.Subject == completed.Subject && t.Key.Ordinal <= completed.Ordinal; ends {
				continue
			}
			require.Equal(rt, t.ID, find(rt, after, t.Key).ID)
		}
	})
}

func completes(b model.Body) model.TaskKey {
	switch x := b.(type) {
	case *model.Inspection:
		return x.Completes
	case *model.Application:
		return x.Completes
	case *model.Handling:
		return x.Completes
	case *model.CardReading:
		return x.Completes
	case *model.Measurement:
		return x.Completes
	case *model.TaskCompleted:
		return x.Task
	}
	return model.TaskKey{}
}

// dueByHand dates the next step of plan A in the plainest way: it goes through
// all facts again for every question.
func dueByHand(h *house) (n uint32, due model.Date) {
	standing := slices.DeleteFunc(slices.Clone(h.Facts()), func(f *model.Fact) bool { return !h.Stands(f.ID) })
	var first *model.Fact
	for ordinal := uint32(3); ordinal > 0 && first == nil; ordinal-- {
		for _, f := range standing {
			earlier := first == nil || f.At < first.At || f.At == first.At && model.CompareFacts(f, first) < 0
			if completes(f.Body) == step(ordinal) && earlier {
				n, first = ordinal, f
			}
		}
	}
	due = monday.Add(1)
	if first != nil {
		due = first.At.Date(h.zone) + 7
	}
	for _, f := range standing {
		x, ok := f.Body.(*model.Application)
		touches := ok && x.Product == soap && slices.ContainsFunc(x.Plants, func(p model.PlantID) bool { return p == fern1 || p == fern2 || p == fern3 })
		if label := h.Products[soap].MinInterval; touches && label > 0 {
			due = max(due, f.At.Date(h.zone)+model.Date(label))
		}
	}
	return n + 1, due
}

func TestTheNextStepIsDatedAsByHand(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := lawHouse(rt, t)
		h.Products[soap].MaxPerSeason, h.Products[soap].ReentryHours = 0, 0
		for range rapid.IntRange(0, 20).Draw(rt, "facts") {
			body := anyDeed(rt)
			if rapid.IntRange(0, 4).Draw(rt, "take back") == 0 {
				target := rapid.SampledFrom(h.Facts()).Draw(rt, "target")
				if _, plan := target.Body.(*model.PlanAccepted); !plan {
					body = &model.Withdrawn{Fact: target.ID}
				}
			}
			h.anyFact(rt, body)
		}
		n, due := dueByHand(h)
		a := h.agenda(rapid.IntRange(0, 30).Draw(rt, "today"))
		if n > 3 {
			require.NotContains(rt, rule(a, model.RuleSpray), step(3))
			return
		}
		next := find(rt, a, step(n))
		require.Equal(rt, due, next.Due)
		require.False(rt, next.Projected)
		require.GreaterOrEqual(rt, next.When(), due)
		for later := n + 1; later <= 3; later++ {
			require.GreaterOrEqual(rt, find(rt, a, step(later)).When(), find(rt, a, step(later-1)).When().Add(7))
		}
	})
}

func TestEveryOpenTaskIsInOneGroup(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := lawHouse(rt, t)
		for range rapid.IntRange(0, 25).Draw(rt, "facts") {
			h.anyFact(rt, anyChange(rt, h))
		}
		a := h.agenda(rapid.IntRange(-5, 40).Draw(rt, "today"))
		seen := map[model.TaskID]bool{}
		for _, t := range slices.Concat(a.Open(), a.DoneToday, a.DoneLately) {
			require.False(rt, seen[t.ID])
			seen[t.ID] = true
			require.Equal(rt, t.Key.ID(h.Household.ID), t.ID)
			require.Equal(rt, t.Done != nil, t.State == agenda.Done)
			if t.Done == nil {
				require.NotEmpty(rt, t.Plants)
				require.NotEmpty(rt, t.Why)
				require.Equal(rt, max(0, a.Day.Sub(t.When())), t.Overdue)
			}
		}
		for _, t := range a.Today.Tasks {
			require.LessOrEqual(rt, t.When(), a.Day)
		}
		for _, t := range a.Tomorrow.Tasks {
			require.Equal(rt, a.Day.Add(1), t.When())
		}
		for _, t := range a.Week.Tasks {
			require.Greater(rt, t.When(), a.Day.Add(1))
			require.LessOrEqual(rt, t.When(), a.Day.Add(agenda.WeekDays))
		}
		for _, t := range a.Later.Tasks {
			require.Greater(rt, t.When(), a.Day.Add(agenda.WeekDays))
		}
	})
}
