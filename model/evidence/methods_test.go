package evidence_test

import (
	"strconv"
	"strings"

	"leafturn/model/evidence"
)

// methods calls what the package has for each method of the table.
var methods = map[string]func(in inputs, result string) (float64, error){
	"hypergeo_n_exact_floor": func(in inputs, _ string) (float64, error) {
		return count(evidence.SampleSize(in.whole("lot"), in.floored(), in.float("efficacy"), in.float("confidence")))
	},
	"binomial_n": func(in inputs, _ string) (float64, error) {
		return count(evidence.SampleSizeLarge(in.float("level"), in.float("efficacy"), in.float("confidence")))
	},
	"approx_n_cannon2001": func(in inputs, _ string) (float64, error) {
		return count(evidence.SampleSizeNear(in.whole("lot"), in.whole("infested"), in.float("efficacy"), in.float("confidence")))
	},
	"approx_n_cannonroe1982": func(in inputs, _ string) (float64, error) {
		return count(evidence.SampleSizeNear1982(in.whole("lot"), in.whole("infested"), in.float("confidence")))
	},
	"n_finite_or_large": func(in inputs, _ string) (float64, error) {
		return count(evidence.SampleSizeAt(in.whole("lot"), in.float("level"), in.float("efficacy"), in.float("confidence")))
	},
	"two_stage_n": func(in inputs, result string) (float64, error) {
		clusters, units, err := evidence.TwoStage{
			Clusters: in.whole("clusters"), ClusterLevel: in.float("level_cluster"), UnitLevel: in.float("level_unit"),
			UnitEfficacy: in.float("efficacy_unit"), ClusterSensitivity: in.float("target_cluster"),
			CollectionConfidence: in.float("target_system"),
		}.Sizes()
		return pick(result, map[string]float64{"clusters": float64(clusters), "units": float64(units)}), err
	},
	"sensitivity_binomial": func(in inputs, _ string) (float64, error) {
		return evidence.Sensitivity(in.whole("n"), in.float("level"), in.float("efficacy"))
	},
	"sensitivity_finite": func(in inputs, _ string) (float64, error) {
		lot := in.whole("lot")
		infested := 0
		if rule, ok := in.by["infested_rule"]; ok && rule == "ceil" {
			infested = evidence.InfestedUp(lot, in.float("level"))
		} else {
			infested = in.whole("infested")
		}
		return evidence.SensitivityOf(lot, in.whole("n"), infested, in.float("efficacy"))
	},
	"sensitivity_census": func(in inputs, _ string) (float64, error) {
		return evidence.SensitivityOf(100, 100, in.whole("infested"), in.float("efficacy"))
	},
	"sensitivity_mixed_efficacy": func(in inputs, _ string) (float64, error) {
		return evidence.SensitivityMixed(in.whole("lot"), in.whole("infested"), in.looked("efficacy_counts"))
	},
	"combine_parallel": func(in inputs, _ string) (float64, error) { return evidence.AnyFinds(in.floats("efficacy")...) },
	"combine_series":   func(in inputs, _ string) (float64, error) { return evidence.AllFind(in.floats("efficacy")...) },
	"max_prevalence_given_clean": func(in inputs, _ string) (float64, error) {
		return evidence.HighestLevel(in.whole("lot"), in.whole("n"), in.float("efficacy"), in.float("confidence"))
	},
	"false_alarm_free": func(in inputs, _ string) (float64, error) {
		return evidence.NoFalseAlarm(in.whole("n"), in.float("specificity"))
	},
	"sensitivity_imperfect_binomial": func(in inputs, _ string) (float64, error) {
		return evidence.SensitivityFrom(in.whole("cutoff"), in.whole("n"), in.float("level"), in.float("efficacy"), in.float("specificity"))
	},
	"risk_adjusted_share": func(in inputs, result string) (float64, error) {
		adjusted, err := evidence.AdjustRisk(in.strata())
		return nth(adjusted, result), err
	},
	"sensitivity_risk_based_binomial": func(in inputs, _ string) (float64, error) {
		return evidence.SensitivityByRisk(in.float("level"), in.float("efficacy"), in.strata())
	},
	"discount_prior": func(in inputs, _ string) (float64, error) {
		return evidence.Discount(in.float("prior"), in.float("p_intro"))
	},
	"posterior_freedom_once": func(in inputs, _ string) (float64, error) {
		discounted, err := evidence.Discount(in.float("prior"), in.float("p_intro"))
		if err != nil {
			return 0, err
		}
		return evidence.AfterClean(discounted, in.float("sensitivity"))
	},
	"posterior_freedom_series": func(in inputs, result string) (float64, error) {
		chances, err := evidence.AfterCleanRounds(in.float("prior"), in.float("sensitivity"), in.float("p_intro"), 10)
		return nth(chances, result), err
	},
	"equilibrium_freedom": func(in inputs, _ string) (float64, error) {
		return evidence.Plateau(in.float("sensitivity"), in.float("p_intro"))
	},
	"required_sensitivity": func(in inputs, _ string) (float64, error) {
		return evidence.NeededSensitivity(in.float("prior"), in.float("target"))
	},
	"n_for_posterior": func(in inputs, result string) (float64, error) {
		c, err := evidence.Clearing{Prior: in.float("prior"), Arrival: in.float("p_intro"), Target: in.float("target"),
			Lot: in.whole("lot"), Level: in.float("level"), Efficacy: in.float("efficacy")}.Units()
		return pick(result, map[string]float64{"": float64(c.Units), "n": float64(c.Units),
			"sensitivity": c.Sensitivity, "discounted_prior": c.Discounted}), err
	},
}

func count(n int, err error) (float64, error) { return float64(n), err }

// pick gives the named result; a name that the method does not have fails the row.
func pick(result string, by map[string]float64) float64 {
	v, ok := by[result]
	if !ok {
		panic("no result " + result)
	}
	return v
}

// nth gives the n-th of some results, where the name ends in n.
func nth(all []float64, result string) float64 {
	n, err := strconv.Atoi(result[strings.LastIndexByte(result, ' ')+1:])
	if err != nil || n < 1 || n > len(all) {
		return -1
	}
	return all[n-1]
}

// floored works out the infested units by the package's own rule; the table's
// figure for them is only compared.
func (in inputs) floored() int {
	n := evidence.Infested(in.whole("lot"), in.float("level"))
	if n != in.whole("infested") {
		in.t.Errorf("infested units: %d, the table says %d", n, in.whole("infested"))
	}
	return n
}

func (in inputs) looked(name string) []evidence.Looked {
	var all []evidence.Looked
	for s := range strings.FieldsSeq(in.text(name)) {
		efficacy, units, _ := strings.Cut(s, "x")
		n, err := strconv.Atoi(units)
		if err != nil {
			in.t.Fatal(err)
		}
		all = append(all, evidence.Looked{Units: n, Efficacy: number(in.t, efficacy)})
	}
	return all
}

func (in inputs) strata() []evidence.Stratum {
	risks, shares := in.floats("relative_risk"), in.floats("population_share")
	all := make([]evidence.Stratum, len(risks))
	for i := range all {
		all[i] = evidence.Stratum{Risk: risks[i], Share: shares[i]}
	}
	if _, ok := in.by["n"]; ok {
		for i, n := range in.floats("n") {
			all[i].Units = int(n)
		}
	}
	return all
}
