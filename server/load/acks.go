package main

import (
	"context"
	"errors"
	"fmt"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"time"

	"leafturn/sync/wire"
)

// percentile gives the value that so many of a hundred do not exceed.
func percentile(values []time.Duration, of int) time.Duration {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	return sorted[max(0, (len(sorted)*of+99)/100-1)]
}

// acks measures durable acknowledgements through HTTP against what the same store
// and the same disk do without it, before and after, because neither stands still.
func (t *trial) acks(ctx context.Context) error {
	before, err := t.floors(ctx)
	if err != nil {
		return err
	}
	rates := map[int]float64{}
	for _, n := range t.writers {
		if rates[n], err = t.acksOf(ctx, n); err != nil {
			return err
		}
	}
	after, err := t.floors(ctx)
	if err != nil {
		return err
	}
	for _, n := range t.writers {
		t.figure(fmt.Sprintf("acks-%d", n), rates[n], "1/s")
		of := func(what string) float64 {
			key := floor{what, n}
			return (before[key] + after[key]) / 2
		}
		if of("loop") == 0 {
			continue
		}
		t.figure(fmt.Sprintf("floor-%d", n), of("loop"), "1/s")
		t.figure(fmt.Sprintf("floor-over-acks-%d", n), of("loop")/rates[n], "times")
		t.figure(fmt.Sprintf("floor-over-store-%d", n), of("loop")/of("committer"), "times")
	}
	return nil
}

// floor is what is measured without HTTP: the bare batching loop over the store's
// engine, or the store's committer.
type floor struct {
	what    string
	writers int
}

var floorLine = regexp.MustCompile(`(?m)^BenchmarkAppend/(\w+)/writers=(\d+)\S*\s.*\s([\d.]+) acks/s`)

// floors runs the store's own benchmark.
func (t *trial) floors(ctx context.Context) (map[floor]float64, error) {
	found := map[floor]float64{}
	if t.size.floor == "" {
		return found, nil
	}
	out, err := exec.CommandContext(ctx, "go", "test", "-run", "^$", "-bench", "Append/(committer|loop)/", "-benchtime", t.size.floor, "leafturn/server/badgerdb").CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("%w\n%s", err, out)
	}
	for _, m := range floorLine.FindAllSubmatch(out, -1) {
		n, _ := strconv.Atoi(string(m[2])) // digits
		rate, err := strconv.ParseFloat(string(m[3]), 64)
		if err != nil {
			return nil, err
		}
		found[floor{string(m[1]), n}] = rate
	}
	if len(found) == 0 {
		return nil, errors.New("the store's benchmark printed no figures")
	}
	return found, nil
}

// writer sends what was written and signed beforehand.
type writer struct {
	phone    *phone
	line     *line
	requests [][]byte
	answers  [][]byte
	took     []time.Duration
}

// acksOf lets so many phones write as fast as they are answered, each in a household
// and over a connection of its own, and gives the acknowledgements in a second.
func (t *trial) acksOf(ctx context.Context, n int) (float64, error) {
	writers := make([]*writer, n)
	for i := range writers {
		w, err := t.newWriter(t.others[i].phones[0], min(4000, 40_000/n))
		if err != nil {
			return 0, err
		}
		defer w.line.conn.Close()
		writers[i] = w
	}
	cpu := t.server.cpu()
	began := time.Now()
	err := together(n, n, func(i int) error { return writers[i].run(ctx, began.Add(t.writing)) })
	elapsed := time.Since(began)
	cpu = t.server.cpu() - cpu
	if err != nil {
		return 0, err
	}
	var took []time.Duration
	for _, w := range writers {
		took = append(took, w.took...)
		if err := firstOf(w.check(), w.phone.sync(w.line)); err != nil { // sync sends the rest
			return 0, err
		}
	}
	t.figure(fmt.Sprintf("ack-p50-ms-%d", n), milliseconds(percentile(took, 50)), "ms")
	t.figure(fmt.Sprintf("ack-p99-ms-%d", n), milliseconds(percentile(took, 99)), "ms")
	if cpu > 0 {
		t.figure(fmt.Sprintf("ack-server-cpu-us-%d", n), cpu.Seconds()*1e6/float64(len(took)), "us")
	}
	return float64(len(took)) / elapsed.Seconds(), nil
}

func (t *trial) newWriter(p *phone, looks int) (*writer, error) {
	l, err := dial(t.server.address)
	if err != nil {
		return nil, err
	}
	w := &writer{phone: p, line: l}
	if err := firstOf(p.signIn(l), p.sync(l)); err != nil {
		return nil, err
	}
	for range looks {
		if err := p.look(); err != nil {
			return nil, err
		}
		q, err := p.exchangeRequest(p.message(p.unsent[len(p.unsent)-1]))
		if err != nil {
			return nil, err
		}
		w.requests = append(w.requests, q)
	}
	return w, nil
}

var errNotAcknowledged = errors.New("an entry was not acknowledged")

// run sends until a moment, or all there is.
func (w *writer) run(ctx context.Context, until time.Time) error {
	for _, q := range w.requests {
		began := time.Now()
		if began.After(until) || ctx.Err() != nil {
			return ctx.Err()
		}
		body, err := w.line.ask(q)
		if err != nil {
			return err
		}
		w.took = append(w.took, time.Since(began))
		w.answers = append(w.answers, body)
	}
	return nil
}

// check reads afterwards, when nobody waits for it, that each answer acknowledges
// what was sent.
func (w *writer) check() error {
	for i, body := range w.answers {
		answer, _, err := wire.Decode(body)
		if err != nil {
			return err
		}
		if answer.Have[w.phone.device] != w.phone.unsent[i].Last() {
			return errNotAcknowledged
		}
	}
	return nil
}
