// Package align lays two photos of the same leaf over each other, so that before
// and after can be compared.
//
// What is found is a similarity: how far the second picture is turned, scaled and
// moved against the first. A corner is a pixel around which brightness changes in
// every direction; a pair is a corner seen on both pictures. Two pairs make a
// similarity, and the other pairs agree with it or not.
//
// # Method
//
// The method is the project's own, put together from known parts. Corners are found
// at several sizes (FAST, Rosten and Drummond 2006), told apart by which of two
// places near them is brighter (BRIEF, Calonder and others 2010), after turning the
// places into the corner's own direction (Rosin 1999; Rublee and others 2011). The
// similarity with which most pairs agree is searched for by chance (RANSAC, Fischler
// and Bolles 1981) with a fixed seed, and fitted to them by least squares.
//
// It is given only if enough pairs far enough apart agree to know where every
// corner of the picture goes, and if the pictures then look alike, square by square,
// also in the middle. The last condition is there because two leaves on the same
// table agree very well in everything but the leaf.
//
// # Limits
//
// Leaves bend and grow, and a camera that moves to the side changes more than a
// similarity can say. Package align was checked on copies of leaf pictures that were
// turned, scaled, moved, lit anew and given marks; no set of true second photos was
// at hand. Where it cannot align, or where a person sees that it is wrong, two
// places pointed out by hand do the same exactly: FromPoints.
//
// It must not be used to tell whether two photos show the same leaf: that they
// cannot be aligned says nothing, and that they can only says that they look alike.
package align
