package household_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
)

// counted is a log that counts how often it is read.
type counted struct {
	*memlog.Log
	reads int
}

func (c *counted) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	c.reads++
	return c.Log.Read(ctx, d, after, maxBytes)
}

// What another phone has just written is what phones fetch most. It is handed out from
// memory, and is the same as what lies on the disk.
func TestTheLatestIsHandedOutFromMemory(t *testing.T) {
	w := newWorld(t)
	a := phonetest.Found(t, 1, w.clock.now)
	log := &counted{Log: memlog.New(a.Household())}
	w.Service = household.New(oneLog{log}, w.clock.now)
	_, err := w.Found(ctx, a.Introduction(), free)
	require.NoError(t, err)
	b, late := w.joined(t, a, 2), w.joined(t, a, 3)
	w.sync(t, a)
	w.sync(t, b)
	note := func(words string) {
		f := phonetest.Look(a, 1)
		f.Body.(*model.Inspection).Note = words
		a.Write(t, f)
		w.sync(t, a)
	}
	fetch := func(p *phonetest.Phone) (reads int) {
		before := log.reads
		w.sync(t, p)
		require.Equal(t, a.Digest(t), p.Digest(t))
		return log.reads - before
	}
	note("first")
	require.Zero(t, fetch(b))
	note("second")
	require.Zero(t, fetch(b))
	require.Equal(t, 1, fetch(late), "who lacks two entries gets both")

	var day []any
	for plant := range byte(100) {
		f := phonetest.Look(a, 1+plant)
		f.Body.(*model.Inspection).Note = fmt.Sprintf("%x", sha256.Sum256([]byte{plant}))
		day = append(day, f)
	}
	a.Write(t, day...)
	w.sync(t, a)
	require.Equal(t, 1, fetch(b), "a large one is left on the disk")

	note("third")
	w.Service = household.New(oneLog{log}, w.clock.now)
	require.NotZero(t, fetch(b), "a server that was started anew knows it from the disk")
}
