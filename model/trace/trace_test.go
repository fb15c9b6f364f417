package trace_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/population"
	"leafturn/model/refdata"
	"leafturn/model/trace"
)

var first = model.DateOf(2026, 3, 1)

func thrips(tb testing.TB) *population.Model {
	m, err := population.New(refdata.WesternFlowerThrips)
	require.NoError(tb, err)
	return m
}

func question(tb testing.TB, looks ...population.Look) trace.Question {
	return trace.Question{Model: thrips(tb), First: first, Days: population.Steady(21, 70), Looks: looks, Seed: 5}
}

func look(day int, a population.Animals) population.Look {
	return population.Look{Day: day, Way: refdata.Eye, Effort: 0.5, Counts: a}
}

func back(t *testing.T, q trace.Question) *trace.Window {
	t.Helper()
	w, err := trace.Back(q)
	require.NoError(t, err)
	sum := 0.0
	for _, p := range w.Chance {
		require.True(t, p >= 0 && p <= 1)
		sum += p
	}
	require.InDelta(t, 1, sum, 1e-9)
	require.LessOrEqual(t, w.Low, w.Middle)
	require.LessOrEqual(t, w.Middle, w.High)
	return w
}

func TestManyAnimalsCameEarlierThanFew(t *testing.T) {
	few := back(t, question(t, look(60, population.Animals{0, 0, 0, 1})))
	many := back(t, question(t, look(60, population.Animals{0, 60, 0, 20})))
	require.Greater(t, few.Middle, many.Middle.Add(5))
	require.Len(t, few.Chance, 61)
}

func TestCleanLooksMakeAnEarlyArrivalUnlikely(t *testing.T) {
	found := look(60, population.Animals{0, 12, 0, 4})
	without := back(t, question(t, found))
	clean := []population.Look{look(39, population.Animals{}), look(46, population.Animals{}), look(53, population.Animals{}), found}
	with := back(t, question(t, clean...))
	require.Less(t, with.Between(first, first.Add(20)), 0.5*without.Between(first, first.Add(20)))
	require.GreaterOrEqual(t, with.Middle, without.Middle)
}

func TestWarmthBringsTheWindowNearer(t *testing.T) {
	cool, warm := question(t, look(60, population.Animals{0, 20, 0, 6})), question(t, look(60, population.Animals{0, 20, 0, 6}))
	cool.Days, warm.Days = population.Steady(17, 70), population.Steady(26, 70)
	require.Greater(t, back(t, warm).Middle, back(t, cool).Middle)
}

// Outbreaks with a known day of arrival, drawn from the model: their day lies in the
// 80 per cent window about 80 per cent of the time.
func TestTheWindowHoldsTheTrueDay(t *testing.T) {
	m := thrips(t)
	days := population.Steady(21, 50)
	climate, err := m.Climate(days)
	require.NoError(t, err)
	const runs = 200
	hits, done := 0, 0
	for i := 0; done < runs; i++ {
		require.Less(t, i, 5*runs)
		day := i % 41
		truth, err := m.Begun(1, uint64(900+i), population.Beginning{From: day, To: day, Founders: 2})
		require.NoError(t, err)
		q := trace.Question{Model: m, First: first, Days: days, Seed: uint64(i)}
		r := population.NewRand(uint64(i))
		found := false
		for d := 19; d <= 40 && !found; d += 7 {
			require.NoError(t, truth.Live(climate, d, nil, 0))
			l := truth.See(look(d, population.Animals{}), 0, &r)
			q.Looks = append(q.Looks, l)
			found = l.Counts != population.Animals{}
		}
		if !found {
			continue
		}
		done++
		w := back(t, q)
		if day := first.Add(day); day >= w.Low && day <= w.High {
			hits++
		}
	}
	t.Logf("%d of %d days in the 80 per cent window", hits, runs)
	require.GreaterOrEqual(t, float64(hits), 0.7*runs)
	require.LessOrEqual(t, float64(hits), 0.93*runs, "whole days make it a little wide")
}

func TestQuestionsThatCannotBe(t *testing.T) {
	found := look(10, population.Animals{0, 3})
	for name, x := range map[string]struct {
		spoil func(*trace.Question)
		err   error
	}{
		"no looks":       {func(q *trace.Question) { q.Looks = nil }, trace.ErrNothingFound},
		"only clean":     {func(q *trace.Question) { q.Looks = []population.Look{look(3, population.Animals{})} }, trace.ErrNothingFound},
		"out of order":   {func(q *trace.Question) { q.Looks = []population.Look{found, look(9, population.Animals{})} }, trace.ErrLooks},
		"beyond":         {func(q *trace.Question) { q.Looks = []population.Look{look(70, population.Animals{0, 1})} }, trace.ErrLooks},
		"no model":       {func(q *trace.Question) { q.Model = nil }, trace.ErrLooks},
		"negative count": {func(q *trace.Question) { q.Looks = []population.Look{look(9, population.Animals{0, -1})} }, population.ErrLook},
		"NaN":            {func(q *trace.Question) { q.Days[4].Low = math.NaN() }, nil},
		"stopped":        {func(q *trace.Question) { q.Stop = func() bool { return true } }, population.ErrStopped},
		"treatment":      {func(q *trace.Question) { q.Acts = []population.Act{{Day: 3, Means: 77}} }, population.ErrAct},
	} {
		t.Run(name, func(t *testing.T) {
			q := question(t, found)
			x.spoil(&q)
			_, err := trace.Back(q)
			require.Error(t, err)
			if x.err != nil {
				require.ErrorIs(t, err, x.err)
			}
		})
	}
}

