package standing_test

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/standing"
)

var (
	monday   = model.DateOf(2025, time.June, 2)
	shelf    = model.PlaceID{1}
	fern     = model.PlantID{1}
	ivy      = model.PlantID{2}
	outbreak = model.OutbreakID{1}
	other    = model.OutbreakID{2}
	finding  = []model.Finding{{Part: model.Underside, Signs: model.FineWebbing}}
)

// house is an invented household of a fern and an ivy on one shelf.
type house struct {
	*model.Book
	seq uint64
}

func newHouse() *house {
	b := model.NewBook(model.HouseholdID{1})
	b.Places[shelf] = &model.Place{ID: shelf, Name: "Shelf"}
	b.Plants[fern] = &model.Plant{ID: fern, Name: "Fern", Place: shelf}
	b.Plants[ivy] = &model.Plant{ID: ivy, Name: "Ivy", Place: shelf}
	return &house{Book: b}
}

func noon(day int) model.Instant { return monday.Add(day).Start(time.UTC) + 12*3600_000 }

func (h *house) did(day int, body model.Body) *model.Fact {
	h.seq++
	at := noon(day) + model.Instant(h.seq)
	f := &model.Fact{ID: model.FactID{Device: model.DeviceID{1}, Seq: h.seq}, Stamp: h.seq, At: at, Body: body}
	h.Add(f)
	return f
}

func (h *house) handle(day int, k model.HandlingKind) *model.Fact {
	return h.did(day, &model.Handling{Kind: k, Plants: []model.PlantID{fern}})
}

func (h *house) look(day int, found ...model.Finding) *model.Fact {
	return h.did(day, &model.Inspection{Plant: fern, Findings: found})
}

func (h *house) open(id model.OutbreakID, day int) *model.Outbreak {
	o := &model.Outbreak{ID: id, Opened: monday.Add(day), Affects: map[model.PlantID]bool{fern: true}}
	h.Outbreaks[id] = o
	return o
}

func (h *house) accept(day int, o model.OutbreakID, plants ...model.PlantID) *model.Fact {
	return h.did(day, &model.PlanAccepted{Plan: model.PlanID{byte(h.seq)}, Outbreak: o, Plants: plants})
}

func (h *house) of(t *testing.T, day int) standing.Status {
	s, ok := standing.Of(h.Book, fern, noon(day)+3600_000, time.UTC)
	require.True(t, ok)
	require.Equal(t, s, standing.Derive(h.Book, noon(day)+3600_000, time.UTC)[fern])
	return s
}

