package httpapi

import (
	"bytes"
	"sync/atomic"

	"github.com/gofiber/fiber/v2"
)

// ration bounds the memory for what phones send and what is sent to them, when many
// come at once or read slowly. Whoever finds none left is told to come again: waiting
// would take a connection, and somebody who dawdles could make all others wait.
//
// The first few kilobytes of each are free, because connections bound their number. So
// phones that send one entry get through whatever the others do.
type ration struct{ left atomic.Int64 }

const (
	// rationBytes is for some 30 phones that send as much as they may, or 120 that
	// get as much as a message holds.
	rationBytes = 64 << 20

	freeBytes = 16 << 10
)

func newRation(n int64) *ration {
	r := &ration{}
	r.left.Store(n)
	return r
}

func (r *ration) share() *share { return &share{of: r, free: freeBytes} }

// share is what one body or one answer has of a ration, until Close.
type share struct {
	of          *ration
	free, taken int64
}

// grow makes room for so many bytes more.
func (s *share) grow(n int64) error {
	free := min(s.free, n)
	s.free, n = s.free-free, n-free
	if s.of.left.Add(-n) < 0 {
		s.of.left.Add(n)
		return errBusy
	}
	s.taken += n
	return nil
}

// Write counts bytes.
func (s *share) Write(p []byte) (int, error) { return len(p), s.grow(int64(len(p))) }

// Close gives everything back.
func (s *share) Close() error {
	s.of.left.Add(s.taken)
	s.taken = 0
	return nil
}

// outgoing is an answer's body, which is counted until the phone has read it or is gone.
type outgoing struct {
	*bytes.Reader
	*share
}

// sendRationed answers with bytes that were made for this answer alone.
func sendRationed(c *fiber.Ctx, body []byte) error {
	share := c.Locals(keyRation).(*ration).share()
	if err := share.grow(int64(len(body))); err != nil {
		return err
	}
	if share.taken == 0 {
		return c.Send(body)
	}
	return c.SendStream(outgoing{bytes.NewReader(body), share}, len(body))
}
