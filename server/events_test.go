package main

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/remote"
	"leafturn/client-sdk/replica"
	"leafturn/model"
)

// watching lets a phone listen until the test ends, and gives what it hears.
func (p *sdkPhone) watching(t *testing.T, r *running) <-chan replica.Sign {
	t.Helper()
	way, err := remote.New(r.url, nil)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	signs, ended := make(chan replica.Sign, 1024), make(chan error, 1)
	rhythm := replica.Rhythm{After: time.After, Random: rand.Float64}
	go func() {
		ended <- p.Watch(ctx, p.Server(way), rhythm, func(s replica.Sign) { signs <- s })
	}()
	t.Cleanup(func() {
		stop()
		require.ErrorIs(t, <-ended, context.Canceled)
	})
	return signs
}

// awaits waits for a sign, whatever comes before it.
func awaits(signs <-chan replica.Sign, s replica.Sign) {
	for got := range signs {
		if got == s {
			return
		}
	}
}

// What one phone writes, the other is told of, fetches and has; its own changes are
// no news to it.
func TestPhonesTellEachOtherThroughTheServer(t *testing.T) {
	ctx := context.Background()
	r := serve(t, t.TempDir())
	a, b := sdkPair(t, r)
	toA, toB := a.connect(t, r), b.connect(t, r)
	for range 2 { // names and all
		require.NoError(t, b.Sync(ctx, toB))
		require.NoError(t, a.Sync(ctx, toA))
	}
	hearsA, hearsB := a.watching(t, r), b.watching(t, r)
	require.Equal(t, replica.Alive, <-hearsA)
	require.Equal(t, replica.Alive, <-hearsB)
	for range 5 {
		_, err := a.Do(ctx, replica.Seen(&model.Inspection{Plant: model.PlantID{7}}))
		require.NoError(t, err)
		require.NoError(t, a.Sync(ctx, toA))
		awaits(hearsB, replica.News)
		require.NoError(t, b.Sync(ctx, toB))
		require.Equal(t, a.Mark(), b.Mark())
		require.Equal(t, replica.Alive, <-hearsA, "its own change came back to it")
	}
}

// Phones that listen do not keep the server from ending, and hear that it has.
func TestListenersDoNotKeepTheServer(t *testing.T) {
	r := serve(t, t.TempDir())
	a, b := sdkPair(t, r)
	hearsA, hearsB := a.watching(t, r), b.watching(t, r)
	<-hearsA
	<-hearsB
	// What the log says is left open: a phone that calls again during the drain is told
	// that the server is busy, and a connection opened ahead may be cut off.
	require.Equal(t, 0, r.interrupt())
	awaits(hearsA, replica.Silent)
	awaits(hearsB, replica.Silent)
}
