package httpapi

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"

	"leafturn/photo/upload"
)

// BodyLimit is the size of the largest request body that is read into memory.
// Photos are streamed past it.
const BodyLimit = 2 << 20

// drainLimit is how much of a refused body is read and thrown away. Who sends it reads
// the answer only after the last byte: a connection that ends before would be reset,
// and the reason lost with it. Beyond this much, losing it is the lesser evil.
const drainLimit = 2 * BodyLimit

// paceBytes must arrive within each readTimeout of a streamed body, about 5 kB/s. A
// phone on a worse line keeps what it got and goes on; somebody who sends a byte a
// second loses the connection.
const paceBytes = 64 << 10

// bodies decides who meets a body that is still on its way.
//
// Photos must be written while they arrive: a phone that walks out of the house keeps
// what it sent, and a photo never sits in memory. The framework has one switch for
// that, and it has three traps. It turns the limit on bodies off for every route of
// the app. Reading a body the usual way then gives the text of the error as if it
// were the body when the connection breaks, so "connection reset by peer" ends up in
// a photo. And what a handler does not read is taken for the next request on the
// connection.
//
// So no route gets a stream unless streams names it: for all others the body is
// read here, up to the limit, and put back. And whoever leaves a part of a
// stream unread ends the connection.
//
// What is read is counted, see ration, for as long as the handler runs.
func (s *server) bodies(c *fiber.Ctx) error {
	c.Locals(keyRation, s.ration)
	r := c.Context().RequestBodyStream()
	if r == nil {
		return c.Next()
	}
	b := &incoming{r: r, conn: c.Context().Conn(), left: int64(c.Request().Header.ContentLength()), pace: paceBytes}
	if streams(c) {
		c.Locals(keyBody, b)
		defer b.settle(c)
		return c.Next()
	}
	share := s.ration.share()
	defer share.Close()
	whole, err := b.all(BodyLimit, share)
	if err != nil {
		b.settle(c)
		c.Context().SetConnectionClose()
		return err
	}
	c.Request().SetBodyRaw(whole)
	return c.Next()
}

// streams reports whether a request is for a handler that reads its body as it comes:
// those that take the bytes of uploads.
func streams(c *fiber.Ctx) bool {
	if m := c.Method(); m != fiber.MethodPost && m != fiber.MethodPatch {
		return false
	}
	rest, ok := strings.CutPrefix(c.Path(), "/api/v1/households/")
	_, rest, _ = strings.Cut(rest, "/")
	return ok && (rest == "uploads" || strings.HasPrefix(rest, "uploads/"))
}

// incoming is a body on its way. Unlike the framework's stream it tells a body that
// ended from one that broke off.
type incoming struct {
	r    io.Reader
	conn net.Conn
	left int64 // bytes still to come; negative when only the end tells
	pace int64 // bytes until the connection gets more time

	mu          sync.Mutex
	interrupted bool // guarded by mu
}

// Read gives bytes. io.EOF means that the body is whole; upload.ErrCut that the rest
// of it does not come.
func (b *incoming) Read(p []byte) (int, error) {
	if b.left == 0 {
		return 0, io.EOF
	}
	n, err := b.r.Read(p)
	if b.left > 0 {
		b.left -= int64(n)
	}
	if err == io.EOF && b.left > 0 {
		err = io.ErrUnexpectedEOF
	}
	switch {
	case err == io.EOF:
		b.left = 0
		return n, err
	case err != nil && b.left != 0:
		return n, upload.ErrCut.Because(fmt.Errorf("%d bytes before its end: %w", b.left, err))
	}
	if b.pace -= int64(n); b.pace <= 0 {
		b.pace = paceBytes
		b.allow(readTimeout)
	}
	return n, nil
}

// allow gives the connection so much time from now, unless it was interrupted. A
// deadline that cannot be set belongs to a connection whose next read fails anyway.
func (b *incoming) allow(d time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.interrupted {
		_ = b.conn.SetReadDeadline(time.Now().Add(d))
	}
}

// Interrupt makes reads that wait fail from now on.
func (b *incoming) Interrupt() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.interrupted = true
	_ = b.conn.SetReadDeadline(time.Now())
}

// all reads a body of at most so many bytes.
func (b *incoming) all(most int64, share *share) ([]byte, error) {
	if b.left > most {
		return nil, fiber.ErrRequestEntityTooLarge
	}
	var whole bytes.Buffer // grows with what comes, not with what was announced
	_, err := whole.ReadFrom(io.TeeReader(io.LimitReader(b, most+1), share))
	switch {
	case errors.Is(err, errBusy):
		return nil, err
	case errors.Is(err, os.ErrDeadlineExceeded):
		return nil, fiber.ErrRequestTimeout
	case err != nil:
		return nil, errRequest.Because(err)
	case int64(whole.Len()) > most:
		return nil, fiber.ErrRequestEntityTooLarge
	}
	return whole.Bytes(), nil
}

// settle reads what a handler left, so that a client that is still sending hears the
// answer. When that is too much, or does not come, the connection ends.
func (b *incoming) settle(c *fiber.Ctx) {
	b.mu.Lock()
	interrupted := b.interrupted
	b.mu.Unlock()
	if !interrupted && b.left <= drainLimit {
		_, _ = io.CopyN(io.Discard, b, drainLimit)
	}
	if b.left != 0 {
		c.Context().SetConnectionClose()
	}
}