func TestStanding(t *testing.T) {
	for name, c := range map[string]struct {
		facts func(*house)
		day   int
		want  standing.Standing
		why   standing.Why
		since int // days after Monday, -1 for no date
	}{
		"never looked at":                  {func(*house) {}, 0, standing.Watch, standing.NeverLooked, -1},
		"looked at, clean":                 {func(h *house) { h.look(1) }, 5, standing.Clear, standing.CleanLook, 1},
		"found something":                  {func(h *house) { h.look(1, finding...) }, 5, standing.Watch, standing.FoundLast, 1},
		"found, then clean":                {func(h *house) { h.look(1, finding...); h.look(3) }, 5, standing.Clear, standing.CleanLook, 3},
		"clean, then found":                {func(h *house) { h.look(1); h.look(3, finding...) }, 5, standing.Watch, standing.FoundLast, 3},
		"the finding was withdrawn":        {func(h *house) { f := h.look(3, finding...); h.look(1); h.did(4, &model.Withdrawn{Fact: f.ID}) }, 5, standing.Clear, standing.CleanLook, 1},
		"looked at earlier, written later": {func(h *house) { h.look(3); h.look(1, finding...) }, 5, standing.Clear, standing.CleanLook, 3},
		"came in":                          {func(h *house) { h.handle(0, model.CameIn); h.look(1) }, 20, standing.Watch, standing.CameInLately, 0},
		"came in three weeks ago":          {func(h *house) { h.handle(0, model.CameIn); h.look(1) }, 21, standing.Clear, standing.CleanLook, 1},
		"an open outbreak names it":        {func(h *house) { h.look(1); h.open(outbreak, 2) }, 5, standing.Watch, standing.Affected, 2},
		"no longer named":                  {func(h *house) { h.look(1); h.open(outbreak, 2).Affects[fern] = false }, 5, standing.Clear, standing.CleanLook, 1},
		"under a plan":                     {func(h *house) { h.open(outbreak, 2); h.accept(3, outbreak, fern) }, 5, standing.InTreatment, standing.UnderPlan, 3},
		"treated beside the affected":      {func(h *house) { h.look(1); h.open(outbreak, 2).Affects[fern] = false; h.accept(3, outbreak, fern) }, 5, standing.InTreatment, standing.UnderPlan, 3},
		"the plan was withdrawn": {func(h *house) {
			h.open(outbreak, 2)
			f := h.accept(3, outbreak, fern)
			h.did(4, &model.Withdrawn{Fact: f.ID})
		}, 5, standing.Watch, standing.Affected, 2},
		"a later plan leaves it out":      {func(h *house) { h.open(outbreak, 2); h.accept(3, outbreak, fern); h.accept(4, outbreak, ivy) }, 5, standing.Watch, standing.Affected, 2},
		"one of two outbreaks has a plan": {func(h *house) { h.open(outbreak, 1); h.accept(3, outbreak, fern); h.open(other, 2) }, 5, standing.InTreatment, standing.UnderPlan, 3},
		"two outbreaks, one account":      {func(h *house) { h.open(other, 3); h.open(outbreak, 2) }, 5, standing.Watch, standing.Affected, 2},
		"closed":                          {func(h *house) { h.look(1); h.open(outbreak, 2).Closed = monday.Add(4); h.accept(3, outbreak, fern) }, 24, standing.Watch, standing.LatelyCleared, 4},
		"closed three weeks ago":          {func(h *house) { h.look(1); h.open(outbreak, 2).Closed = monday.Add(4) }, 25, standing.Clear, standing.CleanLook, 1},
		"closed, and found again":         {func(h *house) { h.open(outbreak, 2).Closed = monday.Add(4); h.look(5, finding...) }, 6, standing.Watch, standing.FoundLast, 5},
		"apart":                           {func(h *house) { h.open(outbreak, 2); h.accept(3, outbreak, fern); h.handle(4, model.Isolated) }, 5, standing.Quarantined, standing.KeptApart, 4},
		"released":                        {func(h *house) { h.look(1); h.handle(2, model.Isolated); h.handle(4, model.Released) }, 5, standing.Clear, standing.CleanLook, 1},
		"released earlier, written later": {func(h *house) { h.handle(4, model.Isolated); h.handle(2, model.Released) }, 5, standing.Quarantined, standing.KeptApart, 4},
		"rinsed":                          {func(h *house) { h.look(1); h.handle(2, model.Rinsed); h.handle(3, model.WentOut) }, 5, standing.Clear, standing.CleanLook, 1},
		"thrown out":                      {func(h *house) { h.handle(2, model.Isolated); h.handle(4, model.ThrownOut) }, 5, standing.Lost, standing.ThrownOut, 4},
		"taken off the list":              {func(h *house) { h.handle(2, model.ThrownOut); h.Plants[fern].Removed = true }, 5, standing.Lost, standing.Removed, -1},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse()
			c.facts(h)
			s := h.of(t, c.day)
			require.Equal(t, c.want, s.Standing)
			require.Equal(t, c.why, s.Why)
			since := model.Date(0)
			if c.since >= 0 {
				since = monday.Add(c.since)
			}
			require.Equal(t, since, s.Since)
		})
	}
}

func TestLastLookAndLastFinding(t *testing.T) {
	h := newHouse()
	found := h.look(1, finding...)
	clean := h.look(3)
	s := h.of(t, 4)
	require.Equal(t, clean, s.LastLook)
	require.Equal(t, found, s.LastFound)
	require.False(t, s.Affected)
	h.open(outbreak, 1)
	s = h.of(t, 4)
	require.True(t, s.Affected)
	require.Equal(t, outbreak, s.Outbreak)
	_, ok := standing.Of(h.Book, model.PlantID{99}, noon(0), time.UTC)
	require.False(t, ok)
}

