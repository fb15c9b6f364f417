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
// Who may write is decided by the logs themselves, by the rules in README.md. The
// server and every phone apply the same, so none can smuggle a member in. What its
// author could not write is kept in its log and set aside: it does not count.
package merge
