// Package standing derives how each plant stands: clear, watch, quarantined, in
// treatment or lost, and why.
//
// A look is an inspection that stands. A plant is apart from the last time it was
// isolated until it is released. It is affected while an open outbreak names it
// or its last look found something. A walk is the order in which the plants of a
// place are looked at so that nobody carries a pest along: clean plants first,
// those kept apart last, with clean hands in between.
//
// Where several facts compete, such as two people who isolated and released one
// plant, the one done last counts; facts done at the same moment are taken in
// order of writing, then of id, so that every phone decides alike. A withdrawn
// fact counts for nothing.
package standing
