// Package trace asks where a pest came from and where it may have gone.
//
// The window is when the pest probably came in: for each past day the population is
// run from an arrival on that day, through all looks at the plant, to what was
// found; the days that make the looks likely are likely days. Looks that found
// nothing count as well. A suspect is what happened in the window that may have
// brought the pest: the plant came in or came back from outdoors, it was moved, or cut
// from another, flowers came to its place, a neighbour had the pest, came in, or was
// handled together with it. A contact is a plant that may have caught it since, and so
// should be looked at today; one that is gone is somebody else's to look at.
//
// The window rests on the model and its judgements, and on every day being as
// likely to begin with. Suspects and contacts are put in order of how well they fit
// it; none of them is proved. Nothing here says who is to blame.
package trace
