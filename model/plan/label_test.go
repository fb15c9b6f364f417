package plan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/plan"
)

func TestLabelsNamePests(t *testing.T) {
	for text, want := range map[string]map[model.Pest]plan.Naming{
		"":                                 {model.PestThrips: plan.NoWords},
		" \n":                              {model.PestThrips: plan.NoWords},
		"Aphids, thrips and spider mites.": {model.PestAphid: plan.NamesIt, model.PestThrips: plan.NamesIt, model.PestSpiderMite: plan.NamesIt, model.PestBroadMite: plan.NotNamed, model.PestScale: plan.NotNamed},
		"THRIPS":                           {model.PestThrips: plan.NamesIt},
		"mites":                            {model.PestSpiderMite: plan.NamesKind, model.PestBroadMite: plan.NamesKind, model.PestThrips: plan.NotNamed},
		"broad mites":                      {model.PestBroadMite: plan.NamesIt, model.PestSpiderMite: plan.NotNamed},
		"mealybugs":                        {model.PestMealybug: plan.NamesIt, model.PestRootMealy: plan.NotNamed},
		"root mealybugs":                   {model.PestRootMealy: plan.NamesIt, model.PestMealybug: plan.NotNamed},
		"root mealybugs and mealybugs":     {model.PestRootMealy: plan.NamesIt, model.PestMealybug: plan.NamesIt},
		"whiteflies":                       {model.PestWhitefly: plan.NamesIt},
		"fungus gnat larvae":               {model.PestFungusGnat: plan.NamesIt},
		"sucking insects":                  {model.PestAphid: plan.NamesKind, model.PestThrips: plan.NotNamed, model.PestSpiderMite: plan.NotNamed},
		"sucking insects; aphids":          {model.PestAphid: plan.NamesIt, model.PestScale: plan.NamesKind},
		"insects":                          {model.PestAphid: plan.NotNamed},
		"aphids; not for thrips":           {model.PestAphid: plan.NamesIt, model.PestThrips: plan.Excludes},
		"thrips. Not for thrips in flower": {model.PestThrips: plan.Excludes},
		"all mites except broad mites":     {model.PestBroadMite: plan.Excludes},
		"scaled up rate, dismissed":        {model.PestScale: plan.NotNamed},
		"tapered limites":                  {model.PestSpiderMite: plan.NotNamed},
	} {
		for pest, n := range want {
			require.Equal(t, n, plan.NamesPest(text, pest), "%q, pest %d", text, pest)
		}
	}
}

func TestTheSiteIsReadFromTheLabelUnlessTold(t *testing.T) {
	for name, x := range map[string]struct {
		cautions string
		site     model.Site
		want     plan.Refused
	}{
		"houseplants":             {"On houseplants.", model.SiteUnsaid, 0},
		"indoors and out":         {"Indoor and outdoor ornamentals", model.SiteUnsaid, 0},
		"nothing said":            {"Keep away from food.", model.SiteUnsaid, plan.SiteNotSaid},
		"nothing said, but told":  {"", model.SiteNamed, 0},
		"outdoors only":           {"For outdoor use only.", model.SiteUnsaid, plan.SiteExcluded},
		"not indoors":             {"Not for use indoors", model.SiteUnsaid, plan.SiteExcluded},
		"houseplants, told not":   {"houseplants", model.SiteRuledOut, plan.SiteExcluded},
		"ornamentals, not inside": {"Ornamentals. Do not use on indoor plants.", model.SiteUnsaid, plan.SiteExcluded},
	} {
		t.Run(name, func(t *testing.T) {
			p := *soap
			p.Cautions, p.Site = x.cautions, x.site
			c := caseOf(t, 6, 21, [4]int{0, 1, 0, 1}, &p)
			c.Target = 0.05
			refused := find(t, c).Refused
			if x.want == 0 {
				require.Empty(t, refused)
				return
			}
			require.Equal(t, []plan.Refusal{{Product: p.ID, Why: x.want}}, refused)
		})
	}
}