func TestAFindingTheModelHoldsImpossibleStillGivesAWindow(t *testing.T) {
	w := back(t, question(t, look(0, population.Animals{0, 60_000, 0, 60_000})))
	require.Len(t, w.Chance, 1)
}

func BenchmarkBack(b *testing.B) {
	q := question(b, look(39, population.Animals{}), look(46, population.Animals{}), look(60, population.Animals{0, 12, 0, 4}))
	for b.Loop() {
		_, err := trace.Back(q)
		require.NoError(b, err)
	}
}

// house is an invented household: plants a to e on one shelf, f on the sill.
type house struct {
	book *model.Book
	seq  uint64
}

var (
	shelf, sill = model.PlaceID{1}, model.PlaceID{2}
	window      = &trace.Window{First: first, Low: first.Add(20), Middle: first.Add(22), High: first.Add(26), Chance: chances()}
	today       = first.Add(40)
)

// chances lie on days 20 to 26.
func chances() []float64 {
	all := make([]float64, 41)
	for d, p := range []float64{0.1, 0.2, 0.3, 0.15, 0.1, 0.1, 0.05} {
		all[20+d] = p
	}
	return all
}

func newHouse() *house {
	h := &house{book: model.NewBook(model.HouseholdID{1})}
	for i, p := range []model.PlaceID{shelf, shelf, shelf, shelf, shelf, sill} {
		id := model.PlantID{byte(i + 1)}
		h.book.Plants[id] = &model.Plant{ID: id, Name: string(rune('a' + i)), Place: p}
	}
	return h
}

func (h *house) did(day int, kind model.HandlingKind, to model.PlaceID, plants ...byte) *house {
	h.seq++
	at := first.Add(day).Start(time.UTC) + 12*3600_000
	x := &model.Handling{Kind: kind, Place: to}
	for _, p := range plants {
		x.Plants = append(x.Plants, model.PlantID{p})
	}
	h.book.Add(&model.Fact{ID: model.FactID{Device: model.DeviceID{1}, Seq: h.seq}, Stamp: uint64(at)<<16 | h.seq, At: at, Body: x})
	return h
}

func (h *house) sick(opened, closed int, plants ...byte) *house {
	id := model.OutbreakID{byte(len(h.book.Outbreaks) + 1)}
	o := &model.Outbreak{ID: id, Pest: model.PestThrips, Opened: first.Add(opened), Affects: map[model.PlantID]bool{}}
	if closed > 0 {
		o.Closed = first.Add(closed)
	}
	for _, p := range plants {
		o.Affects[model.PlantID{p}] = true
	}
	h.book.Outbreaks[id] = o
	return h
}

func (h *house) cut(plant, from byte) *house {
	h.book.Plants[model.PlantID{plant}].CuttingOf = model.PlantID{from}
	return h
}

func (h *house) suspects() []trace.Suspect {
	return trace.Suspects(h.book, model.PlantID{1}, model.PestThrips, window, time.UTC)
}

