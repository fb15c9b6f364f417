package evidence_test

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/evidence"
)

func init() { maps.Copy(methods, countMethods) }

// countMethods are the methods on shares, counts and treatments.
var countMethods = map[string]func(in inputs, result string) (float64, error){
	"wilson_95":          interval(func(x, n int) (evidence.Interval, error) { return evidence.Wilson(x, n, 0.95) }),
	"wilson_90":          interval(func(x, n int) (evidence.Interval, error) { return evidence.Wilson(x, n, 0.90) }),
	"agresti_coull_95":   interval(func(x, n int) (evidence.Interval, error) { return evidence.AgrestiCoull(x, n, 0.95) }),
	"clopper_pearson_95": interval(func(x, n int) (evidence.Interval, error) { return evidence.ClopperPearson(x, n, 0.95) }),
	"upper_bound_zero_one_sided_95": func(in inputs, _ string) (float64, error) {
		return evidence.ZeroUpper(in.whole("n"), 0.95)
	},
	"poisson_exact_rate_ci_95": func(in inputs, result string) (float64, error) {
		rate, ci, err := evidence.PoissonRate(in.whole("events"), in.float("exposure"), 0.95)
		return pick(result, map[string]float64{"rate": rate, "lower": ci.Lower, "upper": ci.Upper}), err
	},
	"sprt_bernoulli": runTest,
	"sprt_lines": func(in inputs, result string) (float64, error) {
		s, err := evidence.NewSequential(in.float("p0"), in.float("p1"), in.float("alpha"), in.float("beta"))
		if err != nil {
			return 0, err
		}
		accept, reject, slope := s.Lines()
		return pick(result, map[string]float64{"accept_intercept": accept, "reject_intercept": reject, "slope": slope}), nil
	},
	"abbott_counts": func(in inputs, _ string) (float64, error) {
		return evidence.Abbott(in.float("treated_after"), in.float("control_after"))
	},
	"abbott_mortality": func(in inputs, _ string) (float64, error) {
		if _, ok := in.by["treated_proportion"]; ok {
			return evidence.AbbottMortality(in.float("treated_proportion"), in.float("control_proportion"))
		}
		m, err := evidence.AbbottMortality(in.float("treated_pct")/100, in.float("control_pct")/100)
		return 100 * m, err
	},
	"schneider_orelli": func(in inputs, _ string) (float64, error) {
		return evidence.SchneiderOrelli(in.float("treated_pct"), in.float("control_pct"))
	},
	"henderson_tilton": func(in inputs, _ string) (float64, error) {
		return evidence.HendersonTilton(evidence.Pair{Before: in.float("Tb"), After: in.float("Ta")},
			evidence.Pair{Before: in.float("Cb"), After: in.float("Ca")})
	},
	"sun_shepard": func(in inputs, _ string) (float64, error) {
		return evidence.SunShepard(in.float("treated_mortality_pct"), in.float("control_change_pct"))
	},
	"repeat_contact_kill": func(in inputs, _ string) (float64, error) {
		return evidence.RepeatedKill(in.float("kill_per_spray"), in.whole("sprays"))
	},
	"poisson_glm":   fitted(func(d evidence.Design, _ inputs) (evidence.Fit, error) { return evidence.Poisson(d) }),
	"poisson_trend": fitted(func(d evidence.Design, _ inputs) (evidence.Fit, error) { return evidence.Poisson(d) }),
	"negbin_glm":    fitted(func(d evidence.Design, _ inputs) (evidence.Fit, error) { return evidence.NegativeBinomialML(d) }),
	"negbin_fixed": fitted(func(d evidence.Design, in inputs) (evidence.Fit, error) {
		return evidence.NegativeBinomial(d, in.float("theta"))
	}),
	"negbin_intercept": func(in inputs, result string) (float64, error) {
		counts := countsOf(in.t, in.text("data")).counts
		f, err := evidence.NegativeBinomialML(evidence.Design{Counts: counts, Columns: 1, Rows: slices.Repeat([]float64{1}, len(counts))})
		k, _ := evidence.SpreadK(meanVariance(counts))
		return pick(result, map[string]float64{"theta_ml": f.Theta, "se": f.ThetaStdErr, "k_moment": k}), err
	},
	"dispersion_index": func(in inputs, _ string) (float64, error) {
		sum, _, err := evidence.Dispersion(countsOf(in.t, in.text("data")).counts)
		return sum, err
	},
}

