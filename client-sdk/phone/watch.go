//go:build js && wasm

package main

import (
	"context"
	"math/rand/v2"
	"time"

	"leafturn/client-sdk/replica"
)

// aliveFor is how long a sign of the server proves that its stream lives: two
// heartbeats and a little.
const aliveFor = 45 * time.Second

// watching is the stream by which the server tells that others have written.
type watching struct {
	house *replica.Replica // whose changes are watched, nil for nobody's
	stop  context.CancelFunc
	rest  *time.Timer
	heard time.Time // when the server last gave a sign
}

// alive reports whether the server tells by itself, so that nobody need ask.
func (w *watching) alive() bool { return w.house != nil && time.Since(w.heard) < aliveFor }

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
		w.house, w.heard = house, time.Time{}
		w.rest = time.AfterFunc(restAfter, func() { c.later(c.unwatch) })
		rhythm := replica.Rhythm{After: time.After, Random: rand.Float64}
		go func() {
			// It ends when it is told to: this transport can stream.
			_ = house.Watch(ctx, server, rhythm, func(news bool) { c.later(func() { c.hear(ctx, news) }) })
		}()
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
	w.house = nil
}

// hear takes in a sign of the server. Several pieces of news during one sync are
// one more sync.
func (c *core) hear(ctx context.Context, news bool) {
	if ctx.Err() != nil {
		return // of a stream that is no longer watched
	}
	c.watching.heard = time.Now()
	if news {
		c.sync(context.WithoutCancel(ctx))
	}
}

// poll asks the server, unless it tells by itself and nothing waits here.
func (c *core) poll(ctx context.Context) {
	here := time.Since(c.last) < restAfter
	switch {
	case c.app.Waits() || here && !c.watching.alive():
		c.sync(ctx)
	case here:
		c.next(ctx)
	}
}
