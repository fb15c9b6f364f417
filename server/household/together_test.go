package household_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A phone that was online signed every entry by itself. A new one gets them together.
func TestANewPhoneGetsManySmallBatchesTogether(t *testing.T) {
	w := newWorld(t)
	a := w.founded(t, 1)
	const looks = 40
	for i := range looks {
		a.Look(t, byte(1+i))
	}
	w.sync(t, a)
	require.Greater(t, len(a.Batches(t, a.Device())), looks)

	b := w.joined(t, a, 2)
	require.Less(t, len(b.Batches(t, a.Device())), 5)
	w.sync(t, a)
	require.Equal(t, a.Digest(t), b.Digest(t))

	a.Look(t, 100)
	w.sync(t, a)
	w.sync(t, b) // which goes on from the end of a batch that the server never kept
	require.Equal(t, a.Digest(t), b.Digest(t))
	w.restart()
	require.Equal(t, a.Digest(t), w.digest(t, a))
}
