package photo

import (
	"context"
	"fmt"
)

// queueMax is how many may wait for their turn. One turn takes a few tenths of a
// second, so who is the last in a full queue waits some seconds, and no longer.
const queueMax = 16

// Decoding is done one photo at a time, so that a process needs the memory of one
// however many arrive. queue holds a token for everybody who works or waits, slot
// one for who works.
var (
	queue = make(chan struct{}, 1+queueMax)
	slot  = make(chan struct{}, 1)
)

// inTurn waits for the slot, or for ctx to end. It does not wait at all when too many
// wait already: whoever is told ErrBusy holds nothing here while it waits.
func inTurn(ctx context.Context, work func() error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	select {
	case queue <- struct{}{}:
		defer func() { <-queue }()
	default:
		return ErrBusy.Because(fmt.Errorf("%d photos are waiting", queueMax))
	}
	select {
	case slot <- struct{}{}:
		defer func() { <-slot }()
		return work()
	case <-ctx.Done():
		return ctx.Err()
	}
}
