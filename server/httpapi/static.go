package httpapi

import (
	"net/http"
	"strings"

	"github.com/gofiber/fiber/v2"
)

// Pages and scripts are asked for again each time, which costs little because of
// their tags; a file that is asked for by the app's version never changes.
const (
	askAgain  = "no-cache"
	keepAYear = "public, max-age=31536000, immutable"
)

// file serves the phone app.
func (s *server) file(c *fiber.Ctx) error {
	f, ok := s.app.File(strings.TrimPrefix(c.Path(), "/"))
	if !ok {
		return errNotFound
	}
	body, encoding, tag := f.Pick(func(encoding string) bool { return acceptsEncoding(c, encoding) })
	c.Set(fiber.HeaderETag, tag)
	c.Set(fiber.HeaderVary, fiber.HeaderAcceptEncoding)
	c.Set(fiber.HeaderCacheControl, s.keeping(c))
	if known(c.Get(fiber.HeaderIfNoneMatch), tag) {
		return c.SendStatus(http.StatusNotModified)
	}
	if encoding != "" {
		c.Set(fiber.HeaderContentEncoding, encoding)
	}
	return sendBody(c, f.Type, body)
}

func (s *server) keeping(c *fiber.Ctx) string {
	if c.Query("v") == s.app.Version() {
		return keepAYear
	}
	return askAgain
}

// acceptsEncoding asks for one encoding at a time, because the framework prefers
// what the client names first and we prefer what is smallest. A client that says
// nothing gets the plain form: it may not know any other.
func acceptsEncoding(c *fiber.Ctx, encoding string) bool {
	return c.Get(fiber.HeaderAcceptEncoding) != "" && c.AcceptsEncodings(encoding) != ""
}

// known reports whether the tag is among those the client has. A tag that a proxy
// has marked as weak is as good: the bytes were made from ours.
func known(ifNoneMatch, tag string) bool {
	for have := range strings.SplitSeq(ifNoneMatch, ",") {
		have = strings.TrimPrefix(strings.TrimSpace(have), "W/")
		if have == tag || have == "*" {
			return true
		}
	}
	return false
}
