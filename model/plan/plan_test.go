package plan_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/plan"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

func TestOptionsStandSideBySide(t *testing.T) {
	c := caseOf(t, refdata.WesternFlowerThrips, 21, population.Animals{0, 4, 0, 2}, allShelf...)
	p := find(t, c)
	fewest, soonest, water := option(t, p, plan.FewestSprays), option(t, p, plan.SoonestOver), option(t, p, plan.NoChemicals)
	require.True(t, fewest.Reaches)
	require.True(t, soonest.Reaches)
	require.LessOrEqual(t, fewest.Sprays, soonest.Sprays)
	require.LessOrEqual(t, soonest.Over, fewest.Over)
	require.Zero(t, water.Sprays)
	require.Positive(t, water.Washes)
	require.Equal(t, plan.Physical, water.Rung)
	require.Equal(t, today.Add(plan.DefaultHorizon), p.Until)
	require.Equal(t, []plan.Refusal{{Product: roots.ID, Why: plan.PestNotNamed}, {Product: unnamed.ID, Why: plan.PestsNotSaid}}, p.Refused)
	require.Equal(t, p, find(t, c), "the same case gives the same plan")
}

// In a warm room thrips larvae are within reach for three to four days, and a label
// that asks for more is told and bridged.
func TestALongLabelIntervalIsToldAndBridged(t *testing.T) {
	c := caseOf(t, refdata.WesternFlowerThrips, 25, population.Animals{0, 2, 0, 1}, lasting, fast)
	c.Target = 0.85
	p := find(t, c)
	require.Equal(t, []plan.Held{{Product: fast.ID, Label: 7, Wanted: 4}, {Product: lasting.ID, Label: 7, Wanted: 4}}, p.Held)
	only := *fast
	only.MaxPerSeason, only.Group, only.Active = 0, "", ""
	only.Means = model.MeansSoap
	c.Shelf = []*model.Product{&only}
	o := option(t, find(t, c), plan.FewestSprays)
	s, r, ok := because(o, plan.Bridges)
	require.True(t, ok)
	require.Equal(t, plan.Rinse, s.Kind)
	require.Zero(t, s.Product)
	require.Positive(t, r.Days)
	require.LessOrEqual(t, r.Wanted, 4)
	_, r, ok = because(o, plan.LabelGap)
	require.True(t, ok)
	require.Equal(t, 7, r.Days)
	require.Less(t, r.Wanted, 7)
	c.Wishes.NoRinsing = true
	_, _, ok = because(option(t, find(t, c), plan.FewestSprays), plan.Bridges)
	require.False(t, ok)
}

// The wanted gap is the degree-days for which larvae can be reached, over the days'
// own temperatures: 54 above 9.5 °C are 5 days at 20 °C and 4 at 25 °C, and a cold
// spell makes it longer.
func TestTheGapFollowsTheTemperatureOfTheDays(t *testing.T) {
	quick := *soap
	quick.MinInterval, quick.MaxCelsius = 1, 35
	for name, x := range map[string]struct {
		celsius float64
		want    int
	}{"20 degrees": {20, 6}, "25 degrees": {25, 4}, "17 degrees": {17, 8}} {
		t.Run(name, func(t *testing.T) {
			c := caseOf(t, refdata.WesternFlowerThrips, x.celsius, population.Animals{0, 1, 0, 1}, &quick)
			c.Target, c.Wishes.NoRinsing = 0.5, true
			_, r, ok := because(option(t, find(t, c), plan.FewestSprays), plan.CatchesYoung)
			require.True(t, ok)
			require.Equal(t, x.want, r.Days, "54/(T-9.5), in whole days")
			require.InDelta(t, 54, r.DegreeDays, 1e-9)
			require.InDelta(t, 9.5, r.Lower, 1e-9)
			require.InDelta(t, x.celsius, r.Celsius, 0.05)
		})
	}
}

func TestASensitivePlantHasOneLeafTriedFirst(t *testing.T) {
	c := caseOf(t, refdata.TwoSpottedMite, 21, population.Animals{0, 1, 0, 1}, soap)
	c.Plants[0].Sensitive, c.Target = true, 0.3
	o := option(t, find(t, c), plan.FewestSprays)
	s, _, ok := because(o, plan.LeafToTry)
	require.True(t, ok)
	require.Equal(t, plan.TryLeaf, s.Kind)
	require.Equal(t, today, s.Day)
	s, r, ok := because(o, plan.OneLeafFirst)
	require.True(t, ok)
	require.Equal(t, today.Add(2), s.Day)
	require.Equal(t, 2, r.Days)
}

