package plan_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/plan"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

// small is a case small enough to look at every course there is.
func small(tb testing.TB, s refdata.Species, members, horizon int, target float64, shelf ...*model.Product) plan.Case {
	c := caseOf(tb, s, 21, population.Animals{0, 3, 0, 2}, shelf...)
	var err error
	c.Cloud, err = c.Model.Holding(members, 4, population.Animals{0, 3, 0, 2})
	require.NoError(tb, err)
	c.Horizon, c.Target = horizon, target
	return c
}

// The search prunes and halves; going through every course one after the other
// must come to the same number of sprays and the same chance.
func TestSearchFindsWhatBruteForceFinds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		species := rapid.SampledFrom([]refdata.Species{refdata.WesternFlowerThrips, refdata.TwoSpottedMite, refdata.CitrusMealybug}).Draw(rt, "species")
		shelf := rapid.SampledFrom([][]*model.Product{{soap}, {soap, fast}, {fast, lasting, helpers}, {roots, soap}}).Draw(rt, "shelf")
		c := small(t, species, rapid.IntRange(4, 24).Draw(rt, "members"), rapid.IntRange(15, 40).Draw(rt, "horizon"), rapid.Float64Range(0.05, 0.95).Draw(rt, "target"), shelf...)
		for _, most := range []plan.Rung{plan.Gentle, plan.Systemic} {
			wantN, wantChance, looked, err := plan.Brute(c, most)
			require.NoError(rt, err)
			n, chance, err := plan.Fewest(c, most)
			require.NoError(rt, err)
			require.Equal(rt, wantN, n, "of %d courses", looked)
			if wantN > 0 {
				require.InDelta(rt, wantChance, chance, 1e-12)
			}
		}
	})
}

// Where the search compares courses on a few members of many, it misses none that
// reaches the target, and asks for at most one spray more than the best.
func TestASmallSampleCostsAtMostOneSpray(t *testing.T) {
	for name, x := range map[string]struct {
		species refdata.Species
		shelf   *model.Product
		target  float64
	}{
		"thrips, soap":     {refdata.WesternFlowerThrips, soap, 0.7},
		"thrips, spinosad": {refdata.WesternFlowerThrips, lasting, 0.7},
		"mites":            {refdata.TwoSpottedMite, soap, 0.9},
		"mealybugs":        {refdata.CitrusMealybug, soap, 0.9},
		"aphids":           {refdata.MelonAphid, soap, 0.8},
	} {
		t.Run(name, func(t *testing.T) {
			c := small(t, x.species, plan.Members, 40, x.target, x.shelf)
			least, _, _, err := plan.Brute(c, plan.Systemic)
			require.NoError(t, err)
			n, chance, err := plan.Fewest(c, plan.Systemic)
			require.NoError(t, err)
			require.GreaterOrEqual(t, chance, x.target)
			require.GreaterOrEqual(t, n, least)
			require.LessOrEqual(t, n, least+1)
		})
	}
}

// With one soap and no water, every set of days that the label allows can be gone
// through, whether evenly spaced or not, by the population model alone. The course
// found never needs more sprays than the best of them, and never claims fewer.
func TestNoSetOfDaysNeedsFewerSprays(t *testing.T) {
	for name, x := range map[string]struct {
		species refdata.Species
		horizon int
		target  float64
		gap     int
	}{
		"thrips, little wanted":   {refdata.WesternFlowerThrips, 20, 0.08, 5},
		"thrips, more wanted":     {refdata.WesternFlowerThrips, 24, 0.16, 4},
		"mites":                   {refdata.TwoSpottedMite, 18, 0.1, 3},
		"mealybugs":               {refdata.CitrusMealybug, 24, 0.3, 5},
		"aphids, a long interval": {refdata.MelonAphid, 16, 0.05, 3},
	} {
		t.Run(name, func(t *testing.T) {
			product := *soap
			product.MinInterval = x.gap
			c := small(t, x.species, 20, x.horizon, x.target, &product)
			c.Wishes.NoRinsing = true
			least := leastOfAll(t, c, x.gap)
			p, err := plan.Find(c, plan.Watch{})
			require.NoError(t, err)
			o := option(t, p, plan.FewestSprays)
			if least == 0 {
				require.False(t, o.Reaches)
				return
			}
			require.True(t, o.Reaches)
			require.Equal(t, least, o.Sprays)
		})
	}
}

