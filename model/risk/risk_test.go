package risk_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/risk"
	"leafturn/model/standing"
)

func anySight(t *rapid.T, label string) risk.Sight {
	return risk.Sight{
		Unseen: rapid.IntRange(-1, 200).Draw(t, label+" unseen"),
		Near:   risk.Nearness(rapid.IntRange(0, 3).Draw(t, label+" near")),
		In:     rapid.IntRange(-1, 100).Draw(t, label+" in"),
		Leaves: risk.Leaves(rapid.IntRange(0, 2).Draw(t, label+" leaves")),
		Weak:   rapid.Float64Range(0, 1).Draw(t, label+" weak"),
	}
}

// never is a plant never looked at, or of which nobody knows when it came: the
// number by which it is compared.
func never(days, as int) int {
	if days < 0 {
		return as
	}
	return days
}

// If one plant is at least as doubtful as another in every respect, its score is not
// lower.
func TestTheScoreIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := anySight(t, "x"), anySight(t, "y")
		worse := risk.Sight{
			Unseen: max(never(x.Unseen, 1000), never(y.Unseen, 1000)),
			Near:   max(x.Near, y.Near),
			In:     min(never(x.In, 1000), never(y.In, 1000)),
			Leaves: max(x.Leaves, y.Leaves),
			Weak:   max(x.Weak, y.Weak),
		}
		s := worse.Score()
		require.GreaterOrEqual(t, s, x.Score())
		require.GreaterOrEqual(t, s, y.Score())
		require.True(t, s >= 0 && s <= 1)
	})
}

// Each respect by itself makes a difference somewhere.
func TestEveryRespectCounts(t *testing.T) {
	base := risk.Sight{Unseen: 10, Near: risk.Household, In: 30, Leaves: risk.Ordinary, Weak: 0.2}
	for name, worse := range map[string]risk.Sight{
		"unseen":  {Unseen: 11, Near: risk.Household, In: 30, Leaves: risk.Ordinary, Weak: 0.2},
		"never":   {Unseen: -1, Near: risk.Household, In: 30, Leaves: risk.Ordinary, Weak: 0.2},
		"near":    {Unseen: 10, Near: risk.SamePlace, In: 30, Leaves: risk.Ordinary, Weak: 0.2},
		"newer":   {Unseen: 10, Near: risk.Household, In: 29, Leaves: risk.Ordinary, Weak: 0.2},
		"thinner": {Unseen: 10, Near: risk.Household, In: 30, Leaves: risk.Thin, Weak: 0.2},
		"weaker":  {Unseen: 10, Near: risk.Household, In: 30, Leaves: risk.Ordinary, Weak: 0.3},
	} {
		require.Greater(t, worse.Score(), base.Score(), name)
	}
	require.Equal(t, risk.Sight{}.Score(), risk.Sight{Weak: math.NaN()}.Score())
	require.Equal(t, risk.Sight{Near: risk.Touched, Leaves: risk.Thin}.Score(), risk.Sight{Near: 200, Leaves: 200}.Score())
}

func TestLeavesAreGuessedFromTheName(t *testing.T) {
	for name, want := range map[string]risk.Leaves{
		"Calathea orbifolia": risk.Thin, "Boston fern": risk.Thin, "Ficus elastica": risk.Thick, "Monstera deliciosa": risk.Ordinary,
		"Jade plant": risk.Thick, "": risk.Ordinary, "wolfern": risk.Ordinary,
	} {
		require.Equal(t, want, risk.LeavesOf(name), name)
	}
}

// house is an invented household: six plants at two places, one of them affected.
type house struct {
	book *model.Book
	seq  uint64
}

var (
	now   = model.DateOf(2026, 5, 10).Start(time.UTC) + 12*3600_000
	shelf = model.PlaceID{1}
	sill  = model.PlaceID{2}
)

func newHouse() *house {
	h := &house{book: model.NewBook(model.HouseholdID{1})}
	h.book.Places[shelf] = &model.Place{ID: shelf, Name: "Shelf", Order: 1}
	h.book.Places[sill] = &model.Place{ID: sill, Name: "Sill", Order: 0}
	for i, p := range []model.PlaceID{shelf, shelf, shelf, sill, sill, sill} {
		id := model.PlantID{byte(i + 1)}
		h.book.Plants[id] = &model.Plant{ID: id, Name: string(rune('a' + i)), Place: p}
	}
	h.book.Outbreaks[model.OutbreakID{1}] = &model.Outbreak{ID: model.OutbreakID{1}, Pest: model.PestThrips, Opened: now.Date(time.UTC).Add(-2), Affects: map[model.PlantID]bool{{1}: true}}
	for i := range 6 {
		h.add(5, &model.Inspection{Plant: model.PlantID{byte(i + 1)}})
	}
	return h
}

func (h *house) add(daysAgo int, body model.Body) {
	h.seq++
	at := now - model.Instant(daysAgo)*24*3600_000
	h.book.Add(&model.Fact{ID: model.FactID{Device: model.DeviceID{1}, Seq: h.seq}, Stamp: uint64(at)<<16 | h.seq, At: at, Body: body})
}

