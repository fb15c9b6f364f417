package evidence_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/evidence"
)

var (
	ada = model.MemberID{15: 1} // invented
	bo  = model.MemberID{15: 2}
)

const start = model.Date(20000)

func look(day int, who model.MemberID, e float64, parts ...model.Part) evidence.Event {
	ev := evidence.Event{Day: start.Add(day), Who: who}
	for _, p := range parts {
		ev.Parts = append(ev.Parts, evidence.Seen{Part: p, Chance: e})
	}
	return ev
}

func plant(events ...evidence.Event) *evidence.History {
	return &evidence.History{From: start, Prior: 0.5, Arrival: 0.001, Recall: evidence.CommonRecall(), Events: events}
}

func chanceOn(t require.TestingT, h *evidence.History, day int) float64 {
	c, err := h.Chance(start.Add(day))
	require.NoError(t, err)
	finite(t, c.Chance)
	require.GreaterOrEqual(t, c.Chance, 0.0)
	require.LessOrEqual(t, c.Chance, 1.0)
	return c.Chance
}

// With looks far apart nothing is repeated, and the chance is that of the published
// rows of clean rounds: sensitivity 0.4, 1 % arrivals between them, prior 0.5.
func TestHistoryOfFarLooksIsThePublishedSeries(t *testing.T) {
	h := &evidence.History{From: start, Prior: 0.5, Recall: evidence.Recall{Days: 1}}
	const apart = 100
	h.Arrival = 1 - math.Pow(0.99, 1.0/apart)
	rows := 0
	for _, r := range readTable(t, "statistics.csv") {
		if r[2] != "posterior_freedom_series" {
			continue
		}
		rows++
		h.Events = append(h.Events, look(apart*rows, ada, 0.4, model.Underside))
		require.InDelta(t, number(t, r[5]), chanceOn(t, h, apart*rows), 1e-6, r[4])
	}
	require.Equal(t, 10, rows)
}

func TestFreshIsTheShareOfALookThatIsNew(t *testing.T) {
	h := plant(
		look(0, ada, 0.4, model.Underside),
		look(0, ada, 0.4, model.Underside, model.Stem), // the stem is new, the underside is not
		look(14, ada, 0.4, model.Underside),
		look(14, bo, 0.4, model.Underside),
		evidence.Event{Day: start.Add(15), Cure: 0.5},
	)
	for i, want := range []float64{1, 0.5, 1 - math.Exp(-1), 0.5, 0} {
		require.InDelta(t, want, h.Fresh(i), 1e-12, "look %d", i)
	}
}

func TestSameEyesSameLeaf(t *testing.T) {
	first := look(0, ada, 0.6, model.Underside)
	once := chanceOn(t, plant(first), 1)
	again := func(day int, who model.MemberID, part model.Part) float64 {
		return chanceOn(t, plant(first, look(day, who, 0.6, part)), max(1, day))
	}
	require.InDelta(t, once, again(0, ada, model.Underside), 0.001, "looking twice at once is looking once")
	require.Greater(t, again(1, bo, model.Underside), again(1, ada, model.Underside)+0.01, "other eyes see more")
	require.Greater(t, again(1, ada, model.NewGrowth), again(1, bo, model.Underside)+0.01, "another part is new")
	require.Greater(t, again(21, ada, model.Underside), again(1, ada, model.Underside)+0.01, "after weeks it is a new look")
}

func TestFindAndCure(t *testing.T) {
	found := look(10, ada, 0.6, model.Underside)
	found.Found = true
	h := plant(look(0, ada, 0.6, model.Underside), found)
	require.Zero(t, chanceOn(t, h, 10))
	h.Events = append(h.Events, look(20, ada, 0.6, model.Underside))
	require.Zero(t, chanceOn(t, h, 30), "a clean look alone does not make a pest that was found go away")
	h.Events = append(h.Events, evidence.Event{Day: start.Add(40), Cure: 0.8})
	require.InDelta(t, 0.8, chanceOn(t, h, 40), 1e-12)
	h.Events = append(h.Events, look(50, ada, 0.6, model.Underside))
	require.Greater(t, chanceOn(t, h, 50), 0.85)

	c, err := h.Chance(start.Add(50))
	require.NoError(t, err)
	require.Len(t, c.Steps, 5)
	require.InDelta(t, 0.6, c.Steps[1].Sensitivity, 0.35)
	require.InDelta(t, c.Steps[4].Before/(1-c.Steps[4].Sensitivity*(1-c.Steps[4].Before)), c.Steps[4].After, 1e-12)
}

