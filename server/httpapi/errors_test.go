package httpapi_test

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"strings"
	"testing"

	"github.com/gofiber/fiber/v2"
	"github.com/stretchr/testify/require"

	"leafturn/photo"
	"leafturn/server/httpapi"
)

func TestFaultsAndOtherErrors(t *testing.T) {
	cases := []struct {
		how    string
		status int
		code   string
		logged bool
	}{
		{"fault", 409, "log_gap", false},
		{"error", 500, "internal", true},
		{"panic", 500, "internal", true},
	}
	for _, c := range cases {
		t.Run(c.how, func(t *testing.T) {
			w := newWorld(t)
			header := map[string]string{"Authorization": "Bearer " + w.signIn(w.phone)}
			res := w.do(request{method: "POST", path: memberPath(w.phone, "/broken/"+c.how), header: header})
			id := res.Header.Get("X-Request-Id")
			refused(t, res, c.status, c.code)
			require.Equal(t, c.logged, strings.Contains(w.log.String(), "secret cause"), w.log.String())
			require.NotEmpty(t, id)
			require.Contains(t, w.log.String(), id)
		})
	}
}

func TestFullDisk(t *testing.T) {
	w := newWorld(t)
	header := map[string]string{"Authorization": "Bearer " + w.signIn(w.phone)}
	res := w.do(request{method: "POST", path: memberPath(w.phone, "/full"), header: header})
	refused(t, res, http.StatusInsufficientStorage, "storage_full")
	require.NotContains(t, w.log.String(), "level=ERROR", "a full disk is no fault of the program")
}

// TestBusyServerSaysWhen: whoever is refused for now hears when to come again.
func TestBusyServerSaysWhen(t *testing.T) {
	w := newWorld(t, func(c *httpapi.Config) {
		c.Public = append(c.Public, func(r fiber.Router) { r.Get("/busy", func(*fiber.Ctx) error { return photo.ErrBusy }) })
	})
	res := w.get("/api/v1/busy")
	require.Equal(t, "5", res.Header.Get("Retry-After"))
	refused(t, res, http.StatusServiceUnavailable, "photo_busy")
}

func TestRequestsThatAreRefusedUnread(t *testing.T) {
	var bomb bytes.Buffer
	z := gzip.NewWriter(&bomb)
	_, _ = z.Write(make([]byte, 1<<20))
	require.NoError(t, z.Close())
	cases := []struct {
		name   string
		r      request
		status int
		code   string
	}{
		{"unknown page", request{method: "GET", path: "/nothing.html"}, 404, "not_found"},
		{"unknown API route", request{method: "GET", path: "/api/v1/nothing"}, 404, "not_found"},
		{"unknown API version", request{method: "POST", path: "/api/v9/found"}, 404, "not_found"},
		{"post to a page", request{method: "POST", path: "/index.html"}, 405, "method_not_allowed"},
		{"compressed body", request{method: "POST", path: "/api/v1/auth/challenge", body: bomb.String(),
			header: map[string]string{"Content-Encoding": "gzip"}}, 415, "encoding_unsupported"},
		{"compressed twice", request{method: "POST", path: "/api/v1/auth/challenge", body: bomb.String(),
			header: map[string]string{"Content-Encoding": "gzip, br"}}, 415, "encoding_unsupported"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			refused(t, newWorld(t).do(c.r), c.status, c.code)
		})
	}
}

func TestSignInIsLimited(t *testing.T) {
	w := newWorld(t, func(c *httpapi.Config) { c.Limits = httpapi.Limits{SignIn: 3, Join: 2} })
	for range 3 {
		refused(t, w.post("/api/v1/auth/token", "x"), 400, "request_invalid")
	}
	res := w.post("/api/v1/auth/challenge", "x")
	require.Equal(t, "60", res.Header.Get("Retry-After"))
	refused(t, res, 429, "too_many_requests")

	for _, path := range []string{"/api/v1/found", "/api/v1/join"} { // they share one count
		refused(t, w.post(path, "x"), 404, "not_found")
	}
	refused(t, w.post("/api/v1/found", "x"), 429, "too_many_requests")
	require.Equal(t, 200, w.get("/healthz").StatusCode, "other routes go on")

	w.now = w.now.Add(59_500_000_000)
	require.Equal(t, "1", w.post("/api/v1/join", "x").Header.Get("Retry-After"))
	w.now = w.now.Add(500_000_000)
	refused(t, w.post("/api/v1/join", "x"), 404, "not_found")
}