// leastOfAll is the smallest number of days, at least gap apart, on which soap
// reaches the target; 0 if none of up to six does.
func leastOfAll(t *testing.T, c plan.Case, gap int) int {
	w, err := c.Model.Climate(c.Days)
	require.NoError(t, err)
	for n := 1; n <= 6; n++ {
		best := 0.0
		eachSet(n, 0, c.Horizon, gap, nil, func(days []int) {
			var acts []population.Act
			for _, d := range days {
				acts = append(acts, population.Act{Day: d, Means: model.MeansSoap})
			}
			k, err := c.Model.Kills(len(c.Days), acts)
			require.NoError(t, err)
			chance, err := c.Cloud.Ending(w, c.Horizon, k)
			require.NoError(t, err)
			best = max(best, chance)
		})
		if best >= c.Target {
			return n
		}
	}
	return 0
}

func eachSet(n, from, to, gap int, days []int, do func([]int)) {
	if n == 0 {
		do(days)
		return
	}
	for d := from; d < to; d++ {
		eachSet(n-1, d+gap, to, gap, append(days[:len(days):len(days)], d), do)
	}
}

// With as few sprays as can be, no rinse is asked for that the course can do without:
// the population model alone, without any one of them, misses the target.
func TestNoRinseCanBeLeftOut(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		species := rapid.SampledFrom([]refdata.Species{refdata.WesternFlowerThrips, refdata.TwoSpottedMite, refdata.MelonAphid}).Draw(rt, "species")
		c := small(t, species, rapid.IntRange(4, 24).Draw(rt, "members"), rapid.IntRange(15, 40).Draw(rt, "horizon"), rapid.Float64Range(0.05, 0.95).Draw(rt, "target"), soap, fast)
		p, err := plan.Find(c, plan.Watch{})
		require.NoError(rt, err)
		o := option(t, p, plan.FewestSprays)
		require.InDelta(rt, chanceOf(t, c, o.Steps), o.Chance, 1e-12)
		for i, s := range o.Steps {
			if o.Reaches && (s.Kind == plan.Rinse || s.Kind == plan.Wipe) {
				require.Less(rt, chanceOf(t, c, slices.Delete(slices.Clone(o.Steps), i, i+1)), c.Target)
			}
		}
	})
}

// chanceOf is the chance of a course by the population model alone.
func chanceOf(t *testing.T, c plan.Case, steps []plan.Step) float64 {
	acts, err := c.Acts(steps)
	require.NoError(t, err)
	k, err := c.Model.Kills(len(c.Days), acts)
	require.NoError(t, err)
	w, err := c.Model.Climate(c.Days)
	require.NoError(t, err)
	chance, err := c.Cloud.Ending(w, c.Cloud.Day()+c.Horizon, k)
	require.NoError(t, err)
	return chance
}

// Where the target is out of reach a course asks for less than all that the label
// allows, and says what all would come to: the population model, given a spray on
// every day that the label allows and a rinse on each day between, agrees.
func TestMissedTargetAsksForLess(t *testing.T) {
	for name, x := range map[string]struct {
		species refdata.Species
		gap     int
	}{
		"thrips": {refdata.WesternFlowerThrips, 7},
		"mites":  {refdata.TwoSpottedMite, 10},
		"aphids": {refdata.MelonAphid, 14},
	} {
		t.Run(name, func(t *testing.T) {
			product := *soap
			product.MinInterval = x.gap
			c := small(t, x.species, 60, 60, 0.999, &product)
			p, err := plan.Find(c, plan.Watch{})
			require.NoError(t, err)
			o := option(t, p, plan.FewestSprays)
			require.False(t, o.Reaches)
			require.InDelta(t, chanceOf(t, c, o.Steps), o.Chance, 1e-12)
			require.GreaterOrEqual(t, o.Chance, 0.8*o.Utmost)
			var all []plan.Step
			for day := range c.Horizon {
				step := plan.Step{Day: c.Today.Add(day), Kind: plan.Rinse}
				if day%x.gap == 0 {
					step.Kind, step.Product = plan.Spray, product.ID
				}
				all = append(all, step)
			}
			require.LessOrEqual(t, o.Utmost, chanceOf(t, c, all))
			require.Less(t, o.Sprays+o.Washes, len(all)/2, "what buys little is left out")
		})
	}
}
