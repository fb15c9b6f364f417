package evidence

import (
	"fmt"
	"math"
)

// Basis is what an interval of a change rests on.
type Basis uint8

// The bases.
const (
	ByTotals Basis = 1 // exact, from the totals, as if animals did not clump
	BySpread Basis = 2 // widened by how counts on one side of the treatment differ
)

// Change is by what counts were multiplied since a treatment, per effort: 0.25 is
// three quarters fewer. It is not an efficacy: without an untreated group nobody
// knows what would have happened anyway.
type Change struct {
	Factor     float64
	Interval   Interval // of the factor; Upper may be very large
	Dispersion float64
	Basis      Basis
}

// Direction is the direction that the interval allows.
func (c Change) Direction() Direction { return c.Interval.direction(1) }

// ChangeSince compares counts before and after a treatment, with an interval at a
// level such as 0.8. There must have been an animal before.
func ChangeSince(before, after []Count, level float64) (Change, error) {
	all := append(append(make([]Count, 0, len(before)+len(after)), before...), after...)
	if len(before) == 0 || len(after) == 0 {
		return Change{}, fmt.Errorf("change: %w", ErrTooFew)
	}
	if err := countsOK(all, level); err != nil {
		return Change{}, fmt.Errorf("change: %w", err)
	}
	b, eb := total(before)
	a, ea := total(after)
	if b == 0 {
		return Change{}, fmt.Errorf("change: %w", ErrTooFew)
	}
	c := Change{Factor: float64(a) / ea / (float64(b) / eb), Dispersion: 1, Basis: ByTotals}
	exact := clopperPearson(a, a+b, level)
	c.Interval = Interval{odds(exact.Lower) * eb / ea, odds(exact.Upper) * eb / ea}
	if len(all) > 2 {
		return c.widen(before, all, level)
	}
	return c, nil
}

// odds is how often something happens for each time that it does not.
func odds(p float64) float64 { return p / math.Max(1-p, 1e-12) }

func total(counts []Count) (animals int, effort float64) {
	for _, c := range counts {
		animals += c.Animals
		effort += c.Effort
	}
	return animals, effort
}

// widen takes the spread of counts on each side into account. The interval never
// becomes narrower than the exact one of the totals.
func (c Change) widen(before, all []Count, level float64) (Change, error) {
	d := design(all, func(Count) float64 { return 0 })
	for i := len(before); i < len(all); i++ {
		d.Rows[2*i+1] = 1
	}
	f, err := PoissonSteady(d)
	if err != nil {
		return Change{}, fmt.Errorf("change: %w", err)
	}
	c.Dispersion = max(1, f.Pearson/float64(f.DF))
	half := studentBoth(level, f.DF) * f.StdErr[1] * math.Sqrt(c.Dispersion)
	wide := Interval{math.Exp(f.Coef[1] - half), math.Exp(math.Min(f.Coef[1]+half, steepest))}
	if c.Dispersion > 1 && wide.Upper > c.Interval.Upper {
		c.Basis = BySpread
	}
	c.Interval = Interval{min(c.Interval.Lower, wide.Lower), max(c.Interval.Upper, wide.Upper)}
	return c, nil
}

// VerdictKind says what a household can say of a treatment.
type VerdictKind uint8

// The kinds of verdict.
const (
	ChangeOnly VerdictKind = 1 // no untreated group: the per cent by which counts fell since
	Efficacy   VerdictKind = 2 // against an untreated group (Henderson-Tilton)
)

// Verdict is what was achieved, in per cent; below 0 there are more than before, or
// more than on the untreated.
type Verdict struct {
	Kind    VerdictKind
	Percent float64
}

// Judge says what a treatment did: its efficacy where an untreated group was
// counted as well, and otherwise only the change since. An untreated group that
// vanished is no group.
func Judge(treated Pair, untreated *Pair) (Verdict, error) {
	if err := treated.check(); err != nil {
		return Verdict{}, fmt.Errorf("judge: %w", err)
	}
	if treated.Before == 0 {
		return Verdict{}, fmt.Errorf("judge: %w", ErrTooFew)
	}
	if untreated != nil {
		percent, err := HendersonTilton(treated, *untreated)
		return Verdict{Efficacy, percent}, err
	}
	return Verdict{ChangeOnly, 100 * (1 - treated.After/treated.Before)}, nil
}