// What was found had been seen, so the look after a find is wholly new.
func TestFindEndsRepeating(t *testing.T) {
	found := look(1, ada, 0.6, model.Underside)
	found.Found = true
	h := plant(look(0, ada, 0.6, model.Underside), found, look(2, ada, 0.6, model.Underside), look(3, ada, 0.6, model.Underside))
	c, err := h.Chance(start.Add(3))
	require.NoError(t, err)
	require.InDelta(t, 0.6, c.Steps[2].Sensitivity, 1e-12)
	require.Less(t, c.Steps[3].Sensitivity, 0.1)
}

func TestHistoryRefuses(t *testing.T) {
	backwards := plant(look(5, ada, 0.5, model.Stem), look(4, ada, 0.5, model.Stem))
	sure := plant(look(0, ada, 1.5, model.Stem))
	twice := plant(look(0, ada, 0.5, model.Stem, model.Stem))
	prior := plant()
	prior.Prior = math.NaN()
	for name, c := range map[string]struct {
		h   *evidence.History
		day int
		err error
	}{
		"days out of order":    {backwards, 9, evidence.ErrOrder},
		"a day in the past":    {plant(look(5, ada, 0.5, model.Stem)), 4, evidence.ErrFuture},
		"before the beginning": {plant(), -1, evidence.ErrFuture},
		"more than certain":    {sure, 1, evidence.ErrInput},
		"a part named twice":   {twice, 1, evidence.ErrInput},
		"no part of a plant":   {plant(look(0, ada, 0.5, 99)), 1, evidence.ErrInput},
		"not a number":         {prior, 1, evidence.ErrInput},
		"found without a look": {plant(evidence.Event{Day: start, Found: true}), 1, evidence.ErrInput},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := c.h.Chance(start.Add(c.day))
			require.ErrorIs(t, err, c.err)
		})
	}
}

func drawHistory(t *rapid.T) *evidence.History {
	h := plant()
	h.Prior = rapid.Float64Range(0.01, 0.99).Draw(t, "prior")
	h.Arrival = rapid.Float64Range(0, 0.02).Draw(t, "arrival")
	day := 0
	for range rapid.IntRange(0, 12).Draw(t, "looks") {
		day += rapid.IntRange(0, 15).Draw(t, "days")
		parts := []model.Part{model.Underside, model.NewGrowth, model.Soil}[:rapid.IntRange(1, 3).Draw(t, "parts")]
		h.Events = append(h.Events, look(day, rapid.SampledFrom([]model.MemberID{ada, bo}).Draw(t, "who"),
			rapid.Float64Range(0, 1).Draw(t, "chance"), parts...))
	}
	return h
}

func last(h *evidence.History) int {
	if n := len(h.Events); n > 0 {
		return h.Events[n-1].Day.Sub(start)
	}
	return 0
}

// One more clean look never lowers the chance, and never raises it above what the
// look would do if it were wholly new.
func TestCleanLookRaises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		day := last(h) + rapid.IntRange(0, 30).Draw(t, "later")
		before := chanceOn(t, h, day)
		e := rapid.Float64Range(0, 1).Draw(t, "e")
		h.Events = append(h.Events, look(day, ada, e, model.Underside))
		after := chanceOn(t, h, day)
		require.GreaterOrEqual(t, after, before-1e-12)
		fresh, err := evidence.AfterClean(before, e)
		require.NoError(t, err)
		require.LessOrEqual(t, after, fresh+1e-12)
	})
}

