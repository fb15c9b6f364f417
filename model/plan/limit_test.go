package plan_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/degree"
	"leafturn/model/plan"
	"leafturn/model/population"
	"leafturn/model/refdata"
	"leafturn/model/rotation"
)

// anyProduct draws a product with any label limits, on which pest and site are named.
func anyProduct(t *rapid.T, i int) *model.Product {
	p := &model.Product{
		ID:            model.ProductID{byte(10 + i)},
		Means:         model.Means(rapid.IntRange(1, 5).Draw(t, "means")),
		MinInterval:   rapid.SampledFrom([]int{0, 1, 3, 5, 7, 10, 14, 60}).Draw(t, "interval"),
		MaxPerSeason:  rapid.SampledFrom([]int{0, 1, 2, 3, 6}).Draw(t, "season"),
		MostInRow:     rapid.SampledFrom([]int{0, 0, 1, 2}).Draw(t, "in a row"),
		ReentryHours:  rapid.SampledFrom([]int{0, 4, 12, 13, 24, 48}).Draw(t, "reentry"),
		MaxCelsius:    rapid.SampledFrom([]int{0, 22, 26, 30}).Draw(t, "hottest"),
		Pests:         rapid.SampledFrom([]string{"thrips, aphids, spider mites", "sucking insects; thrips", "not for thrips", ""}).Draw(t, "pests"),
		Cautions:      rapid.SampledFrom([]string{"For houseplants", "Outdoor use only", ""}).Draw(t, "site"),
		MixPerPlantMl: 50, RateUnit: model.RateMlPerLitre, RateMilli: 10_000, StockMilli: rapid.IntRange(0, 5000).Draw(t, "stock"),
		EdibleAllowed: rapid.Bool().Draw(t, "edible allowed"),
	}
	if p.Means == model.MeansContactSpray || p.Means == model.MeansSystemicSoil {
		p.Group = rapid.SampledFrom([]string{"3A", "5", "4A", "4C", ""}).Draw(t, "group")
	}
	return p
}

func anyCase(t *rapid.T) plan.Case {
	species := rapid.SampledFrom([]refdata.Species{refdata.WesternFlowerThrips, refdata.MelonAphid, refdata.TwoSpottedMite}).Draw(t, "species")
	m, err := population.New(species)
	require.NoError(t, err)
	c, err := m.Holding(20, 3, population.Animals{0, rapid.IntRange(0, 20).Draw(t, "young"), 0, rapid.IntRange(1, 10).Draw(t, "adults")})
	require.NoError(t, err)
	x := plan.Case{
		Pest: species.Pest(), Model: m, Cloud: c, Today: today, Horizon: 35,
		Plants: []*model.Plant{{ID: model.PlantID{1}, Edible: rapid.Bool().Draw(t, "edible"), Sensitive: rapid.Bool().Draw(t, "sensitive")}, {ID: model.PlantID{2}}},
		Wishes: plan.Wishes{NoChemicals: rapid.IntRange(0, 5).Draw(t, "none") == 0, Pets: rapid.Bool().Draw(t, "pets"), NoRinsing: rapid.Bool().Draw(t, "no rinsing")},
		Target: rapid.SampledFrom([]float64{0.3, 0.8, 0.95}).Draw(t, "target"),
	}
	lead := rapid.SampledFrom([]int{0, 0, 9, 70}).Draw(t, "days before today")
	for range 40 + lead {
		low := rapid.Float64Range(14, 24).Draw(t, "low")
		x.Days = append(x.Days, population.Day{Low: low, High: low + rapid.Float64Range(0, 8).Draw(t, "rise")})
	}
	w, err := m.Climate(x.Days)
	require.NoError(t, err)
	require.NoError(t, c.Live(w, lead, nil, 0))
	for i := range rapid.IntRange(0, 3).Draw(t, "products") {
		x.Shelf = append(x.Shelf, anyProduct(t, i))
	}
	for range rapid.IntRange(0, 4).Draw(t, "past") {
		if len(x.Shelf) > 0 {
			p := rapid.SampledFrom(x.Shelf).Draw(t, "which")
			x.History = append(x.History, plan.Past{Product: p, Plants: []model.PlantID{{1}}, Day: today.Add(-rapid.IntRange(0, 370).Draw(t, "ago"))})
		}
	}
	return x
}

