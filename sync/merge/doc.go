// Package merge folds the logs of a household into its state.
//
// The fold is commutative, associative and idempotent: whatever the order, the
// repetition and the interleaving in which batches arrive, replicas that hold the
// same operations hold the same state, down to the bytes of its snapshot.
//
// Fields of records are last-writer-wins registers. Every setting is kept; the one
// with the greatest stamp (then device, then sequence) is the current value, and
// settings that neither won nor were seen by a later author are the lost ones,
// which people can be shown. Facts are a set.
//
// Who may write is decided by the log itself: a device belongs to the household if
// it founded it or joined by an invitation that a keeper wrote. The server and
// every phone apply the same rules, so neither can smuggle a member in.
package merge