func TestWishesAndFoodPlantsRuleProductsOut(t *testing.T) {
	c := caseOf(t, refdata.MelonAphid, 21, population.Animals{0, 1, 0, 1}, soap, roots)
	c.Wishes.NoChemicals = true
	p := find(t, c)
	require.Equal(t, []plan.Refusal{{Product: soap.ID, Why: plan.WishNoChemical}, {Product: roots.ID, Why: plan.WishNoChemical}}, p.Refused)
	for _, o := range p.Options {
		require.Zero(t, o.Sprays)
	}
	c.Wishes = plan.Wishes{Pets: true}
	require.Equal(t, []plan.Refusal{{Product: roots.ID, Why: plan.WishPets}}, find(t, c).Refused)
	c.Wishes = plan.Wishes{Children: true}
	require.Equal(t, []plan.Refusal{{Product: roots.ID, Why: plan.WishChildren}}, find(t, c).Refused)
	c.Wishes = plan.Wishes{}
	c.Plants[0].Edible = true
	p = find(t, c)
	require.Len(t, p.Refused, 2)
	require.Equal(t, plan.Refusal{Product: soap.ID, Why: plan.NotForFood, Plants: []model.PlantID{{1}}}, p.Refused[0])
	for _, o := range p.Options {
		require.Zero(t, o.Sprays)
	}
}

// What stands in the way is named with what it costs.
func TestAnImpossibleCaseSaysWhatBinds(t *testing.T) {
	once := *soap
	once.MaxPerSeason = 2
	c := caseOf(t, refdata.WesternFlowerThrips, 21, population.Animals{0, 6, 0, 3}, &once)
	o := option(t, find(t, c), plan.FewestSprays)
	require.False(t, o.Reaches)
	require.Zero(t, o.Over)
	require.NotEmpty(t, o.Bound)
	require.Equal(t, plan.LimitSeason, o.Bound[0].Limit)
	require.Greater(t, o.Bound[0].Chance, o.Chance)
	c = caseOf(t, refdata.BroadMite, 21, population.Animals{0, 6, 0, 3})
	c.Wishes.NoRinsing = true
	_, err := plan.Find(c, plan.Watch{})
	require.ErrorIs(t, err, plan.ErrNoCourse)
}

func TestFoodPlantsBindWhereAProductWouldHelp(t *testing.T) {
	c := caseOf(t, refdata.CitrusMealybug, 21, population.Animals{0, 3, 0, 1}, soap)
	c.Plants[0].Edible, c.Horizon = true, 20
	o := option(t, find(t, c), plan.NoChemicals)
	require.False(t, o.Reaches)
	p := find(t, c)
	require.Equal(t, plan.NoChemicals, p.Options[0].Goal)
	var limits []plan.Limit
	for _, b := range p.Options[0].Bound {
		limits = append(limits, b.Limit)
	}
	require.Contains(t, limits, plan.LimitFood)
	require.Contains(t, limits, plan.LimitHorizon)
}

// Gentle means come first; stronger ones only if those do not reach the target, or
// the outbreak is heavy.
func TestTheLadderIsClimbedOnlyAsFarAsNeeded(t *testing.T) {
	light := caseOf(t, refdata.CitrusMealybug, 20, population.Animals{0, 2, 0, 1}, soap, roots)
	light.Target = 0.9
	o := option(t, find(t, light), plan.FewestSprays)
	require.True(t, o.Reaches)
	require.Equal(t, plan.Gentle, o.Rung)
	hard := caseOf(t, refdata.WesternFlowerThrips, 21, population.Animals{0, 4, 0, 2}, allShelf...)
	require.Equal(t, plan.ShortLived, option(t, find(t, hard), plan.FewestSprays).Rung)
}

func TestTheWholeCourseIsHeldAgainstTheStock(t *testing.T) {
	c := caseOf(t, refdata.CitrusMealybug, 20, population.Animals{0, 2, 0, 1}, soap)
	c.Target = 0.9
	o := option(t, find(t, c), plan.FewestSprays)
	require.Len(t, o.Buys, 1)
	b := o.Buys[0]
	require.Equal(t, o.Sprays, b.Batch.Times)
	// 100 ml of spray at 20 ml a litre is 2 ml each time; 9 ml last four times.
	require.EqualValues(t, 2_000_000, b.Batch.Once.Product.Millionths)
	require.Greater(t, o.Sprays, 4)
	require.False(t, b.Enough)
	sprays := 0
	for _, s := range o.Steps {
		if s.Kind == plan.Spray {
			if sprays++; sprays == 5 {
				require.Equal(t, s.Day.Add(-1), b.By)
			}
		}
	}
	plenty := *soap
	plenty.StockMilli = 1_000_000
	c.Shelf = []*model.Product{&plenty}
	b = option(t, find(t, c), plan.FewestSprays).Buys[0]
	require.True(t, b.Enough)
	require.Zero(t, b.By)
}

