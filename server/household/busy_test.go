package household_test

import (
	"context"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
)

// held is a log whose appends wait.
type held struct {
	*memlog.Log
	release chan struct{}
}

func (h *held) Append(ctx context.Context, batches []*oplog.Batch) error {
	<-h.release
	return h.Log.Append(ctx, batches)
}

func TestManyExchangesMakeTheServerBusy(t *testing.T) {
	w := newWorld(t)
	a := phonetest.Found(t, 1, w.clock.now)
	log := &held{memlog.New(a.Household()), make(chan struct{}, 1)}
	w.Service = household.New(oneLog{log}, w.clock.now)
	log.release <- struct{}{}
	_, err := w.Found(ctx, a.Introduction(), free)
	require.NoError(t, err)

	m := a.Message(a.Look(t, 1))
	const phones = 33
	errs := make(chan error, phones)
	for range phones {
		require.False(t, w.Busy())
		go func() {
			_, err := w.Exchange(ctx, a.Household(), a.Device(), m)
			errs <- err
		}()
	}
	for !w.Busy() { // all of them are coming
		runtime.Gosched()
	}
	close(log.release)
	for range phones {
		require.NoError(t, <-errs)
	}
	require.False(t, w.Busy())
}
