//go:build js && wasm

package main

import (
	"context"
	"math/rand/v2"
	"time"

	"leafturn/client-sdk/replica"
)

// watching is the stream by which the server tells that others have written.
type watching struct {
	house *replica.Replica // whose changes are watched, nil for nobody's
	stop  context.CancelFunc
	rest  *time.Timer
	alive bool // the server tells by itself, so nobody need ask
}

// watch listens to the server of the household that is open, until the page has
// given no sign for a while. It is called at each sign.
func (c *core) watch(ctx context.Context) {
	w := &c.watching
	house, server := c.app.Link()
	if server == nil || house != w.house {
		c.unwatch()
	}
	if server == nil {
		return
	}
	if w.house == nil {
		ctx, w.stop = context.WithCancel(ctx)
		w.house = house
		w.rest = time.AfterFunc(restAfter, func() { c.later(c.unwatch) })
		rhythm := replica.Rhythm{After: time.After, Random: rand.Float64}
		c.beside(func() {
			// It ends when it is told to: this transport can stream.
			_ = house.Watch(ctx, server, rhythm, func(s replica.Sign) { c.later(func() { c.hear(ctx, s) }) })
		})
	}
	w.rest.Reset(restAfter)
}

func (c *core) unwatch() {
	w := &c.watching
	if w.house == nil {
		return
	}
	w.stop()
	w.rest.Stop()
	w.house, w.alive = nil, false
}

// hear takes in a sign of the server. Several pieces of news during one sync are
// one more sync.
func (c *core) hear(ctx context.Context, s replica.Sign) {
	if ctx.Err() != nil {
		return // of a stream that is no longer watched
	}
	c.watching.alive = s != replica.Silent
	if s == replica.News {
		c.sync(context.WithoutCancel(ctx))
	}
}

// poll asks the server, unless it tells by itself and nothing waits here.
func (c *core) poll(ctx context.Context) {
	here := time.Since(c.last) < restAfter
	switch {
	case c.app.Waits() || here && !c.watching.alive:
		c.sync(ctx)
	case here:
		c.next(ctx)
	}
}