// Waiting never raises the chance, more arrivals never raise it, and a look that
// detects better never lowers it.
func TestChanceIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		day := last(h)
		now := chanceOn(t, h, day)
		require.LessOrEqual(t, chanceOn(t, h, day+rapid.IntRange(0, 99).Draw(t, "wait")), now+1e-12)
		more := *h
		more.Arrival = min(1, h.Arrival*2)
		require.LessOrEqual(t, chanceOn(t, &more, day), now+1e-12)
		if len(h.Events) > 0 {
			p := &h.Events[rapid.IntRange(0, len(h.Events)-1).Draw(t, "which")].Parts[0]
			p.Chance = (1 + p.Chance) / 2
			require.GreaterOrEqual(t, chanceOn(t, h, day), now-1e-12)
		}
	})
}

func TestMore(t *testing.T) {
	h := plant(look(0, ada, 0.6, model.Underside, model.NewGrowth))
	ask := evidence.MoreLooks{Target: 0.95, First: start.Add(1), Last: start.Add(90), Who: ada,
		Parts: []evidence.Seen{{Part: model.Underside, Chance: 0.6}, {Part: model.NewGrowth, Chance: 0.6}}}
	s, err := h.More(ask)
	require.NoError(t, err)
	require.NotEmpty(t, s.Days)
	require.Len(t, h.Events, 1, "the history itself is not changed")

	done := *h
	for i, d := range s.Days {
		done.Events = append(done.Events, evidence.Event{Day: d, Who: ada, Parts: ask.Parts})
		c, err := done.Chance(d)
		require.NoError(t, err)
		require.InDelta(t, c.Chance, s.Chances[i], 1e-12)
		require.Equal(t, i == len(s.Days)-1, c.Chance >= ask.Target)
	}

	for every := 1; every <= 28; every++ {
		fixed := ask
		fixed.Every = every
		other, err := h.More(fixed)
		if err != nil {
			continue
		}
		require.GreaterOrEqual(t, len(other.Days), len(s.Days))
		if len(other.Days) == len(s.Days) {
			require.GreaterOrEqual(t, other.Days[len(s.Days)-1], s.Days[len(s.Days)-1], "the soonest of the fewest")
		}
	}

	daily := ask
	daily.Every = 1
	d, err := h.More(daily)
	require.NoError(t, err)
	require.Greater(t, len(d.Days), len(s.Days), "daily looks by the same eyes cost more")

	already := ask
	already.Target = 0.5
	s, err = h.More(already)
	require.NoError(t, err)
	require.Empty(t, s.Days)
}

func TestMoreThatNeverGetsThere(t *testing.T) {
	ask := evidence.MoreLooks{Target: 0.99, First: start, Last: start.Add(365), Every: 7, Who: ada, Parts: []evidence.Seen{{Part: model.Underside, Chance: 0.3}}}
	h := plant()
	h.Arrival = 0.02
	_, err := h.More(ask)
	require.ErrorIs(t, err, evidence.ErrUnreachable)
	found := look(0, ada, 0.3, model.Underside)
	found.Found = true
	_, err = plant(found).More(ask)
	require.ErrorIs(t, err, evidence.ErrUnreachable, "what was found must be treated first")
	ask.Parts = nil
	_, err = h.More(ask)
	require.ErrorIs(t, err, evidence.ErrInput)
}

// Every answer of More reaches the target on its last day and not before.
func TestMoreHoldsItsPromise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		first := start.Add(last(h) + rapid.IntRange(0, 9).Draw(t, "wait"))
		ask := evidence.MoreLooks{Target: rapid.Float64Range(0.5, 0.99).Draw(t, "target"), First: first, Last: first.Add(120),
			Every: rapid.IntRange(0, 21).Draw(t, "every"), Who: bo,
			Parts: []evidence.Seen{{Part: model.Stem, Chance: rapid.Float64Range(0.1, 1).Draw(t, "e")}}}
		s, err := h.More(ask)
		if err != nil {
			require.ErrorIs(t, err, evidence.ErrUnreachable)
			return
		}
		for _, d := range s.Days {
			h.Events = append(h.Events, evidence.Event{Day: d, Who: bo, Parts: ask.Parts})
		}
		require.GreaterOrEqual(t, chanceOn(t, h, max(last(h), first.Sub(start))), ask.Target-1e-12)
	})
}

