// Command load puts the server under load on this machine and prints what comes of it.
//
// It builds the server, fills a data folder with households whose phones have joined
// already, and starts the server on it as a process of its own on a loopback port. A
// phone here is what a server sees of one: keys, a log, and requests over real
// connections. It believes the server and keeps no state of the household, so that
// the machine's time goes to the server rather than to ten thousand clients.
//
// A figure is a line "name value unit" on standard output. Everything ends by itself
// within minutes and leaves nothing behind.
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"time"
)

// longest bounds a whole run.
const longest = 15 * time.Minute

func main() {
	s := full
	flag.IntVar(&s.households, "households", s.households, "how many households there are, of ten phones each")
	flag.IntVar(&s.seen, "changes", s.seen, "how many changes are timed from one phone to another")
	flag.DurationVar(&s.writing, "writing", s.writing, "how long each number of writers writes")
	flag.Int64Var(&s.data, "data", s.data, "how many bytes the server has when it starts a second time")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, longest)
	defer cancel()
	if err := run(ctx, s, os.Stdout, os.Stderr); err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(1)
	}
}

// size is how large everything is.
type size struct {
	households int
	writers    []int
	writing    time.Duration // of each number of writers
	floor      string        // how long each floor is measured, as go test takes it; empty for not at all
	seen       int
	spread     time.Duration // over which phones come back after an outage
	data       int64
	rest       time.Duration // the server's, before its memory is looked at
}

// perHousehold is how many phones a household has.
const perHousehold = 10

var full = size{households: 1000, writers: []int{1, 16, 64}, writing: 3 * time.Second, floor: "1s", seen: 200, spread: 20 * time.Second, data: 1 << 30, rest: 2 * time.Second}

// report prints figures, and words about what happens.
type report struct{ figures, words io.Writer }

func (r *report) figure(name string, value float64, unit string) {
	fmt.Fprintf(r.figures, "%s %.4g %s\n", name, value, unit)
}

func (r *report) say(format string, args ...any) { fmt.Fprintf(r.words, format+"\n", args...) }

// run measures everything, from the quiet to the wild: what comes later would
// disturb what comes before.
func run(ctx context.Context, s size, figures, words io.Writer) (err error) {
	dir, err := os.MkdirTemp("", "leafturn-load-")
	if err != nil {
		return err
	}
	defer func() { err = firstOf(err, os.RemoveAll(dir)) }()
	t := &trial{size: s, report: report{figures, words}, dir: dir}
	defer t.end()
	for _, step := range []struct {
		name string
		do   func(context.Context) error
	}{
		{"build", t.build},
		{"measure an idle server", t.idle},
		{"fill the store", t.fill},
		{"start with it", t.open},
		{"measure acknowledgements", t.acks},
		{"measure changes seen", t.changes},
		{"end the outage", t.storm},
		{"start a second time", t.again},
	} {
		began := time.Now()
		if err := step.do(ctx); err != nil {
			return fmt.Errorf("%s: %w", step.name, err)
		}
		t.say("%s: %.1f s", step.name, time.Since(began).Seconds())
	}
	return nil
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// trial is one run.
type trial struct {
	size
	report
	dir    string
	server *program
	homes  []*home
	others []*home // whose phones write while acknowledgements are measured
}

func (t *trial) end() {
	if t.server != nil {
		t.server.kill()
	}
}