func (h *house) rank() []risk.Ranked {
	return risk.Rank(h.book, standing.Derive(h.book, now, time.UTC), now, time.UTC)
}

func names(list []risk.Ranked) string {
	s := ""
	for _, r := range list {
		s += r.Plant.Name
	}
	return s
}

func TestNeighboursOfAnOutbreakComeFirst(t *testing.T) {
	h := newHouse()
	list := h.rank()
	require.Equal(t, "bcdef", names(list), "the affected plant itself has its course")
	require.Equal(t, risk.SamePlace, list[0].Sight.Near)
	require.Equal(t, model.OutbreakID{1}, list[0].By)
	require.Equal(t, risk.Household, list[4].Sight.Near)
	require.Equal(t, 5, list[0].Sight.Unseen)
	h.add(6, &model.Handling{Kind: model.Repotted, Plants: []model.PlantID{{1}, {6}}})
	list = h.rank()
	require.Equal(t, "fbcde", names(list), "repotted together")
	require.Equal(t, risk.Touched, list[0].Sight.Near)
}

func TestWhatTheHouseholdSaysOfAPlantCounts(t *testing.T) {
	for name, x := range map[string]struct {
		say   func(*house)
		order string
	}{
		"nothing":     {func(*house) {}, "bcdef"},
		"weak":        {func(h *house) { h.book.Plants[model.PlantID{6}].Weak = true }, "bcfde"},
		"thin leaves": {func(h *house) { h.book.Plants[model.PlantID{6}].ThinLeaf = true }, "bcfde"},
		"flowers beside it": {func(h *house) {
			h.add(1, &model.Handling{Kind: model.CutCameIn, Place: h.book.Plants[model.PlantID{6}].Place})
		}, ""},
		"flowers long ago, apart": {func(h *house) { h.add(200, &model.Handling{Kind: model.CutCameIn, Place: model.PlaceID{9}}) }, "bcdef"},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse()
			x.say(h)
			list := h.rank()
			if x.order != "" {
				require.Equal(t, x.order, names(list))
				return
			}
			require.Equal(t, 1, list[0].Sight.In)
		})
	}
}

func TestWhoWasNotSeenComesBeforeWhoWas(t *testing.T) {
	h := newHouse()
	h.add(1, &model.Inspection{Plant: model.PlantID{2}})
	require.Equal(t, "cbdef", names(h.rank()))
	h.add(0, &model.Handling{Kind: model.CameIn, Plants: []model.PlantID{{5}}})
	require.Equal(t, "ecbdf", names(h.rank()))
	h.add(0, &model.Handling{Kind: model.BackIn, Plants: []model.PlantID{{6}}})
	require.Equal(t, "efcbd", names(h.rank()), "back from outdoors is like new")
	h.add(0, &model.Handling{Kind: model.ThrownOut, Plants: []model.PlantID{{3}}})
	require.Equal(t, "efbd", names(h.rank()))
}

func TestAnAffectedPlantKeptApartIsNoNeighbour(t *testing.T) {
	h := newHouse()
	h.add(1, &model.Handling{Kind: model.Isolated, Plants: []model.PlantID{{1}}})
	for _, r := range h.rank() {
		require.Equal(t, risk.Household, r.Sight.Near)
	}
}

// At one place the walk is that of standing; over places it never goes back from
// worse to better, and washes before it gets worse.
func TestTheWalkIsSafe(t *testing.T) {
	h := newHouse()
	h.add(1, &model.Inspection{Plant: model.PlantID{5}, Findings: []model.Finding{{Part: model.Underside}}})
	h.add(1, &model.Handling{Kind: model.Isolated, Plants: []model.PlantID{{4}}})
	all := standing.Derive(h.book, now, time.UTC)
	for _, place := range []model.PlaceID{shelf, sill} {
		want := standing.Walk(h.book, place, all)
		var ids []model.PlantID
		for i := len(want) - 1; i >= 0; i-- {
			ids = append(ids, want[i].Plant.ID, want[i].Plant.ID)
		}
		require.Equal(t, want, risk.Walk(h.book, ids, all))
	}
	var ids []model.PlantID
	for id := range h.book.Plants {
		ids = append(ids, id)
	}
	walk := risk.Walk(h.book, append(ids, model.PlantID{99}), all)
	order := ""
	for _, s := range walk {
		if s.WashBefore {
			order += "|"
		}
		order += s.Plant.Name
	}
	require.Equal(t, "fbc|ea|d", order)
}

func BenchmarkRank(b *testing.B) {
	h := newHouse()
	for i := range 500 {
		id := model.PlantID{7, byte(i), byte(i >> 8)}
		h.book.Plants[id] = &model.Plant{ID: id, Name: "plant", Place: shelf}
		for d := range 20 {
			h.add(7*d, &model.Inspection{Plant: id})
		}
	}
	all := standing.Derive(h.book, now, time.UTC)
	for b.Loop() {
		risk.Rank(h.book, all, now, time.UTC)
	}
}