func TestWalkGoesFromCleanToKeptApart(t *testing.T) {
	h := newHouse()
	h.Outbreaks[outbreak] = &model.Outbreak{ID: outbreak, Affects: map[model.PlantID]bool{}}
	plant := func(n byte, name string, do func(model.PlantID)) {
		id := model.PlantID{n}
		h.Plants[id] = &model.Plant{ID: id, Name: name, Place: shelf}
		do(id)
	}
	clean := func(id model.PlantID) { h.did(0, &model.Inspection{Plant: id}) }
	plant(1, "Apart", func(id model.PlantID) { h.did(1, &model.Handling{Kind: model.Isolated, Plants: []model.PlantID{id}}) })
	plant(2, "Found", func(id model.PlantID) { h.did(1, &model.Inspection{Plant: id, Findings: finding}) })
	plant(3, "Clean B", clean)
	plant(4, "Under plan", func(id model.PlantID) { clean(id); h.accept(1, outbreak, id) })
	plant(5, "New", func(id model.PlantID) { h.did(1, &model.Handling{Kind: model.CameIn, Plants: []model.PlantID{id}}) })
	plant(6, "Clean A", clean)
	plant(7, "Gone", func(id model.PlantID) { h.did(1, &model.Handling{Kind: model.ThrownOut, Plants: []model.PlantID{id}}) })
	plant(8, "Elsewhere", clean)
	h.Plants[model.PlantID{8}].Place = model.PlaceID{2}

	var names, wash []string
	for _, s := range standing.Walk(h.Book, shelf, standing.Derive(h.Book, noon(2), time.UTC)) {
		names = append(names, s.Plant.Name)
		if s.WashBefore {
			wash = append(wash, s.Plant.Name)
		}
	}
	require.Equal(t, []string{"Clean A", "Clean B", "New", "Found", "Under plan", "Apart"}, names)
	require.Equal(t, []string{"Found", "Apart"}, wash)
}

func TestNobodyWashesBeforeTheFirstPlant(t *testing.T) {
	h := newHouse()
	h.handle(0, model.Isolated)
	h.did(0, &model.Handling{Kind: model.Isolated, Plants: []model.PlantID{ivy}})
	stops := standing.Walk(h.Book, shelf, standing.Derive(h.Book, noon(0), time.UTC))
	require.Len(t, stops, 2)
	require.False(t, stops[0].WashBefore || stops[1].WashBefore)
}

// The laws: the order of arrival shows nowhere; a clean plant is never walked to
// after an affected one; clear is said only of a plant whose last look was clean.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse()
		h.open(outbreak, 0).Affects[ivy] = rapid.Bool().Draw(t, "ivy too")
		if rapid.Bool().Draw(t, "closed") {
			h.Outbreaks[outbreak].Closed = monday.Add(rapid.IntRange(0, 9).Draw(t, "closing day"))
		}
		for range rapid.IntRange(0, 15).Draw(t, "facts") {
			h.did(rapid.IntRange(-30, 9).Draw(t, "day"), anyBody(t, h))
		}
		facts := slices.Concat(h.Facts(), h.Facts())
		rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0)).Shuffle(len(facts), func(i, j int) { facts[i], facts[j] = facts[j], facts[i] })
		again := newHouse()
		again.Outbreaks = h.Outbreaks
		for _, f := range facts {
			again.Add(f)
		}
		all := standing.Derive(h.Book, noon(10), time.UTC)
		require.Equal(t, all, standing.Derive(again.Book, noon(10), time.UTC))
		for _, s := range all {
			if s.Standing == standing.Clear {
				require.NotNil(t, s.LastLook)
				require.False(t, s.LastLook.Body.(*model.Inspection).Found())
				require.False(t, s.Affected || s.Apart)
			}
		}
		dirty := false
		for _, stop := range standing.Walk(h.Book, shelf, all) {
			now := stop.Status.Affected || stop.Status.Apart || stop.Status.Standing == standing.InTreatment
			require.False(t, dirty && !now)
			dirty = now
		}
	})
}

func anyBody(t *rapid.T, h *house) model.Body {
	plants := rapid.SliceOfNDistinct(rapid.SampledFrom([]model.PlantID{fern, ivy}), 1, 2, rapid.ID).Draw(t, "plants")
	switch rapid.IntRange(0, 4).Draw(t, "body") {
	case 0:
		return &model.Inspection{Plant: plants[0]}
	case 1:
		return &model.Inspection{Plant: plants[0], Findings: finding}
	case 2:
		return &model.PlanAccepted{Plan: model.PlanID{1}, Outbreak: outbreak, Plants: plants}
	case 3:
		if h.Len() > 0 {
			return &model.Withdrawn{Fact: rapid.SampledFrom(h.Facts()).Draw(t, "target").ID}
		}
	}
	return &model.Handling{Kind: model.HandlingKind(rapid.IntRange(1, 10).Draw(t, "kind")), Plants: plants}
}
