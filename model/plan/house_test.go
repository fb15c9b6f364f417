package plan_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/plan"
	"leafturn/model/population"
	"leafturn/model/refdata"
	"leafturn/model/rotation"
)

// An invented shelf. No product of it exists, and no rate on it is a recommendation.
var (
	soap     = &model.Product{ID: model.ProductID{1}, Name: "soap", Means: model.MeansSoap, MinInterval: 5, Pests: "aphids, spider mites, thrips, whitefly, mealybugs", Cautions: "For houseplants.", MaxCelsius: 30, RateUnit: model.RateMlPerLitre, RateMilli: 20_000, MixPerPlantMl: 100, StockMilli: 9_000}
	fast     = &model.Product{ID: model.ProductID{2}, Name: "fast", Means: model.MeansContactSpray, Active: "pyrethrins", Group: "3A", MinInterval: 7, MaxPerSeason: 6, ReentryHours: 12, Pests: "thrips, aphids, whitefly", Cautions: "Indoor ornamentals."}
	lasting  = &model.Product{ID: model.ProductID{3}, Name: "lasting", Means: model.MeansContactSpray, Active: "spinosad", Group: "5", MinInterval: 7, MaxPerSeason: 4, ReentryHours: 4, Pests: "thrips", Cautions: "Indoor plants."}
	roots    = &model.Product{ID: model.ProductID{4}, Name: "roots", Means: model.MeansSystemicSoil, Active: "imidacloprid", Group: "4A", MinInterval: 60, MaxPerSeason: 2, Pests: "sucking insects", Cautions: "Potted plants indoors."}
	helpers  = &model.Product{ID: model.ProductID{5}, Name: "helpers", Means: model.MeansSoilDrench, Active: "Steinernema feltiae", Group: "none", MinInterval: 14, Pests: "fungus gnats, thrips pupae", Cautions: "Houseplants."}
	unnamed  = &model.Product{ID: model.ProductID{6}, Name: "unnamed", Means: model.MeansSoap, MinInterval: 3, Cautions: "Houseplants."}
	allShelf = []*model.Product{soap, fast, lasting, roots, helpers, unnamed}
)

var today = model.DateOf(2026, 3, 2)

// caseOf is an invented household: one plant with a pest, found today.
func caseOf(tb testing.TB, s refdata.Species, celsius float64, animals population.Animals, shelf ...*model.Product) plan.Case {
	m, err := population.New(s)
	require.NoError(tb, err)
	c, err := m.Holding(300, 4, animals)
	require.NoError(tb, err)
	return plan.Case{
		Pest: s.Pest(), Model: m, Cloud: c, Days: population.Steady(celsius, 120), Today: today,
		Plants: []*model.Plant{{ID: model.PlantID{1}, Name: "plant"}}, Shelf: shelf,
	}
}

func rotationRule(_ require.TestingT, c *plan.Case) rotation.Rule { return plan.Rule(*c) }

func errorIs(err, target error) bool { return errors.Is(err, target) }

func find(t *testing.T, c plan.Case) *plan.Plan {
	t.Helper()
	p, err := plan.Find(c, plan.Watch{})
	require.NoError(t, err)
	return p
}

// option is the option of a plan for a goal.
func option(t *testing.T, p *plan.Plan, g plan.Goal) plan.Option {
	t.Helper()
	for _, o := range p.Options {
		if o.Goal == g {
			return o
		}
	}
	require.Fail(t, "no such option", "goal %d", g)
	return plan.Option{}
}

// because finds a reason among the steps.
func because(o plan.Option, b plan.Because) (plan.Step, plan.Reason, bool) {
	for _, s := range o.Steps {
		for _, r := range s.Reasons {
			if r.Because == b {
				return s, r, true
			}
		}
	}
	return plan.Step{}, plan.Reason{}, false
}
