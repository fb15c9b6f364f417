package httpapi_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestAppFiles(t *testing.T) {
	w := newWorld(t)
	cases := []struct {
		path, accept  string
		body          string
		typ, encoding string
	}{
		{"/", "", strings.Repeat("<p>start</p>", 40), "text/html; charset=utf-8", ""},
		{"/index.html", "", strings.Repeat("<p>start</p>", 40), "text/html; charset=utf-8", ""},
		{"/app.wasm", "", "\x00asm", "application/wasm", ""},
		{"/app.wasm", "gzip, deflate, br, zstd", "br", "application/wasm", "br"},
		{"/app.wasm", "gzip", "gz", "application/wasm", "gzip"},
		{"/app.wasm", "br;q=0, gzip", "gz", "application/wasm", "gzip"},
		{"/app.wasm", "identity", "\x00asm", "application/wasm", ""},
		{"/manifest.webmanifest", "", strings.Repeat("manifest.webmanifest", 40), "application/manifest+json", ""},
	}
	for _, c := range cases {
		t.Run(c.path+" "+c.accept, func(t *testing.T) {
			res := w.get(c.path, "Accept-Encoding", c.accept)
			require.Equal(t, 200, res.StatusCode)
			require.Equal(t, c.body, body(t, res))
			require.Equal(t, c.typ, res.Header.Get("Content-Type"))
			require.Equal(t, c.encoding, res.Header.Get("Content-Encoding"))
			require.Equal(t, "Accept-Encoding", res.Header.Get("Vary"))
			require.Equal(t, "no-cache", res.Header.Get("Cache-Control"))
		})
	}
}

func TestVersionedFilesAreKept(t *testing.T) {
	w := newWorld(t)
	var v struct{ Version string }
	require.NoError(t, json.Unmarshal([]byte(body(t, w.get("/version.json"))), &v))
	require.NotEmpty(t, v.Version)
	require.Equal(t, "public, max-age=31536000, immutable", w.get("/app.wasm?v="+v.Version).Header.Get("Cache-Control"))
	require.Equal(t, "no-cache", w.get("/app.wasm?v=older").Header.Get("Cache-Control"),
		"the new file must not be kept under the old name")
}

func TestUnchangedFileIsNotSentAgain(t *testing.T) {
	w := newWorld(t)
	first := w.get("/app.js", "Accept-Encoding", "br")
	tag := first.Header.Get("ETag")
	require.NotEmpty(t, body(t, first))

	for _, have := range []string{tag, "W/" + tag, `"other", ` + tag} {
		res := w.get("/app.js", "Accept-Encoding", "br", "If-None-Match", have)
		require.Equal(t, 304, res.StatusCode, have)
		require.Empty(t, body(t, res))
		require.Equal(t, tag, res.Header.Get("ETag"))
	}
	plain := w.get("/app.js", "If-None-Match", tag)
	require.Equal(t, 200, plain.StatusCode, "the plain form is not the one the client has")
}

func TestSecurityHeadersAreOnEverything(t *testing.T) {
	w := newWorld(t)
	for _, path := range []string{"/", "/app.wasm", "/healthz", "/nothing", "/api/v1/nothing", memberPath(w.phone, "/probe")} {
		t.Run(path, func(t *testing.T) {
			h := w.get(path).Header
			policy := h.Get("Content-Security-Policy")
			for _, part := range []string{"default-src 'self'", "script-src 'self' 'wasm-unsafe-eval'", "img-src 'self' blob: data:",
				"style-src 'self'", "connect-src 'self'", "frame-ancestors 'none'"} {
				require.Contains(t, strings.Split(policy, "; "), part)
			}
			require.NotContains(t, policy, "unsafe-inline")
			require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
			require.Equal(t, "no-referrer", h.Get("Referrer-Policy"))
			require.Equal(t, "same-origin", h.Get("Cross-Origin-Opener-Policy"))
			require.Contains(t, h.Get("Permissions-Policy"), "camera=(self)")
		})
	}
}

func TestZone(t *testing.T) {
	w := newWorld(t)
	for _, name := range []string{"Europe/Lisbon", "America/Argentina/Buenos_Aires", "Etc/GMT+1", "UTC"} {
		t.Run(name, func(t *testing.T) {
			res := w.get("/api/v1/zone/" + name)
			require.Equal(t, 200, res.StatusCode)
			require.Equal(t, "application/tzif", res.Header.Get("Content-Type"))
			require.Equal(t, "public, max-age=86400", res.Header.Get("Cache-Control"))
			_, err := time.LoadLocationFromTZData(name, []byte(body(t, res)))
			require.NoError(t, err)
		})
	}
	// On 29 March 2026 the clocks of Lisbon went from 01:00 to 02:00, the last
	// Sunday of March at 01:00 UTC as in all of the European Union (directive 2000/84/EC).
	lisbon, err := time.LoadLocationFromTZData("Europe/Lisbon", []byte(body(t, w.get("/api/v1/zone/Europe%2FLisbon"))))
	require.NoError(t, err)
	change := time.Date(2026, 3, 29, 1, 0, 0, 0, time.UTC)
	require.Equal(t, "00:59", change.Add(-time.Minute).In(lisbon).Format("15:04"))
	require.Equal(t, "02:00", change.In(lisbon).Format("15:04"))
}

func TestUnknownZone(t *testing.T) {
	w := newWorld(t)
	for _, name := range []string{"", "Nowhere", "Europe", "Europe/", "../zone.go", "..%2Fzone.go", "%2e%2e/%2e%2e/etc/passwd",
		"Europe/../UTC", "/etc/passwd", "UTC%00", "utc"} {
		t.Run(name, func(t *testing.T) {
			refused(t, w.get("/api/v1/zone/"+name), 404, "zone_unknown")
		})
	}
}
