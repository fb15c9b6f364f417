// Package leaf measures how much of a leaf in a photograph is damaged.
//
// Measure finds the leaf, compares every pixel with the leaf's own colour, and
// gives the discoloured share with the reasons to doubt it. Check only says whether
// a photograph is sharp and well lit, quickly. README.md beside this file tells the
// method step by step, what it was checked on, and what it must not be used for.
//
// # Words
//
// A whole leaf lies on a plain light ground and is all in the picture; in a
// close-up the leaf is the whole picture. Discolouration is how many degrees of hue
// a pixel lies on the yellow and red side of the leaf, plus a part of how much
// yellower it is. A lesion is a place that is clearly discoloured together with the
// halo around it. A verdict is Measured, or CannotTell with a reason: a blurred
// photograph gets no figure rather than a wrong one.
//
// # Confidence
//
// Confidence is the least of three parts: how far the photograph is sharper than it
// must be, how even the ground is, and how narrow the interval is. It orders
// photographs by how far to trust them; it is not a probability. Uncertain is the
// half width of an interval around the damaged share, made to hold eight in ten.
//
// # Limits
//
// Work is done on a picture of at most 640 pixels on the longer side, in at most
// 40 MB however large the photograph. Nothing is kept between calls; calls may run
// at the same time.
package leaf