func interval(of func(x, n int) (evidence.Interval, error)) func(inputs, string) (float64, error) {
	return func(in inputs, result string) (float64, error) {
		ci, err := of(in.whole("x"), in.whole("n"))
		return pick(result, map[string]float64{"lower": ci.Lower, "upper": ci.Upper}), err
	}
}

// runTest feeds the units of a row to the sequential test.
func runTest(in inputs, result string) (float64, error) {
	s, err := evidence.NewSequential(in.float("p0"), in.float("p1"), in.float("alpha"), in.float("beta"))
	if err != nil {
		return 0, err
	}
	lower, upper := s.Bounds()
	var ratios []float64
	for _, x := range in.floats("x") {
		decision := s.Add(x == 1)
		ratios = append(ratios, s.Ratio())
		if decision != evidence.GoOn {
			require.Equal(in.t, evidence.AcceptTop, decision)
			break
		}
	}
	if after, ok := strings.CutPrefix(result, "ratio "); ok {
		return nth(ratios, "ratio "+after), nil
	}
	return pick(result, map[string]float64{"upper": upper, "lower": lower, "units until it decides": float64(len(ratios))}), nil
}

// data is one of the sets of counts, with the columns that its model has.
type data struct {
	counts  []int
	columns []string
	rows    []float64
}

// countsOf reads a set. A factor's first level in order of the alphabet is the one
// that the others are compared with; a factor named t is a number.
func countsOf(t *testing.T, name string) data {
	d := data{columns: []string{"intercept"}}
	var factors []map[string]string
	for _, r := range readTable(t, "statistics-counts.csv") {
		if r[0] != name {
			continue
		}
		d.counts = append(d.counts, int(number(t, r[1])))
		of := map[string]string{}
		for f := range strings.FieldsSeq(r[2]) {
			factor, level, _ := strings.Cut(f, "=")
			of[factor] = level
		}
		factors = append(factors, of)
	}
	require.NotEmpty(t, factors)
	for _, factor := range slices.Sorted(maps.Keys(factors[0])) {
		levels := map[string]bool{}
		for _, f := range factors {
			levels[f[factor]] = true
		}
		if factor == "t" {
			d.columns = append(d.columns, "t")
			continue
		}
		for _, level := range slices.Sorted(maps.Keys(levels))[1:] {
			d.columns = append(d.columns, factor+"="+level)
		}
	}
	for _, f := range factors {
		for _, c := range d.columns {
			factor, level, isLevel := strings.Cut(c, "=")
			switch {
			case c == "intercept", isLevel && f[factor] == level:
				d.rows = append(d.rows, 1)
			case c == "t":
				d.rows = append(d.rows, number(t, f["t"]))
			default:
				d.rows = append(d.rows, 0)
			}
		}
	}
	return d
}

// fitted fits a set and gives the result by the name that the table uses: slope for
// t, and for a level its factor with it or, where that is clear, the level alone.
func fitted(fit func(evidence.Design, inputs) (evidence.Fit, error)) func(inputs, string) (float64, error) {
	return func(in inputs, result string) (float64, error) {
		d := countsOf(in.t, in.text("data"))
		f, err := fit(evidence.Design{Counts: d.counts, Columns: len(d.columns), Rows: d.rows}, in)
		if err != nil {
			return 0, err
		}
		by := map[string]float64{"deviance": f.Deviance, "df": float64(f.DF), "loglik": f.LogLikelihood, "twologlik": 2 * f.LogLikelihood,
			"theta": f.Theta, "se_theta": f.ThetaStdErr, "aic": f.AIC(len(f.Coef) + int(math.Ceil(math.Min(f.Theta, 1))))}
		for i, c := range d.columns {
			factor, level, _ := strings.Cut(c, "=")
			for _, name := range []string{factor + level, level, map[string]string{"t": "slope"}[c]} {
				by[name], by["se_"+name] = f.Coef[i], f.StdErr[i]
			}
		}
		return pick(result, by), nil
	}
}

func meanVariance(counts []int) (mean, variance float64) {
	for _, n := range counts {
		mean += float64(n) / float64(len(counts))
	}
	for _, n := range counts {
		variance += (float64(n) - mean) * (float64(n) - mean) / float64(len(counts)-1)
	}
	return mean, variance
}
