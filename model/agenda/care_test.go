package agenda_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
)

// warning gives the warning of a kind, or nil.
func warning(ws []agenda.Warning, k agenda.WarningKind) *agenda.Warning {
	for i := range ws {
		if ws[i].Kind == k {
			return &ws[i]
		}
	}
	return nil
}

func (h *house) water(day int, plants ...model.PlantID) *model.Fact {
	return h.did(bo, day, &model.Handling{Kind: model.Watered, Plants: plants})
}

// More often in a year than the label allows: only what went beyond it is a breach, on
// the plants that had it, and the next one may come when the first is a year old.
func TestTooMany(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[soap].MinInterval, h.Products[soap].MaxPerSeason = 0, 2
	h.spray(ada, 0, model.TaskKey{}, fern1, fern2)
	h.spray(ada, 10, model.TaskKey{}, fern1)
	require.Empty(t, h.agenda(10).Breaches, "twice is what the label allows")
	third := h.spray(bo, 20, model.TaskKey{}, fern1, fern2)
	want := agenda.Breach{Kind: agenda.TooMany, Product: soap, Plants: []model.PlantID{fern1}, Applications: []*model.Fact{third},
		Members: []model.MemberID{bo}, Next: monday.Add(10 + agenda.SeasonDays), Want: 2}
	require.Equal(t, []agenda.Breach{want}, h.agenda(20).Breaches)
	require.Equal(t, []agenda.Breach{want}, h.agenda(20+agenda.WeekDays).Breaches)
	require.Empty(t, h.agenda(21+agenda.WeekDays).Breaches, "it is shown for a week")
	h.withdraw(ada, 20, third)
	require.Empty(t, h.agenda(20).Breaches)
}

// The first of them is a year old: it counts no more.
func TestAYearLaterItIsNotTooMany(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[soap].MinInterval, h.Products[soap].MaxPerSeason = 0, 1
	h.spray(ada, 0, model.TaskKey{}, fern1)
	h.spray(bo, agenda.SeasonDays, model.TaskKey{}, fern1)
	require.Empty(t, h.agenda(agenda.SeasonDays).Breaches)
}

func TestNotOnFood(t *testing.T) {
	h := newHouse(t, "UTC")
	done := h.spray(bo, 1, model.TaskKey{}, basil, fern1)
	want := []agenda.Breach{{Kind: agenda.NotOnFood, Product: soap, Plants: []model.PlantID{basil}, Applications: []*model.Fact{done}, Members: []model.MemberID{bo}}}
	require.Equal(t, want, h.agenda(1).Breaches)
	require.Empty(t, h.agenda(2+agenda.WeekDays).Breaches)
	h.Products[soap].EdibleAllowed = true
	require.Empty(t, h.agenda(1).Breaches, "the label names food plants")
	h.Products[soap].EdibleAllowed, h.Products[soap].Means = false, model.MeansWater
	require.Empty(t, h.agenda(1).Breaches, "it was water")
}

// A product that is not on the shelf has no limits that anybody knows, so none was
// broken; the guard says that it is not there.
func TestNothingIsSaidOfALabelThatNobodyEntered(t *testing.T) {
	h := newHouse(t, "UTC")
	h.did(bo, 1, &model.Application{Plants: []model.PlantID{basil}, Product: model.ProductID{7}})
	require.Empty(t, h.agenda(1).Breaches)
	require.Contains(t, kinds(h.guard(1, model.ProductID{7}, basil)), agenda.LabelNotEntered)
}

func TestGranulesGoIntoDryMix(t *testing.T) {
	h := newHouse(t, "UTC")
	h.Products[oil].Means = model.MeansSystemicSoil
	require.Nil(t, warning(h.guard(3, oil, fern1), agenda.MixWet), "nobody notes waterings here")
	wet := h.water(2, fern1)
	require.Equal(t, &agenda.Warning{Kind: agenda.MixWet, Plants: []model.PlantID{fern1}, Fact: wet}, warning(h.guard(3, oil, fern1, fern2), agenda.MixWet))
	require.Nil(t, warning(h.guard(2+agenda.WetFor, oil, fern1), agenda.MixWet))
	h.accept(ada, 3, func(p *model.PlanAccepted) {
		p.Plants, p.Steps = []model.PlantID{fern1}, []model.PlanStep{{Kind: model.StepSoil, Day: monday.Add(3), Product: oil}}
	})
	task := find(t, h.agenda(3), planKey(model.RuleSoil, planA, 1))
	require.Equal(t, &agenda.Caution{Kind: agenda.OnDryMix, Plants: []model.PlantID{fern1}, Fact: wet}, caution(task, agenda.OnDryMix))
	require.Equal(t, &agenda.Caution{Kind: agenda.ThenWaterIn, Days: agenda.RunDays, Count: agenda.RunWaterings}, caution(task, agenda.ThenWaterIn))
	h.Products[oil].Means = model.MeansSoilDrench
	task = find(t, h.agenda(3), planKey(model.RuleSoil, planA, 1))
	require.NotNil(t, caution(task, agenda.NotBoneDry))
	require.Nil(t, caution(task, agenda.OnDryMix))
}

