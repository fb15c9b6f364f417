package httpapi

import (
	"errors"
	"net/http"

	"github.com/gofiber/fiber/v2"

	"leafturn/model/fault"
)

var (
	errNotFound  = fault.New("not_found", "There is nothing at this address.")
	errHousehold = fault.New("household_unknown", "This server does not know this household.")
	errNoToken   = fault.New("token_missing", "Sign in first.")
	errRequest   = fault.New("request_invalid", "This request cannot be read.")
	errEncoded   = fault.New("encoding_unsupported", "This server takes nothing that is compressed. Send it as it is.")
	errTooOften  = fault.New("too_many_requests", "There were too many tries from this address. Wait a minute, then try again.")
	errStreams   = fault.New("streams_too_many", "This phone listens for changes too many times at once. It will ask now and then instead.")
	errBusy      = fault.New("busy", "The server is busy. Try again in a moment.")
	errInternal  = fault.New("internal", "Something went wrong on the server. What is on your phone is safe; it will try again.")
)

// statuses is the one place where a fault's code becomes an HTTP status. A code
// that is not listed is the sender's mistake: 400.
var statuses = map[fault.Code]int{
	"token_missing":     http.StatusUnauthorized,
	"token_invalid":     http.StatusUnauthorized,
	"token_expired":     http.StatusUnauthorized,
	"token_revoked":     http.StatusUnauthorized,
	"proof_invalid":     http.StatusUnauthorized,
	"device_unknown":    http.StatusUnauthorized,
	"challenge_invalid": http.StatusUnauthorized,
	"challenge_expired": http.StatusUnauthorized,
	"challenge_used":    http.StatusUnauthorized,

	"not_allowed":         http.StatusForbidden,
	"household_foreign":   http.StatusForbidden,
	"setup_token_unknown": http.StatusForbidden,
	"invitation_invalid":  http.StatusForbidden,
	"device_revoked":      http.StatusForbidden,

	"not_found":         http.StatusNotFound,
	"household_unknown": http.StatusNotFound,
	"zone_unknown":      http.StatusNotFound,
	"photo_unknown":     http.StatusNotFound,

	"log_gap":          http.StatusConflict,
	"log_forked":       http.StatusConflict,
	"household_exists": http.StatusConflict,

	"setup_token_expired": http.StatusGone,
	"setup_token_used":    http.StatusGone,
	"invitation_expired":  http.StatusGone,
	"invitation_used":     http.StatusGone,

	"batch_too_big":         http.StatusRequestEntityTooLarge,
	"photo_too_large":       http.StatusRequestEntityTooLarge,
	"photo_too_many_pixels": http.StatusRequestEntityTooLarge,

	"encoding_unsupported":     http.StatusUnsupportedMediaType,
	"content_type_unsupported": http.StatusUnsupportedMediaType,
	"photo_not_image":          http.StatusUnsupportedMediaType,
	"photo_type_unsupported":   http.StatusUnsupportedMediaType,
	"photo_animated":           http.StatusUnsupportedMediaType,

	"too_many_requests": http.StatusTooManyRequests,
	"streams_too_many":  http.StatusTooManyRequests,

	"internal":              http.StatusInternalServerError,
	"store_damaged":         http.StatusInternalServerError,
	"photo_damaged_at_rest": http.StatusInternalServerError,
	"busy":                  http.StatusServiceUnavailable,
	"photo_busy":            http.StatusServiceUnavailable,
	"store_broken":          http.StatusServiceUnavailable,
	"store_closed":          http.StatusServiceUnavailable,
	"storage_full":          http.StatusInsufficientStorage,
	"photo_quota":           http.StatusInsufficientStorage,
}

func statusOf(code fault.Code) int {
	if status, ok := statuses[code]; ok {
		return status
	}
	return http.StatusBadRequest
}

// refusals are the words for statuses that the web framework itself answers with,
// whose own texts speak to programmers.
var refusals = map[int]*fault.Fault{
	http.StatusNotFound:                    errNotFound,
	http.StatusMethodNotAllowed:            fault.New("method_not_allowed", "This address does not work that way."),
	http.StatusRequestTimeout:              fault.New("request_timeout", "The request took too long to arrive. Try again."),
	http.StatusRequestEntityTooLarge:       fault.New("body_too_large", "This is too much to send at once."),
	http.StatusRequestHeaderFieldsTooLarge: fault.New("header_too_large", "The head of this request is too long."),
	http.StatusServiceUnavailable:          errBusy,
}

// answer is the body of every refusal.
type answer struct {
	Code  fault.Code `json:"code"`
	Words string     `json:"words"`
}

// fail writes the answer for an error. Only a fault's words reach the person;
// causes and all other errors go to the log.
func (s *server) fail(c *fiber.Ctx, err error) error {
	status, f := s.refusal(err)
	if status >= http.StatusInternalServerError && status != http.StatusInsufficientStorage {
		s.log.Error("request failed", "request", requestID(c), "method", c.Method(), "path", c.Path(), "err", err)
	}
	if status == http.StatusUnauthorized {
		c.Set(fiber.HeaderWWWAuthenticate, "Bearer")
	}
	if status == http.StatusServiceUnavailable && len(c.Response().Header.Peek(fiber.HeaderRetryAfter)) == 0 {
		c.Set(fiber.HeaderRetryAfter, busySeconds)
	}
	return c.Status(status).JSON(answer{f.Code, f.Words})
}

// busySeconds is when to try again where nobody knows better: by then most of what
// waited has had its turn.
const busySeconds = "5"

func (s *server) refusal(err error) (int, *fault.Fault) {
	if f, ok := fault.From(err); ok {
		return statusOf(f.Code), f
	}
	var own *fiber.Error
	if !errors.As(err, &own) || own.Code == http.StatusInternalServerError {
		return http.StatusInternalServerError, errInternal
	}
	if f, ok := refusals[own.Code]; ok {
		return own.Code, f
	}
	return own.Code, errRequest
}
