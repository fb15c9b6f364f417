// Package rotation watches that a pest does not learn to live with a product:
// which modes of action may follow which, and when.
//
// A group is the number that a label prints for how its active ingredient works.
// Only the number counts: 4A and 4C are one group, and so are two products of one
// number, whatever their names. Ingredients whose way of working is not known
// (UN, UNE, UNF, UNM) are told apart by their names, each a group of its own. Soap,
// oil, water, alcohol and living helpers have no group: they neither use up nor
// fill a turn.
//
// A window is about one generation of the pest, from the first use of a group. A
// group may be used again within its window, and must then rest for the whole next
// one, while another group or something without a group takes its place. At most
// three uses of one group follow each other. A systemic in the soil keeps its group
// in use for as long as it protects, and two courses of systemics in a row are a
// hard warning. The generation comes from the caller, because it depends on the pest
// and the room; where it is not known a window is 14 to 21 days.
//
// The package gives findings, not words, and forbids nothing. It knows groups, not
// products: whether a label allows a use at all is another question, and comes
// first. Some resistance crosses groups, so after a course that failed something
// without a group is better than another number.
package rotation
