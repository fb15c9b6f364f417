package httpapi

import (
	"fmt"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/google/uuid"

	"leafturn/model"
	"leafturn/server/auth"
)

// Keys of what the middleware knows about a request.
type localKey int

const (
	keyRequest localKey = iota
	keyGrant
	keyBody
	keyRation
)

// identify gives the request an id of our own, to find it again in the log.
func (s *server) identify(c *fiber.Ctx) error {
	id := uuid.NewString()
	c.Locals(keyRequest, id)
	c.Set(fiber.HeaderXRequestID, id)
	return c.Next()
}

func requestID(c *fiber.Ctx) string {
	id, _ := c.Locals(keyRequest).(string)
	return id
}

// note writes each request to the log, without its query, body or headers.
func (s *server) note(c *fiber.Ctx) error {
	start := time.Now()
	err := c.Next()
	if err != nil {
		// Answer here, so that the status in the log is the one that was sent.
		err = s.fail(c, err)
	}
	s.log.Debug("request", "request", requestID(c), "method", c.Method(), "path", c.Path(),
		"status", c.Response().StatusCode(), "ms", time.Since(start).Milliseconds())
	return err
}

// recoverPanic turns a panic into an internal error, so that one broken request
// does not end the server.
func (s *server) recoverPanic(c *fiber.Ctx) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("panic: %v\n%s", r, debug.Stack())
		}
	}()
	return c.Next()
}

// contentPolicy lets the app load only its own files, run only its own scripts and
// its own WebAssembly, and talk only to its own server.
const contentPolicy = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; img-src 'self' blob: data:; " +
	"style-src 'self'; connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

func secure(c *fiber.Ctx) error {
	c.Set(fiber.HeaderContentSecurityPolicy, contentPolicy)
	c.Set(fiber.HeaderXContentTypeOptions, "nosniff")
	c.Set(fiber.HeaderReferrerPolicy, "no-referrer")
	c.Set(fiber.HeaderPermissionsPolicy, "camera=(self), geolocation=(), microphone=(), payment=(), usb=()")
	c.Set("Cross-Origin-Opener-Policy", "same-origin")
	c.Set("Cross-Origin-Resource-Policy", "same-origin")
	return c.Next()
}

// refuseEncoded keeps the framework from inflating a body: two megabytes can hold
// two gigabytes of zeros.
func refuseEncoded(c *fiber.Ctx) error {
	if e := c.Get(fiber.HeaderContentEncoding); e != "" && !strings.EqualFold(e, "identity") {
		return errEncoded
	}
	return c.Next()
}

// noStore keeps answers that are for one device out of caches. A handler whose
// answer may be kept sets its own header.
func noStore(c *fiber.Ctx) error {
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Next()
}

// NeedSpace refuses a request while the gate says that the disk is full. It is for
// routes that do nothing but write.
func NeedSpace(gate interface{ Check() error }) fiber.Handler {
	return func(c *fiber.Ctx) error {
		if err := gate.Check(); err != nil {
			return err
		}
		return c.Next()
	}
}

// bearer lets in the devices of the household in the path. A device of another
// household gets the answer that a household which does not exist would get.
func (s *server) bearer(c *fiber.Ctx) error {
	token, ok := bearerToken(c.Get(fiber.HeaderAuthorization))
	if !ok {
		return errNoToken
	}
	grant, err := s.auth.Check(c.UserContext(), token)
	if err != nil {
		return err
	}
	household, err := model.ParseID[model.Household](c.Params("hh"))
	if err != nil || household != grant.Household {
		return errHousehold
	}
	c.Locals(keyGrant, grant)
	return c.Next()
}

func bearerToken(header string) (string, bool) {
	scheme, token, ok := strings.Cut(header, " ")
	return token, ok && strings.EqualFold(scheme, "Bearer") && token != ""
}

// HouseholdOf is the household whose member sent the request. It may be called in
// member routes only.
func HouseholdOf(c *fiber.Ctx) model.HouseholdID { return c.Locals(keyGrant).(auth.Grant).Household }

// DeviceOf is the device that sent the request. It may be called in member routes
// only.
func DeviceOf(c *fiber.Ctx) model.DeviceID { return c.Locals(keyGrant).(auth.Grant).Device }

// sendBody answers with bytes of a type.
func sendBody(c *fiber.Ctx, typ string, body []byte) error {
	c.Set(fiber.HeaderContentType, typ)
	return c.Status(http.StatusOK).Send(body)
}