// After a systemic product went into the mix no water may run out of the pot for ten
// days or three waterings, whichever is longer.
func TestPotsHoldTheirWater(t *testing.T) {
	for name, c := range map[string]struct {
		waterings []int
		today     int
		until     int // 0 if it is over
	}{
		"at once, not watered yet":           {nil, 0, agenda.RunDays},
		"nobody notes waterings":             {nil, agenda.RunDays, 0},
		"watered once, the ten days run":     {[]int{2}, 5, agenda.RunDays},
		"ten days, and two waterings only":   {[]int{2, 7}, 12, 13},
		"ten days and three waterings":       {[]int{2, 5, 9}, 10, 0},
		"three waterings, not ten days":      {[]int{1, 2, 3}, 8, agenda.RunDays},
		"watered before, which says nothing": {[]int{-1}, 4, agenda.RunDays},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, "UTC")
			h.Products[oil].Means = model.MeansSystemicSoil
			into := h.did(ada, 0, &model.Application{Plants: []model.PlantID{fern1}, Product: oil})
			for _, day := range c.waterings {
				h.water(day, fern1)
			}
			got := caution(h.agenda(c.today).Round(sill), agenda.HoldWater)
			if c.until == 0 {
				require.Nil(t, got)
				return
			}
			require.Equal(t, &agenda.Caution{Kind: agenda.HoldWater, Plants: []model.PlantID{fern1}, Date: monday.Add(c.until), Fact: into}, got)
			require.Nil(t, caution(h.agenda(c.today).Round(bath), agenda.HoldWater))
		})
	}
}

func TestTenderPlants(t *testing.T) {
	h := newHouse(t, "UTC")
	require.Nil(t, warning(h.guard(0, soap, fern1, fern2), agenda.Tender))
	potted := h.did(bo, 0, &model.Handling{Kind: model.Repotted, Plants: []model.PlantID{fern2}})
	h.Plants[fern1].Weak = true
	require.Equal(t, &agenda.Warning{Kind: agenda.Tender, Plants: []model.PlantID{fern1, fern2}, Fact: potted}, warning(h.guard(1, soap, fern1, fern2, fern3), agenda.Tender))
	require.Equal(t, []model.PlantID{fern1}, warning(h.guard(agenda.PottedFor, soap, fern1, fern2), agenda.Tender).Plants, "two weeks on it has settled")
}

// A row is broken by a product with another mode of action, and by nothing else.
func TestMostInARow(t *testing.T) {
	h := newHouse(t, "UTC")
	other, water := model.ProductID{3}, model.ProductID{4}
	h.Products[soap].MostInRow, h.Products[soap].Group = 2, "5"
	h.Products[other] = &model.Product{ID: other, Group: "3A", Means: model.MeansContactSpray}
	h.Products[water] = &model.Product{ID: water, Means: model.MeansWater}
	inRow := func(day int) *agenda.Warning { return warning(h.guard(day, soap, fern1, fern2), agenda.MostInRow) }
	use := func(day int, p model.ProductID) {
		h.did(bo, day, &model.Application{Plants: []model.PlantID{fern1}, Product: p})
	}
	use(0, soap)
	require.Nil(t, inRow(7))
	use(7, soap)
	require.Equal(t, &agenda.Warning{Kind: agenda.MostInRow, Plants: []model.PlantID{fern1}, Count: 2}, inRow(14))
	use(10, water)
	require.NotNil(t, inRow(14), "what has no group breaks no row")
	use(14, other)
	require.Nil(t, inRow(21))
}

// What the label says of heat is held against what the place is like today.
func TestTasksWarnOfHeat(t *testing.T) {
	h := newHouse(t, "UTC")
	h.accept(ada, 0, nil)
	h.Places[sill].Coldest, h.Places[sill].Warmest = 180, 300
	require.NotNil(t, caution(find(t, h.agenda(1), step(1)), agenda.HotOrSunny))
	require.Nil(t, caution(find(t, h.agenda(1), step(1)), agenda.NowTooWarm), "30 °C is not above 30 °C")
	h.Places[sill].Warmest = 301
	got := caution(find(t, h.agenda(1), step(1)), agenda.NowTooWarm)
	require.Equal(t, []any{301, 30, (*model.Fact)(nil)}, []any{got.Tenths, got.Celsius, got.Fact})
	cool := h.did(bo, 1, &model.Temperature{Place: sill, Coldest: 180, Warmest: 240})
	require.Nil(t, caution(find(t, h.agenda(1), step(1)), agenda.NowTooWarm), "a reading counts before what is usual")
	require.Equal(t, cool, h.Facts()[len(h.Facts())-1])
	require.NotNil(t, caution(find(t, h.agenda(2+agenda.HeatDays), step(1)), agenda.NowTooWarm), "for two weeks")
}
