package httpapi

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"

	"leafturn/model"
	"leafturn/server/auth"
	"leafturn/server/household"
	"leafturn/sync/hint"
)

// How many streams there may be. Each holds a connection, about 20 kB, and nothing
// that grows.
const (
	perDevice  = 5
	maxStreams = 12_000
)

// A stream looks at each pulse whether its token is still good, so it outlives the
// token by no more than one; every few pulses it sends a heartbeat, by which the
// phone knows that the line is not dead.
const (
	pulse     = 4 * time.Second
	beatEvery = 5
)

// soon is within what time a phone shall come back whose stream ended with its token.
// All other ends are the server's, and concern all phones at once: those come back
// over a longer time, as they think best.
const soon = 500 * time.Millisecond

// patience is how long a phone may take to read what a stream writes. The system
// buffers far more than that, so whoever reaches it reads nothing at all.
const patience = 10 * time.Second

// Ticker begins to tick, until stop.
type Ticker func() (ticks <-chan time.Time, stop func())

// Pulse is the Ticker of a server.
func Pulse() (<-chan time.Time, func()) {
	t := time.NewTicker(pulse)
	return t.C, t.Stop
}

// Events tells phones at once when their household has changed, so that they need
// not ask now and then. See package hint for what is sent; none of it is data of
// the household.
//
// A stream takes its connection over from the framework: it is held without a
// worker and without a limit on its time, and it notices at once when the phone
// hangs up.
type Events struct {
	service *household.Service
	busy    func() bool // the service's Busy
	now     func() time.Time
	pulse   Ticker
	log     *slog.Logger
	ctx     context.Context // ends with Close; a stream outlives its request
	cancel  func()
	seats   seats
}

// NewEvents makes the streams of a service. Close ends them.
func NewEvents(service *household.Service, now func() time.Time, pulse Ticker, log *slog.Logger) *Events {
	ctx, cancel := context.WithCancel(context.Background())
	return &Events{service: service, busy: service.Busy, now: now, pulse: pulse, log: log, ctx: ctx, cancel: cancel, seats: seats{of: map[model.DeviceID]int{}}}
}

// Member mounts the stream of a household.
func (e *Events) Member(r fiber.Router) { r.Get("/events", e.open) }

// Stop ends all streams without waiting for it, and lets no more begin.
func (e *Events) Stop() {
	e.seats.close()
	e.cancel()
}

// Close ends all streams and waits until none uses the service any more.
func (e *Events) Close() error {
	e.Stop()
	e.seats.taken.Wait()
	return nil
}

func (e *Events) open(c *fiber.Ctx) error {
	grant := c.Locals(keyGrant).(auth.Grant)
	if c.Method() == fiber.MethodHead {
		c.Set(fiber.HeaderContentType, hint.ContentType)
		return c.SendStatus(http.StatusOK)
	}
	if err := e.seats.take(grant.Device); err != nil {
		c.Set(fiber.HeaderRetryAfter, "60")
		return err
	}
	c.Set(fiber.HeaderContentType, hint.ContentType)
	c.Set("X-Accel-Buffering", "no") // asks proxies to pass each hint on at once
	// The end of the connection is the end of the body.
	c.Context().Response.SetConnectionClose()
	s := &stream{Events: e, grant: grant, last: hint.Mark(strings.Clone(c.Get(hint.LastID)))}
	s.head = append(s.head, c.Response().Header.Header()...)
	c.Context().HijackSetNoResponse(true)
	c.Context().Hijack(func(hijacked net.Conn) {
		conn := hijacked.(interface{ UnsafeConn() net.Conn }).UnsafeConn()
		go func() { // so that the framework can use its buffers for others
			defer e.seats.leave(grant.Device)
			defer conn.Close()
			s.serve(conn)
		}()
	})
	return nil
}

// seats counts streams.
type seats struct {
	taken sync.WaitGroup

	mu     sync.Mutex
	closed bool                   // guarded by mu
	all    int                    // guarded by mu
	of     map[model.DeviceID]int // guarded by mu
}

func (s *seats) take(d model.DeviceID) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.closed || s.all >= maxStreams:
		return errBusy
	case s.of[d] >= perDevice:
		return errStreams
	}
	s.all++
	s.of[d]++
	s.taken.Add(1)
	return nil
}

func (s *seats) leave(d model.DeviceID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all--
	if s.of[d]--; s.of[d] == 0 {
		delete(s.of, d)
	}
	s.taken.Done()
}

func (s *seats) close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
}

// stream is one phone that listens.
type stream struct {
	*Events
	grant auth.Grant
	last  hint.Mark // what the phone has, as far as it was told
	head  []byte    // of the answer, until it is written
	conn  net.Conn
}

// serve runs the stream to its end. Nothing above it would stop a panic.
func (s *stream) serve(conn net.Conn) {
	defer func() {
		if r := recover(); r != nil {
			s.log.Error("stream failed", "err", fmt.Errorf("panic: %v\n%s", r, debug.Stack()))
		}
	}()
	s.conn = conn
	// A write that nobody reads must not hold up the server's end.
	defer context.AfterFunc(s.ctx, func() { _ = conn.SetWriteDeadline(time.Unix(1, 0)) })()
	gone := make(chan struct{})
	go func() {
		defer close(gone)
		// A phone that listens says nothing: whatever it does, it is no longer listening.
		_, _ = conn.Read(make([]byte, 1))
	}()
	s.run(gone)
	_ = conn.SetReadDeadline(time.Unix(1, 0)) // wakes the reader, so that nothing is left behind
	<-gone
}

// run sends hints. It watches before it first looks, so that it misses nothing. A change
// is told at once, but on a busy server at the next pulse: phones that are here and want
// the latest would else take the time of those that come back after an outage, which are
// ten to a household and each change it.
func (s *stream) run(gone <-chan struct{}) {
	watch := s.service.Watch(s.grant.Household)
	defer watch.End()
	ticks, stop := s.pulse()
	defer stop()
	if !s.tell() {
		return
	}
	for beat, late := 0, false; ; {
		alive := true
		select {
		case <-watch.Changed():
			if late = s.busy(); !late {
				alive = s.tell()
			}
		case <-ticks:
			beat++
			alive = s.beat(beat) && (!late || s.tell())
			late = false
		case <-gone:
			return
		case <-s.ctx.Done():
			return
		}
		if !alive {
			return
		}
	}
}

// beat reports whether the stream may go on at a pulse.
func (s *stream) beat(number int) bool {
	if !s.now().Before(s.grant.Expires) {
		s.write(hint.Retry(soon))
		return false
	}
	return number%beatEvery != 0 || s.write(hint.Heartbeat())
}

// tell says where the household is, if the phone does not know; it reports whether
// the stream may go on. Whether the device still belongs to the household is asked
// here and nowhere else: only a change of the household's log can remove it.
func (s *stream) tell() bool {
	mark, err := s.service.Mark(s.ctx, s.grant.Household, s.grant.Device)
	if err != nil {
		s.log.Debug("stream ended", "err", err)
		return false
	}
	if mark == s.last {
		return s.head == nil || s.write(hint.Heartbeat())
	}
	s.last = mark
	return s.write(mark.Event())
}

// write sends bytes, after the answer's head if that has not been sent.
func (s *stream) write(b []byte) bool {
	if s.head != nil {
		b, s.head = append(s.head, b...), nil
	}
	if err := s.conn.SetWriteDeadline(time.Now().Add(patience)); err != nil {
		return false
	}
	if s.ctx.Err() != nil { // asked after that, so that the deadline of the end stands
		return false
	}
	_, err := s.conn.Write(b)
	return err == nil
}