// No course breaks a limit of a label, whatever the labels, temperatures, plants,
// history and wishes. The check knows the labels and the steps, and nothing of how
// the plan was made.
func TestNoCourseBreaksALabel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCase(t)
		p, err := plan.Find(c, plan.Watch{})
		if err != nil {
			require.ErrorIs(t, err, plan.ErrNoCourse)
			return
		}
		require.NotEmpty(t, p.Options)
		for _, o := range p.Options {
			keepsToLabels(t, &c, &o)
			isWhole(t, &c, &o)
		}
	})
}

func keepsToLabels(t require.TestingT, c *plan.Case, o *plan.Option) {
	byID := map[model.ProductID]*model.Product{}
	for _, s := range c.Shelf {
		byID[s.ID] = s
	}
	used := map[model.ProductID][]model.Date{}
	var uses []rotation.Use
	var products []model.ProductID // of all uses, in order
	held := model.Date(0)
	for _, h := range sortedPast(c.History) {
		used[h.Product.ID] = append(used[h.Product.ID], h.Day)
		products = append(products, h.Product.ID)
		u, err := rotation.UseOf(h.Product, h.Day)
		require.NoError(t, err)
		uses = append(uses, u)
		held = max(held, h.Day.Add(plan.ReentryDays(h.Product.ReentryHours)))
	}
	before := len(uses)
	for _, s := range o.Steps {
		require.GreaterOrEqual(t, s.Day, held, "touched too early")
		if s.Kind != plan.Spray && s.Kind != plan.IntoMix {
			continue
		}
		p := byID[s.Product]
		require.NotNil(t, p)
		onlyWhereAllowed(t, c, p, s)
		days := used[p.ID]
		if n := len(days); n > 0 && p.MinInterval > 0 {
			require.GreaterOrEqual(t, s.Day.Sub(days[n-1]), p.MinInterval, "interval")
		}
		days = append(days, s.Day)
		used[p.ID] = days
		products = append(products, p.ID)
		notTooManyInRow(t, p, products, days)
		season := 0
		for _, d := range days {
			if s.Day.Sub(d) < agenda.SeasonDays {
				season++
			}
		}
		if p.MaxPerSeason > 0 {
			require.LessOrEqual(t, season, p.MaxPerSeason, "season")
		}
		held = max(held, s.Day.Add(plan.ReentryDays(p.ReentryHours)))
		u, err := rotation.UseOf(p, s.Day)
		require.NoError(t, err)
		uses = append(uses, u)
	}
	findings, err := rotation.Check(rotationRule(t, c), uses)
	require.NoError(t, err)
	for _, f := range findings {
		if f.Use >= before {
			require.Less(t, f.Kind.Level(), rotation.Warning, "%v", f)
		}
	}
}

// notTooManyInRow counts back from the last use until another product comes or a
// season has passed without any.
func notTooManyInRow(t require.TestingT, p *model.Product, products []model.ProductID, days []model.Date) {
	n := 0
	for i := len(products) - 1; i >= 0 && products[i] == p.ID; i-- {
		n++
		if k := len(days) - n; k > 0 && days[k].Sub(days[k-1]) >= agenda.SeasonDays {
			break
		}
	}
	if p.MostInRow > 0 {
		require.LessOrEqual(t, n, p.MostInRow, "in a row")
	}
}

func onlyWhereAllowed(t require.TestingT, c *plan.Case, p *model.Product, s plan.Step) {
	require.Contains(t, []plan.Naming{plan.NamesIt, plan.NamesKind}, plan.NamesPest(p.Pests, c.Pest))
	require.Equal(t, "For houseplants", p.Cautions)
	require.False(t, c.Wishes.NoChemicals)
	require.False(t, c.Wishes.Pets && p.Means == model.MeansSystemicSoil)
	for _, plant := range c.Plants {
		require.False(t, plant.Edible && !p.EdibleAllowed, "edible")
		if plant.Sensitive && p.Means != model.MeansSystemicSoil && p.Means != model.MeansSoilDrench {
			require.GreaterOrEqual(t, s.Day.Sub(c.Today), 2, "one leaf first")
		}
	}
	high := c.Days[c.Cloud.Day()+s.Day.Sub(c.Today)].High
	if p.MaxCelsius > 0 {
		require.LessOrEqual(t, high, float64(p.MaxCelsius), "too warm")
	}
	if p.Means == model.MeansSoap || p.Means == model.MeansOil {
		require.True(t, p.MaxCelsius > 0 || high <= 32.2, "too warm for soap or oil")
	}
}