func TestPlace(t *testing.T) {
	p := evidence.Place{From: start, Prior: 0.8, Arrival: 0, Level: 0.1}
	for range 10 {
		p.Plants = append(p.Plants, *plant(look(7, ada, 0.5, model.Underside)))
	}
	got, err := p.Chance(start.Add(7))
	require.NoError(t, err)
	// One of ten plants would have it, and every one was looked at with 0.5.
	require.InDelta(t, 0.8/(1-0.5*0.2), got, 1e-12)

	unseen := p
	unseen.Plants = append([]evidence.History(nil), p.Plants...)
	for i := 5; i < 10; i++ {
		unseen.Plants[i].Events = nil
	}
	half, err := unseen.Chance(start.Add(7))
	require.NoError(t, err)
	require.InDelta(t, 0.8/(1-0.25*0.2), half, 1e-12, "plants nobody looked at hide it")

	found := look(8, ada, 0.5, model.Underside)
	found.Found = true
	unseen.Plants[0].Events = append(unseen.Plants[0].Events[:1:1], found)
	none, err := unseen.Chance(start.Add(9))
	require.NoError(t, err)
	require.Zero(t, none)
	unseen.Plants[0].Events = append(unseen.Plants[0].Events, evidence.Event{Day: start.Add(30), Cure: 0.9})
	cured, err := unseen.Chance(start.Add(30))
	require.NoError(t, err)
	require.Greater(t, cured, 0.5)
	require.Less(t, cured, 0.9)

	all, err := evidence.Together(0.9, 0.8)
	require.NoError(t, err)
	require.InDelta(t, 0.72, all, 1e-12)
	_, err = p.Chance(start.Add(-1))
	require.ErrorIs(t, err, evidence.ErrFuture)
}

// Two looks at a plant on one day count as looks at one plant, not at two.
func TestPlaceCountsPlantsNotLooks(t *testing.T) {
	p := evidence.Place{From: start, Prior: 0.5, Level: 0.5}
	p.Plants = []evidence.History{
		*plant(look(1, ada, 0.9, model.Underside), look(1, bo, 0.9, model.Underside)),
		*plant(),
	}
	got, err := p.Chance(start.Add(1))
	require.NoError(t, err)
	require.LessOrEqual(t, got, 0.5/(1-0.5*0.5)+1e-12)
}

func FuzzHistory(f *testing.F) {
	f.Add([]byte{1, 10, 3, 200}, 0.5, 0.01, 14.0)
	f.Fuzz(func(t *testing.T, raw []byte, prior, arrival, recall float64) {
		h := &evidence.History{From: start, Prior: prior, Arrival: arrival, Recall: evidence.Recall{Days: recall, OtherEyes: 0.5}}
		day := 0
		for i, b := range raw {
			day += int(b%32) - 1
			e := look(day, model.MemberID{15: b % 3}, float64(b)/200, model.Part(b%10))
			e.Found, e.Cure = b == 77, float64(i%3)/2
			h.Events = append(h.Events, e)
		}
		c, err := h.Chance(start.Add(day + 5))
		if err != nil {
			return
		}
		finite(t, c.Chance)
		require.True(t, c.Chance >= 0 && c.Chance <= 1)
		if s, err := h.More(evidence.MoreLooks{Target: 0.9, First: start.Add(day + 5), Last: start.Add(day + 99), Every: 7,
			Parts: []evidence.Seen{{Part: model.Stem, Chance: 0.5}}}); err == nil {
			finite(t, s.Chances...)
		}
	})
}
