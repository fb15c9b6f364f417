// Package refdata holds what is known of the pests' biology, figure by figure,
// each with the place it was read.
//
// A species is one kind of pest, or a group that people cannot tell apart
// without a microscope. It belongs to a pest of the household's records: several
// species are "thrips" there. A profile is all that is known of a species: its
// stages in order, its adult, the limits of temperature. A stage takes a constant
// number of degree-days: degrees above its lower threshold, summed over days. A
// value is a figure as a band: low, central, high. Where papers disagree the band
// holds them all and the central value is the one we compute with. A fit is one
// paper's own pair of threshold and constant, kept together because such a pair
// must never be mixed with another's.
//
// Temperatures are in degrees Celsius, times in days, thermal constants in
// Celsius degree-days, shares and chances between 0 and 1, young in eggs or
// newborn per female.
//
// Nothing here is certain, and every value says why: Value.Basis is Published,
// Derived (our arithmetic on published figures), Practice (a habit of the trade)
// or Memory (no page was seen). A screen that shows a figure shows that too.
package refdata
