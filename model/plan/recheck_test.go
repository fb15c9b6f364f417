package plan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/plan"
	"leafturn/model/population"
	"leafturn/model/refdata"
)

func TestACourseIsHeldAgainstNewCounts(t *testing.T) {
	c := caseOf(t, refdata.CitrusMealybug, 20, population.Animals{0, 2, 0, 1}, soap)
	c.Target = 0.9
	o := option(t, find(t, c), plan.FewestSprays)
	require.True(t, o.Reaches)
	v, err := plan.Recheck(c, o.Steps)
	require.NoError(t, err)
	require.Equal(t, plan.Verdict{Chance: o.Chance, Reaches: true, Over: o.Over}, v, "nothing has changed yet")

	worse := c
	worse.Cloud, err = c.Model.Holding(300, 4, population.Animals{0, 40, 0, 20})
	require.NoError(t, err)
	v, err = plan.Recheck(worse, o.Steps)
	require.NoError(t, err)
	require.False(t, v.Reaches)
	require.Zero(t, v.Over)
	require.Less(t, v.Chance, o.Chance)

	v, err = plan.Recheck(c, nil)
	require.NoError(t, err)
	require.Less(t, v.Chance, 0.5, "left alone it does not end")

	c.Shelf = nil
	_, err = plan.Recheck(c, o.Steps)
	require.ErrorIs(t, err, plan.ErrCase)
}

func TestActsAreWhatAForecastTakes(t *testing.T) {
	c := caseOf(t, refdata.CitrusMealybug, 20, population.Animals{0, 2, 0, 1}, soap)
	acts, err := c.Acts([]plan.Step{
		{Day: today, Kind: plan.TryLeaf, Product: soap.ID},
		{Day: today.Add(2), Kind: plan.Spray, Product: soap.ID},
		{Day: today.Add(4), Kind: plan.Wipe},
		{Day: today.Add(5), Kind: plan.LookAt},
	})
	require.NoError(t, err)
	require.Equal(t, []population.Act{{Day: 2, Means: model.MeansSoap}, {Day: 4, Means: model.MeansWater}}, acts)
}
