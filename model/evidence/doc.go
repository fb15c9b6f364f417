// Package evidence says what looking, counting and treating have shown, and how
// surely: whether plants are clear of a pest, how many more looks it takes, whether
// counts fall, and what changed since a treatment.
//
// A unit is what is looked at: a leaf, a plant, a pot. A lot is a known number of
// units, of which some are infested; the level is the infested share. The efficacy
// of a look is the chance that it finds the pest on a unit that has it; a sample is
// the units looked at. The sensitivity of a sample is the chance that it finds the
// pest somewhere if the lot has it at the level. A prior is the chance of being
// clear before looking; clean looks raise it to a posterior; new arrivals lower it
// again. All chances, levels and shares are numbers from 0 to 1; times are days.
//
// There is one rounding rule. Results that are not whole are never rounded: they
// are what the formula gives in double precision. Results that count units are
// rounded up to the smallest whole number that reaches what was asked. Infested
// units are given by the caller; Infested rounds them down, which asks for the
// larger sample, and InfestedUp rounds up, as some published tables do. Before a
// number is made whole it is allowed to be off by 1e-9, so that 200 times 0.05 is
// ten units and not eleven.
//
// Looking again is not always new evidence: the same person at the same leaf
// misses the same animal. History knows that; the sample formulas do not, and hold
// for units that were looked at once each.
//
// A home has no untreated group, so what it can say is Change: how counts differ
// since a treatment, which includes whatever would have happened anyway. The
// efficacy formulas need an untreated group's counts as arguments and cannot be
// called without. Nothing here is an approval of a product or a rate; the label,
// local rules and licensed advice go first.
package evidence
