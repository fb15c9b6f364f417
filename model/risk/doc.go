// Package risk says whom to look at next, and in which order to walk.
//
// A sight is what is known of one plant today: how long nobody looked, how near an
// outbreak is, how lately it or cut flowers beside it came in, how thin its leaves are and how weak it is.
// From it comes a score between 0 and 1, built like the chance that a pest sits on
// the plant unseen. It is for putting plants in order, not a measured chance: its
// rates are our judgement, and stand in rate.go.
//
// The score never falls when a plant was unseen for longer, is nearer to an
// outbreak, came in later, has thinner leaves or is weaker. A walk goes from clean
// plants to those kept apart, with clean hands in between.
package risk
