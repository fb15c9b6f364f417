// Package dose does the arithmetic of a product's label, and nothing else: it
// never proposes a rate.
//
// A rate is what the label says: so much product per litre of water. A mix is
// water with product at that rate, for a number of plants. An amount is how much
// product goes in. A measure is a volume in the units that labels print, metric
// or United States customary.
//
// All arithmetic is in whole numbers and exact. There is one rounding rule, and
// it is applied once, at the end: a figure is rounded down. What a person measures
// is therefore never above the label; Amount.Measured keeps three significant
// digits, so it is less than one per cent below.
//
// Pot volumes are the one exception: they are geometry, in floating point, and not
// rounded.
//
// A band is what public pages print for a kind of product. An entered rate outside
// it draws a warning to read the label again; no rate is ever taken from a band.
//
// A label's rate per litre is taken as per litre of water measured out, and the
// mix as that water. The few millilitres that the product adds are not counted.
package dose
