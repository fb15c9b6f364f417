package plan

import (
	"leafturn/model"
	"leafturn/model/population"
	"leafturn/model/rotation"
)

// Rung is how strong a tool is, from gentle to last resort.
type Rung uint8

// The rungs of the ladder, by treatments of common practice: physical means, then
// soap, oil and helpers in the mix, then short-lived sprays, then systemics.
const (
	Physical   Rung = 0
	Gentle     Rung = 1
	ShortLived Rung = 2
	Systemic   Rung = 3
)

// RungOf is where a means stands.
func RungOf(m model.Means) Rung {
	switch m {
	case model.MeansWater:
		return Physical
	case model.MeansSoap, model.MeansOil, model.MeansSoilDrench:
		return Gentle
	case model.MeansSystemicSoil:
		return Systemic
	}
	return ShortLived
}

// Refused says why a product is not used.
type Refused uint8

// The reasons.
const (
	PestNotNamed   Refused = 1  // the label names other pests
	PestExcluded   Refused = 2  // the label says that it is not for this pest
	PestsNotSaid   Refused = 3  // no pests were entered from the label
	SiteNotSaid    Refused = 4  // nothing from the label says that it may be used on houseplants
	SiteExcluded   Refused = 5  // the label rules indoor plants out
	NotForFood     Refused = 6  // a plant is eaten and the label does not name food plants
	WishNoChemical Refused = 7  // the household wants no chemicals
	WishChildren   Refused = 8  // systemics are not used where small children reach the pots
	WishPets       Refused = 9  // nor where animals nibble
	ReachesNothing Refused = 10 // it reaches no stage of this pest
	GroupUnread    Refused = 11 // its mode-of-action group cannot be understood
	GroupMissing   Refused = 12 // it needs a group, and none was entered
	TakenAway      Refused = 13 // it is no longer on the shelf
)

// Refusal is a product that is not used.
type Refusal struct {
	Product model.ProductID
	Why     Refused
	Plants  []model.PlantID // for NotForFood
}

// tool is a product made ready, or water.
type tool struct {
	product *model.Product // nil for water
	means   model.Means
	use     rotation.Use // day set when used
	effect  population.Effect
	gap     int       // least days between two uses
	guessed bool      // the label's interval is not entered: common practice stands in
	reentry int       // days before plants may be touched
	window  float64   // degree-days for which the young can be reached
	share   []float64 // of that, gained on each day
	lower   float64
	celsius float64 // not used on a day that gets warmer
}

// practiceIn is the days between applications where the label's are not entered:
// common practice, no source.
const practiceIn = 7

// warmest is the warmest day for soap and oil where the label gives no figure of
// its own: 90 °F (CLEMSON_LT for soap, HEYDEN and UFLEE for oil).
const warmest = 32.2

// reentryDays is how many days must pass before plants may be touched. Work is done
// at some hour between eight and twenty, so up to twelve hours are over by the next
// day.
func reentryDays(hours int) int {
	if hours <= 0 {
		return 0
	}
	return (hours + 12 + 23) / 24
}

func (c *Case) tools() ([]tool, []Refusal) {
	var usable []tool
	var refused []Refusal
	for _, p := range c.Shelf {
		if p.Means == model.MeansWater {
			continue // water needs no label
		}
		if r, no := c.refuse(p); no {
			refused = append(refused, r)
			continue
		}
		usable = append(usable, c.tool(p))
	}
	return usable, refused
}

func (c *Case) refuse(p *model.Product) (Refusal, bool) {
	r := Refusal{Product: p.ID}
	r.Why = c.labelRefuses(p)
	if r.Why == 0 {
		r.Why = c.wishRefuses(p)
	}
	if r.Why == 0 && !p.EdibleAllowed {
		for _, plant := range c.Plants {
			if plant.Edible {
				r.Why, r.Plants = NotForFood, append(r.Plants, plant.ID)
			}
		}
	}
	if r.Why == 0 {
		r.Why = c.groupRefuses(p)
	}
	return r, r.Why != 0
}

func (c *Case) labelRefuses(p *model.Product) Refused {
	if p.Removed {
		return TakenAway
	}
	switch NamesPest(p.Pests, c.Pest) {
	case NotNamed:
		return PestNotNamed
	case Excludes:
		return PestExcluded
	case NoWords:
		return PestsNotSaid
	}
	site := p.Site
	if site == model.SiteUnsaid {
		site = siteOf(p)
	}
	switch site {
	case model.SiteRuledOut:
		return SiteExcluded
	case model.SiteUnsaid:
		return SiteNotSaid
	}
	return 0
}

func (c *Case) wishRefuses(p *model.Product) Refused {
	systemic := p.Means == model.MeansSystemicSoil
	switch {
	case c.Wishes.NoChemicals:
		return WishNoChemical
	case systemic && c.Wishes.Children:
		return WishChildren
	case systemic && c.Wishes.Pets:
		return WishPets
	}
	for _, s := range []model.Stage{model.Eggs, model.Young, model.Resting, model.Adults} {
		if c.Model.Reaches(p.Means, s) {
			return 0
		}
	}
	return ReachesNothing
}

func (c *Case) groupRefuses(p *model.Product) Refused {
	use, err := rotation.UseOf(p, c.Today)
	switch {
	case err != nil:
		return GroupUnread
	case use.NotEntered:
		return GroupMissing
	}
	return 0
}

func (c *Case) tool(p *model.Product) tool {
	t := tool{product: p, means: p.Means, gap: p.MinInterval, reentry: reentryDays(p.ReentryHours), effect: population.EffectOf(p.Means, p.Active)}
	t.use, _ = rotation.UseOf(p, c.Today) // refused before if it cannot be read
	if t.gap == 0 {
		t.gap, t.guessed = practiceIn, true
	}
	t.celsius = float64(p.MaxCelsius)
	if p.MaxCelsius == 0 {
		t.celsius = 100
		if p.Means == model.MeansSoap || p.Means == model.MeansOil {
			t.celsius = warmest
		}
	}
	t.window, t.lower = c.Model.Exposed(p.Means)
	return t
}

// water is rinsing or wiping: no label, no group, as often as wanted.
func (c *Case) water() tool {
	t := tool{means: model.MeansWater, gap: 1, celsius: 100, effect: population.EffectOf(model.MeansWater, "")}
	t.window, t.lower = c.Model.Exposed(model.MeansWater)
	return t
}

// leads reports whether a tool is one to build a course on: it reaches what
// feeds or breeds, and is not a systemic that works alone for weeks.
func (c *Case) leads(t *tool) bool {
	return t.means != model.MeansSystemicSoil && (c.Model.Reaches(t.means, model.Young) || c.Model.Reaches(t.means, model.Adults))
}