func TestSuspects(t *testing.T) {
	none := model.PlaceID{}
	for name, x := range map[string]struct {
		house *house
		how   trace.How
		other byte
	}{
		"nothing written down":                 {newHouse(), trace.UnknownArrival, 0},
		"it came in then":                      {newHouse().did(22, model.CameIn, none, 1), trace.CameWithIt, 0},
		"it came in with the pest on it":       {newHouse().did(30, model.CameIn, none, 1), trace.CameWithIt, 0},
		"it came in long before":               {newHouse().did(5, model.CameIn, none, 1), trace.UnknownArrival, 0},
		"it was outdoors":                      {newHouse().did(15, model.WentOut, none, 1).did(27, model.CameIn, none, 1), trace.FromOutdoors, 0},
		"a neighbour had it":                   {newHouse().sick(18, 0, 2), trace.SickNeighbour, 2},
		"a neighbour had it before":            {newHouse().sick(2, 8, 2), trace.UnknownArrival, 0},
		"a plant elsewhere had it":             {newHouse().sick(18, 0, 6), trace.UnknownArrival, 0},
		"a neighbour had it, but apart":        {newHouse().sick(18, 0, 2).did(-30, model.Isolated, none, 2), trace.UnknownArrival, 0},
		"a new neighbour":                      {newHouse().did(21, model.CameIn, none, 3), trace.NewNeighbour, 3},
		"a neighbour came in afterwards":       {newHouse().did(35, model.CameIn, none, 3), trace.UnknownArrival, 0},
		"moved beside others":                  {newHouse().did(21, model.Moved, shelf, 1), trace.MovedBeside, 0},
		"back from outdoors":                   {newHouse().did(15, model.WentOut, none, 1).did(27, model.BackIn, none, 1), trace.FromOutdoors, 0},
		"back in, nobody noted that it left":   {newHouse().did(24, model.BackIn, none, 1), trace.FromOutdoors, 0},
		"flowers came to its shelf":            {newHouse().did(19, model.CutCameIn, shelf), trace.FlowersBeside, 0},
		"flowers came elsewhere":               {newHouse().did(19, model.CutCameIn, sill), trace.UnknownArrival, 0},
		"flowers had gone by then":             {newHouse().did(2, model.CutCameIn, shelf), trace.UnknownArrival, 0},
		"cut from a plant that had it":         {newHouse().sick(18, 0, 6).cut(1, 6), trace.CutFrom, 6},
		"cut from a plant that seemed clean":   {newHouse().cut(1, 6), trace.CutFrom, 6},
		"repotted together with one elsewhere": {newHouse().did(20, model.Repotted, none, 1, 6), trace.HandledWith, 6},
	} {
		t.Run(name, func(t *testing.T) {
			all := x.house.suspects()
			require.NotEmpty(t, all)
			require.Equal(t, x.how, all[0].How)
			require.Equal(t, model.PlantID{x.other}, all[0].Other)
			last := false
			for i, s := range all {
				require.True(t, s.Fit > 0 && s.Fit <= 1)
				if i > 0 {
					require.LessOrEqual(t, s.Fit, all[i-1].Fit)
				}
				last = last || s.How == trace.UnknownArrival
			}
			require.True(t, last, "the unknown always stays possible")
		})
	}
	require.Nil(t, trace.Suspects(newHouse().book, model.PlantID{99}, model.PestThrips, window, time.UTC))
}

func TestAnotherPestOfANeighbourIsNoSuspect(t *testing.T) {
	h := newHouse().sick(18, 0, 2)
	for _, o := range h.book.Outbreaks {
		o.Pest = model.PestScale
	}
	require.Equal(t, trace.UnknownArrival, h.suspects()[0].How)
}

func contacts(h *house) map[byte]trace.Contact {
	all := map[byte]trace.Contact{}
	for _, c := range trace.Contacts(h.book, model.PlantID{1}, window, today, time.UTC) {
		all[c.Plant[0]] = c
	}
	return all
}

func TestContacts(t *testing.T) {
	none := model.PlaceID{}
	all := contacts(newHouse())
	require.Len(t, all, 4, "those on the shelf, not the one on the sill")
	require.Equal(t, trace.BesideIt, all[2].How)
	require.Equal(t, today, all[2].Date)
	require.InDelta(t, 18, all[2].Days, 3)

	all = contacts(newHouse().did(25, model.Isolated, none, 1))
	require.Less(t, all[2].Fit, contacts(newHouse())[2].Fit, "it was kept apart soon")
	all = contacts(newHouse().did(10, model.Isolated, none, 1))
	require.Empty(t, all, "it was apart before the pest came")
	all = contacts(newHouse().did(30, model.Repotted, none, 1, 6))
	require.Equal(t, trace.HandledWith, all[6].How)
	all = contacts(newHouse().did(10, model.Repotted, none, 1, 6))
	require.NotContains(t, all, byte(6), "before the pest came")
	all = contacts(newHouse().did(35, model.ThrownOut, none, 3))
	require.NotContains(t, all, byte(3), "nobody can look at it any more")
	all = contacts(newHouse().did(30, model.Moved, sill, 1))
	require.Contains(t, all, byte(6), "it stood on the sill since")
	all = contacts(newHouse().did(38, model.CameIn, none, 4))
	require.Less(t, all[4].Fit, all[2].Fit, "it came later")
	all = contacts(newHouse().cut(6, 1))
	require.Equal(t, trace.CutFrom, all[6].How, "its cutting, wherever it stands")
	require.Nil(t, trace.Contacts(newHouse().book, model.PlantID{99}, window, today, time.UTC))
}

func TestGone(t *testing.T) {
	none := model.PlaceID{}
	gone := func(h *house) []trace.Contact { return trace.Gone(h.book, model.PlantID{1}, window, today, time.UTC) }
	require.Empty(t, gone(newHouse()))
	require.Empty(t, gone(newHouse().did(10, model.ThrownOut, none, 3)), "it left before the pest came")
	all := gone(newHouse().did(35, model.ThrownOut, none, 3))
	require.Len(t, all, 1)
	require.Equal(t, model.PlantID{3}, all[0].Plant)
}

// The longer they stood together, the better the contact fits.
func TestLongerTogetherFitsBetter(t *testing.T) {
	last := 0.0
	for day := 22; day < 40; day += 4 {
		fit := contacts(newHouse().did(-50, model.Moved, shelf, 2).did(day, model.Moved, sill, 2))[2].Fit
		require.GreaterOrEqual(t, fit, last)
		last = fit
	}
	require.Positive(t, last)
}
