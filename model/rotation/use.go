package rotation

import (
	"fmt"
	"math"

	"leafturn/model"
	"leafturn/model/fault"
)

// Use is one application of a product.
type Use struct {
	Day        model.Date
	Groups     []Group // none if the product has none
	NotEntered bool    // the product needs a group, and the household has not entered it
	Systemic   bool    // taken up from the soil
	Protects   int     // days for which a systemic protects
}

// CommonProtection is for how many days a systemic in the soil is taken to protect
// where the label does not say: two months, common practice without a source.
const CommonProtection = 61

// UseOf is the use of a product on a day.
func UseOf(p *model.Product, day model.Date) (Use, error) {
	groups, err := ParseGroups(p.Group, p.Active)
	if err != nil {
		return Use{}, fmt.Errorf("use: %w", err)
	}
	u := Use{Day: day, Groups: groups, Systemic: p.Means == model.MeansSystemicSoil}
	if u.Systemic {
		u.Protects = CommonProtection
	}
	switch p.Means {
	case model.MeansContactSpray, model.MeansSystemicSoil, model.MeansSoilDrench:
		u.NotEntered = p.Group == ""
	}
	return u, nil
}

// Window is how long a group may be in use before another must take its place: at
// least until Min days after its first use, and before Max.
type Window struct {
	Min, Max int
}

// Rule is what a ledger watches.
type Rule struct {
	Window    Window
	MostInRow int
}

// DefaultRule is for a pest whose generation is not known: 14 to 21 days, three in
// a row. The figures and their sources are in testdata/published.
func DefaultRule() Rule { return Rule{Window{14, 21}, 3} }

// Returned for what cannot be.
var (
	// ErrRule is for a window below a day, no use at all in a row, or a protection beyond reason.
	ErrRule  = fault.New("rotation_rule_impossible", "This rule for changing products cannot be right: check its days and numbers.")
	ErrOrder = fault.New("rotation_days_out_of_order", "These treatments are not in the order of days.")
)

// ForGeneration is DefaultRule with a window of one generation, in days; a band
// from shortest to longest where the temperature or the host is not sure.
func ForGeneration(shortest, longest float64) (Rule, error) {
	if !(shortest >= 1 && shortest <= longest && longest <= 400) {
		return Rule{}, fmt.Errorf("for generation: %w", ErrRule)
	}
	r := DefaultRule()
	r.Window = Window{int(math.Floor(shortest)), int(math.Ceil(longest))}
	return r, nil
}

func (r Rule) valid() bool {
	return r.Window.Min >= 1 && r.Window.Min <= r.Window.Max && r.Window.Max <= 400 && r.MostInRow >= 1
}