func TestHotDaysAreNotUsed(t *testing.T) {
	c := caseOf(t, refdata.TwoSpottedMite, 22, population.Animals{0, 1, 0, 1}, soap)
	c.Target = 0.3
	for d := range 3 {
		c.Days[d] = population.Day{Low: 22, High: 31} // the label says 30
	}
	s, r, ok := because(option(t, find(t, c), plan.FewestSprays), plan.NotInHeat)
	require.True(t, ok)
	require.GreaterOrEqual(t, s.Day, today.Add(3))
	require.InDelta(t, 30, r.Celsius, 1e-9)
}

func TestASearchCanBeFollowedAndStopped(t *testing.T) {
	c := caseOf(t, refdata.WesternFlowerThrips, 21, population.Animals{0, 4, 0, 2}, allShelf...)
	last, of, asked := 0, 0, 0
	_, err := plan.Find(c, plan.Watch{
		Progress: func(done, all int) {
			require.GreaterOrEqual(t, done, last)
			require.LessOrEqual(t, done, all)
			last, of = done, all
		},
		Stop: func() bool { asked++; return false },
	})
	require.NoError(t, err)
	require.Equal(t, of, last)
	for _, after := range []int{0, 1, asked / 3, asked - 1} {
		n := 0
		_, err = plan.Find(c, plan.Watch{Stop: func() bool { n++; return n > after }})
		require.ErrorIs(t, err, plan.ErrStopped)
		require.Equal(t, after+1, n, "it stops when first told to")
	}
}

func TestCasesThatCannotBe(t *testing.T) {
	for name, x := range map[string]struct {
		spoil func(*plan.Case)
		err   error
	}{
		"no plants":          {func(c *plan.Case) { c.Plants = nil }, plan.ErrCase},
		"no plant":           {func(c *plan.Case) { c.Plants = []*model.Plant{nil} }, plan.ErrCase},
		"no cloud":           {func(c *plan.Case) { c.Cloud = nil }, plan.ErrCase},
		"no model":           {func(c *plan.Case) { c.Model = nil }, plan.ErrCase},
		"no day":             {func(c *plan.Case) { c.Today = 0 }, plan.ErrCase},
		"target":             {func(c *plan.Case) { c.Target = 1.5 }, plan.ErrCase},
		"NaN":                {func(c *plan.Case) { c.Target = math.NaN() }, plan.ErrCase},
		"horizon":            {func(c *plan.Case) { c.Horizon = -1 }, plan.ErrCase},
		"too few days":       {func(c *plan.Case) { c.Days = c.Days[:30] }, population.ErrDays},
		"empty shelf entry":  {func(c *plan.Case) { c.Shelf = []*model.Product{nil} }, plan.ErrCase},
		"applied tomorrow":   {func(c *plan.Case) { c.History = []plan.Past{{Product: soap, Day: today.Add(1)}} }, population.ErrOrder},
		"temperature":        {func(c *plan.Case) { c.Days[3].High = math.NaN() }, nil},
		"negative intervals": {func(c *plan.Case) { c.Shelf = []*model.Product{{MinInterval: -1}} }, plan.ErrCase},
	} {
		t.Run(name, func(t *testing.T) {
			c := caseOf(t, refdata.TwoSpottedMite, 21, population.Animals{0, 1, 0, 1}, soap)
			x.spoil(&c)
			_, err := plan.Find(c, plan.Watch{})
			require.Error(t, err)
			if x.err != nil {
				require.ErrorIs(t, err, x.err)
			}
		})
	}
}

func TestHoursOfReentryBecomeDays(t *testing.T) {
	for hours, days := range map[int]int{-1: 0, 0: 0, 1: 1, 4: 1, 12: 1, 13: 2, 24: 2, 36: 2, 37: 3, 48: 3} {
		require.Equal(t, days, plan.ReentryDays(hours), "%d hours", hours)
	}
}

func BenchmarkFind(b *testing.B) {
	c := caseOf(b, refdata.WesternFlowerThrips, 21, population.Animals{0, 4, 0, 2}, allShelf...)
	b.ReportAllocs()
	for b.Loop() {
		_, err := plan.Find(c, plan.Watch{})
		require.NoError(b, err)
	}
}

// The worst case: nothing reaches the target, so that every rung is tried and every
// limit lifted once.
func BenchmarkFindImpossible(b *testing.B) {
	c := caseOf(b, refdata.WesternFlowerThrips, 21, population.Animals{0, 60, 0, 30}, allShelf...)
	for b.Loop() {
		_, err := plan.Find(c, plan.Watch{})
		require.NoError(b, err)
	}
}