// isWhole checks what every option must be: in order, in time, with a reason for
// every day, every number a number.
func isWhole(t require.TestingT, c *plan.Case, o *plan.Option) {
	require.NotEmpty(t, o.Steps)
	sprays, washes := 0, 0
	for i, s := range o.Steps {
		require.NotEmpty(t, s.Reasons, "step %d", i)
		require.GreaterOrEqual(t, s.Day, c.Today)
		if i > 0 {
			require.GreaterOrEqual(t, s.Day, o.Steps[i-1].Day)
		}
		switch s.Kind {
		case plan.Spray, plan.IntoMix:
			sprays++
			require.Less(t, s.Day, c.Today.Add(c.Horizon))
		case plan.Rinse, plan.Wipe:
			washes++
			require.False(t, c.Wishes.NoRinsing)
		}
	}
	require.Equal(t, [2]int{o.Sprays, o.Washes}, [2]int{sprays, washes})
	require.True(t, o.Chance >= 0 && o.Chance <= 1+1e-9 && o.Low <= o.High+1e-12)
	require.Equal(t, o.Reaches, o.Chance >= c.Target)
	require.Equal(t, o.Reaches, o.Over != 0)
	for _, b := range o.Bound {
		require.True(t, b.Chance >= 0 && b.Chance <= 1+1e-9)
	}
}

func sortedPast(all []plan.Past) []plan.Past {
	out := append([]plan.Past(nil), all...)
	for i := range out {
		for j := i; j > 0 && out[j].Day < out[j-1].Day; j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
	return out
}

// Whatever comes in, a plan that keeps to the label and has a reason for each date,
// or a typed error comes out.
func FuzzFind(f *testing.F) {
	f.Add(uint8(1), 18.0, 24.0, 3, 2, uint8(1), 7, 4, 2, 12, 30, 9, 30, 0.9, "thrips, houseplants")
	f.Add(uint8(1), 18.0, 24.0, 3, 2, uint8(3), 7, 4, 2, 48, 0, 9, 35, 0.5, "thrips")
	f.Add(uint8(7), -5.0, 60.0, 0, 0, uint8(4), 0, 0, 0, 0, 0, 0, 1, 0.5, "")
	f.Add(uint8(200), 18.0, 4.0, -3, 2, uint8(9), -7, -4, -1, -1, 30, -9, 0, 2.0, "not for \xff thrips")
	f.Fuzz(func(t *testing.T, species uint8, low, high float64, young, adults int, means uint8, interval, season, inRow, hours, hot, ago, horizon int, target float64, text string) {
		m, err := population.New(refdata.Species(species))
		if err != nil {
			return
		}
		cloud, err := m.Holding(6, 1, population.Animals{0, young % 500, 0, adults % 500})
		if err != nil {
			return
		}
		days := population.Steady(20, 40)
		days[2] = population.Day{Low: low, High: high}
		product := &model.Product{ID: model.ProductID{1}, Means: model.Means(means), Group: "5", Pests: text, Cautions: "For houseplants", MinInterval: interval,
			MaxPerSeason: season, MostInRow: inRow, ReentryHours: hours, MaxCelsius: hot}
		c := plan.Case{Pest: refdata.Species(species).Pest(), Model: m, Cloud: cloud, Days: days, Today: today, Plants: []*model.Plant{{ID: model.PlantID{1}}},
			Shelf: []*model.Product{product}, History: []plan.Past{{Product: product, Day: today.Add(-ago % 500)}}, Horizon: horizon, Target: target}
		p, err := plan.Find(c, plan.Watch{})
		if err != nil {
			known := false
			for _, e := range []error{plan.ErrCase, plan.ErrNoCourse, population.ErrDays, population.ErrOrder, degree.ErrTemperature, degree.ErrOrder} {
				known = known || errorIs(err, e)
			}
			require.True(t, known, "%v", err)
			return
		}
		if c.Horizon == 0 {
			c.Horizon = plan.DefaultHorizon
		}
		if c.Target == 0 {
			c.Target = plan.DefaultTarget
		}
		for i := range p.Options {
			keepsToLabels(t, &c, &p.Options[i])
			isWhole(t, &c, &p.Options[i])
		}
	})
}
