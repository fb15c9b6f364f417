package main

import (
	"context"
	"errors"
	"math/rand/v2"
	"net/http"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"leafturn/sync/hint"
)

// crowd is all phones as they come back after an outage.
type crowd struct {
	trial *trial
	homes []*house
	pool  *pool // for requests; each phone's stream has a connection of its own

	vain    atomic.Int64  // tries that brought no answer, or one that refuses
	syncs   atomic.Int64  // exchanges to their end
	streams atomic.Int64  // streams that were begun
	left    atomic.Int64  // households not in agreement yet
	agreed  chan struct{} // closed when there are none
	phones  sync.WaitGroup
}

// house is what the crowd knows of one household.
type house struct {
	*home
	crowd *crowd

	mu    sync.Mutex
	marks map[*phone]hint.Mark // guarded by mu; after each phone's last sync
	done  bool                 // guarded by mu; all of them are the same
	came  map[*phone]bool      // guarded by mu
	first []time.Duration      // guarded by mu; of each phone, from its first try to its first sync
	ins   []time.Duration      // guarded by mu; of each phone, the part of it until it was signed in
}

// requestLines bounds the connections that carry requests.
const requestLines = 1000

// fit is how many households' phones may be connected at once by the number of files
// that a process may have open.
func (t *trial) fit() int {
	const spare = requestLines + 200
	var files syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &files); err != nil {
		return 0
	}
	return min(len(t.homes), max(0, int(files.Cur)-spare)/perHousehold)
}

// storm kills the server, lets each phone write something meanwhile, starts the
// server again and lets them all come back: each signs in, sends what it has, and
// listens; what it hears of, it fetches. They agree when all phones of each household
// have what all of them wrote.
func (t *trial) storm(ctx context.Context) error {
	t.server.kill()
	c := &crowd{trial: t, agreed: make(chan struct{})}
	for _, h := range t.homes[:t.fit()] {
		for _, p := range h.phones {
			if err := p.look(); err != nil {
				return err
			}
		}
		c.homes = append(c.homes, &house{home: h, crowd: c, marks: map[*phone]hint.Mark{}, came: map[*phone]bool{}})
	}
	if len(c.homes) == 0 {
		return errors.New("this process may not open enough files")
	}
	began := time.Now()
	if err := t.start(ctx, t.data()); err != nil {
		return err
	}
	t.figure("start-after-kill-ms", milliseconds(time.Since(began)), "ms")
	return c.comeBack(ctx)
}

// comeBack lets all phones loose, waits until they agree, and ends the server while
// all of them listen.
func (c *crowd) comeBack(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer c.phones.Wait()
	defer cancel()
	c.pool = newPool(c.trial.server.address, requestLines)
	c.left.Store(int64(len(c.homes)))
	began, cpu := time.Now(), c.trial.server.cpu()
	for _, h := range c.homes {
		for _, p := range h.phones {
			c.phones.Go(func() { h.live(ctx, p) })
		}
	}
	select {
	case <-c.agreed:
	case <-ctx.Done():
		return ctx.Err()
	}
	all := time.Since(began)
	c.trial.figure("storm-server-cpu-s", (c.trial.server.cpu() - cpu).Seconds(), "s")
	c.trial.settle(ctx)
	c.tell(all)
	began = time.Now()
	if err := c.trial.server.stop(); err != nil {
		return err
	}
	c.trial.figure("stop-with-streams-ms", milliseconds(time.Since(began)), "ms")
	return nil
}

func (c *crowd) tell(all time.Duration) {
	var first, ins []time.Duration
	for _, h := range c.homes {
		first, ins = append(first, h.first...), append(ins, h.ins...)
	}
	t := c.trial
	t.figure("storm-phones", float64(len(first)), "phones")
	t.figure("storm-streams", float64(c.streams.Load()), "streams")
	t.figure("storm-all-in-sync-s", all.Seconds(), "s")
	t.figure("storm-p50-ms", milliseconds(percentile(first, 50)), "ms")
	t.figure("storm-p99-ms", milliseconds(percentile(first, 99)), "ms")
	t.figure("storm-sign-in-p99-ms", milliseconds(percentile(ins, 99)), "ms")
	t.figure("storm-syncs", float64(c.syncs.Load()), "syncs")
	t.figure("storm-tries-in-vain", float64(c.vain.Load()), "tries")
	t.figure("storm-refused-for-good", float64(len(c.homes)*perHousehold-len(first)), "phones")
	t.remember("storm-memory-mb")
}

// pause waits a random while, up to most; it reports whether to go on.
func pause(ctx context.Context, most time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-time.After(rand.N(most + 1)):
		return true
	}
}

// live is one phone from the moment when the server is back. It tries as the app
// does: again and again, more and more rarely, at random moments.
func (h *house) live(ctx context.Context, p *phone) {
	if !pause(ctx, h.crowd.trial.spread) {
		return
	}
	began := time.Now()
	p.token = ""
	for failures := 0; ; failures++ {
		if err := h.come(p, began); err != nil {
			h.crowd.vain.Add(1)
		} else if h.listen(ctx, p) == nil {
			failures = 0
		}
		if !pause(ctx, min(time.Second<<min(failures, 8), 5*time.Minute)) {
			return
		}
	}
}

// come signs in and syncs.
func (h *house) come(p *phone, began time.Time) error {
	if p.token == "" {
		if err := p.signIn(h.crowd.pool); err != nil {
			return err
		}
	}
	in := time.Since(began)
	if err := h.sync(p); err != nil {
		return err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.came[p] {
		h.came[p] = true
		h.first, h.ins = append(h.first, time.Since(began)), append(h.ins, in)
	}
	return nil
}

func (h *house) sync(p *phone) error {
	if err := p.sync(h.crowd.pool); err != nil {
		return err
	}
	h.crowd.syncs.Add(1)
	h.mu.Lock()
	defer h.mu.Unlock()
	h.marks[p] = p.mark()
	for _, m := range h.marks {
		if m != p.mark() {
			return nil
		}
	}
	if len(h.marks) == len(h.phones) && !h.done {
		h.done = true
		if h.crowd.left.Add(-1) == 0 {
			close(h.crowd.agreed)
		}
	}
	return nil
}

// listen follows the server's hints until the stream ends.
func (h *house) listen(ctx context.Context, p *phone) error {
	l, err := dial(h.crowd.trial.server.address)
	if err != nil {
		return err
	}
	defer l.conn.Close()
	defer context.AfterFunc(ctx, func() { _ = l.conn.Close() })()
	q := request{method: "GET", path: p.home() + "/events", phone: p, last: string(p.mark())}
	res, err := l.begin(q.bytes())
	if err != nil {
		return err
	}
	if res.StatusCode != http.StatusOK {
		h.crowd.vain.Add(1)
		return &refused{status: res.StatusCode}
	}
	if err := l.conn.SetDeadline(time.Time{}); err != nil {
		return err
	}
	h.crowd.streams.Add(1)
	var hints hint.Reader
	for piece := make([]byte, 256); ; {
		n, err := res.Body.Read(piece)
		if marks := hints.Take(piece[:n]); len(marks) > 0 && marks[len(marks)-1] != p.mark() {
			if err := h.sync(p); err != nil {
				return err
			}
		}
		if err != nil {
			return nil
		}
	}
}
