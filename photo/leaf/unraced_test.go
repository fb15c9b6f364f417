//go:build !race

package leaf_test

// raced says that the race detector watches.
const raced = false
