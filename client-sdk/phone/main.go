//go:build js && wasm

// Command phone is the phone app's core: it runs in the page's Web Worker, takes
// messages from the page, hands them to package app, and posts the answers back.
package main

import (
	"context"
	"crypto/rand"
	"errors"
	"syscall/js"
	"time"

	"github.com/google/uuid"

	"leafturn/client-sdk/app"
	"leafturn/client-sdk/browser"
	"leafturn/client-sdk/replica"
)

// version names the build; the linker sets it.
var version = "development"

func main() {
	ctx := context.Background()
	c := &core{inbox: make(chan func(), 4096)}
	c.listen()
	if err := c.open(ctx); err != nil {
		post(map[string]any{"status": err.Error()})
		panic(err) // the page hears that the core has ended and says so
	}
	c.hearNetwork()
	post(map[string]any{"ready": true})
	for do := range c.inbox {
		c.guard(do)
	}
}

// core drives the app: everything that touches it runs in main's loop, one thing
// after the other.
type core struct {
	app    *app.App
	inbox  chan func()
	files  browser.Transport
	last   time.Time // when a person was last here
	again  bool      // a sync was asked for while one was running
	failed int       // syncs in a row after which something still waits
	timer  *time.Timer
	badged int // the number on the app's icon
	asked  int // the question that is being answered, 0 if none

	watching watching
}

func (c *core) open(ctx context.Context) error {
	household, err := browser.OpenVault(ctx, "leafturn")
	if err != nil {
		return err
	}
	sample, err := browser.OpenVault(ctx, "leafturn-sample")
	if err != nil {
		return err
	}
	c.files = browser.Transport{}
	c.app = app.New(app.Options{
		Main: household, Sample: sample, Transport: c.files, Version: version, File: c.file,
		Darkroom: darkroom{}, Network: network,
		// A worker has one thread. Sleeping for a moment hands it to the page's messages.
		Breathe: func() { time.Sleep(time.Millisecond) },
		Replica: replica.Options{Wall: func() int64 { return time.Now().UnixMilli() }, Random: rand.Reader, NewID: newID},
	})
	return nil
}

// newID makes the id of a record: a UUID of version 7, whose beginning is the time.
func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }

var errNoFile = errors.New("a file of the app is missing")

// file fetches a file of the app itself; the service worker gives it when offline.
func (c *core) file(ctx context.Context, path string) ([]byte, error) {
	resp, err := c.files.Do(ctx, replica.Request{Method: "GET", Path: path})
	if err != nil {
		return nil, err
	}
	if resp.Status != 200 {
		return nil, errNoFile
	}
	return resp.Body, nil
}

// listen takes the page's messages. The callback must not wait, or the browser's
// event loop would stand still.
func (c *core) listen() {
	js.Global().Set("onmessage", js.FuncOf(func(_ js.Value, args []js.Value) any {
		m := args[0].Get("data")
		c.later(func() { c.take(context.Background(), m) })
		return nil
	}))
}

func (c *core) later(do func()) {
	select {
	case c.inbox <- do:
	default:
		go func() { c.inbox <- do }()
	}
}

// take handles one message of the page.
func (c *core) take(ctx context.Context, m js.Value) {
	c.last = time.Now()
	c.asked = number(m, "id")
	switch text(m, "type") {
	case "start":
		env := app.Env{Zone: zone(), Origin: js.Global().Get("location").Get("origin").String(), East: east()}
		uncollected(func() { c.answer(0, c.app.Start(ctx, env, text(m, "hash"))) })
		c.sync(ctx)
		time.AfterFunc(checkAfter, func() { c.later(func() { c.check(ctx) }) })
	case "go":
		c.answer(0, c.app.Go(ctx, text(m, "hash")))
	case "do":
		c.answer(number(m, "id"), c.app.Do(ctx, event(m)))
		c.sync(ctx)
	case "photo":
		c.photo(ctx, text(m, "sum"), number(m, "size"))
	case "online", "visible", "tick":
		c.failed = 0
		c.sync(ctx)
		if !c.watching.alive {
			c.unwatch() // it may be waiting for its next try; the network is back now
		}
	}
	c.watch(ctx)
	c.badge()
}

// zone is the phone's own, by its IANA name.
func zone() string {
	return js.Global().Get("Intl").Call("DateTimeFormat").Call("resolvedOptions").Get("timeZone").String()
}

// east is how far the phone's clock is east of UTC now, in seconds.
func east() int {
	_, offset := time.Now().Local().Zone()
	return offset
}

// photo answers when the photo is here, which may take a while.
func (c *core) photo(ctx context.Context, sum string, size int) {
	load := c.app.Photo(sum, size)
	c.beside(func() {
		data, mime, err := load(ctx)
		p := map[string]any{"sum": sum, "size": size}
		if err != nil {
			p["missing"] = true
		} else {
			p["type"], p["bytes"] = mime, bytesOf(data)
		}
		post(map[string]any{"photo": p})
	})
}

// Syncing happens after every action and whenever the server tells that others have
// written. While it does not tell, because no stream gets through, and the page is in
// view, syncing happens every pollEvery.
const (
	pollEvery = 20 * time.Second
	pollSoon  = 2 * time.Second  // while somebody is expected to join
	restAfter = 90 * time.Second // without a sign of the page, polling rests
	mostWait  = 5 * time.Minute  // between two tries when the server cannot be reached
)

// sync runs a sync beside the loop.
func (c *core) sync(ctx context.Context) {
	job, answer := c.app.BeginSync()
	if job == nil {
		c.again = true
		return
	}
	c.again = false
	c.answer(0, answer)
	c.beside(func() {
		end := c.app.AbandonSync // of a job that panics
		defer func() {
			c.later(func() {
				end()
				c.badge()
				c.next(ctx)
			})
		}()
		out := job(ctx)
		end = func() { c.answer(0, c.app.EndSync(ctx, out)) }
	})
}

// next plans the next sync: at once if something was written meanwhile, else at the
// next poll, and more and more rarely while the server cannot be reached.
func (c *core) next(ctx context.Context) {
	if c.again {
		c.sync(ctx)
		return
	}
	wait := pollEvery
	if c.app.Expects() {
		wait = pollSoon
	}
	if c.app.Waits() {
		c.failed++
		wait = min(time.Second<<min(c.failed, 9), mostWait)
	} else {
		c.failed = 0
	}
	if c.timer != nil {
		c.timer.Stop()
	}
	c.timer = time.AfterFunc(wait, func() { c.later(func() { c.poll(ctx) }) })
}
