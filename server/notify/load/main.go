// Command load lets one server tell many households what is due, all at the same
// minute, and prints what comes of it.
//
// It fills a store with small households, whose one person wants a digest at eight.
// A process of its own is the server: it plans the day, then its clock shows eight.
// The push service is in the first process, on loopback, over TLS: it takes every
// message and notes when. Everything is real but the time of day: logs are read from
// the disk and their signatures checked, tasks derived, notes encrypted and signed.
//
// A figure is a line "name value unit" on standard output.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"time"
)

// serverRole in the environment makes the process the server.
const serverRole = "LEAFTURN_NOTIFY_LOAD"

// longest bounds a whole run.
const longest = 20 * time.Minute

func main() {
	households := flag.Int("households", 100_000, "how many households there are")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, longest)
	defer cancel()
	err := error(nil)
	if spec := os.Getenv(serverRole); spec != "" {
		err = serve(ctx, spec)
	} else {
		err = run(ctx, *households)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(1)
	}
}

func figure(name string, value float64, unit string) {
	fmt.Printf("%s %.4g %s\n", name, value, unit)
}

// run is the push service, and whoever starts the server and draws the sum.
func run(ctx context.Context, households int) (err error) {
	dir, err := os.MkdirTemp("", "leafturn-notify-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	p := newPush(households)
	defer p.service.Close()
	began := time.Now()
	if err := fill(ctx, dir, households, p); err != nil {
		return fmt.Errorf("fill the store: %w", err)
	}
	fmt.Fprintf(os.Stderr, "filled in %.0f s\n", time.Since(began).Seconds())
	if err := startServer(ctx, dir, p); err != nil {
		return err
	}
	return p.sum()
}
