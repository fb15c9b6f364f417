package httpapi_test

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/stretchr/testify/require"

	"leafturn/server/httpapi"
)

// onSocket serves an app on a real socket and gives its address.
func onSocket(t *testing.T, app *fiber.App) string {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	done := make(chan error, 1)
	go func() { done <- app.Listener(listener) }()
	t.Cleanup(func() {
		require.NoError(t, app.ShutdownWithTimeout(time.Second))
		require.NoError(t, <-done)
	})
	return listener.Addr().String()
}

// TestLargeBodiesOnEveryRoute sends 50 MB to each route of the app, announced and in
// chunks. None may take it in.
func TestLargeBodiesOnEveryRoute(t *testing.T) {
	const large = 50 << 20
	w := newWorld(t, everything(t))
	addr := onSocket(t, w.app)
	piece := strings.Repeat("x", 1<<16)
	token := w.signIn(w.phone)
	for route := range mounted(w.app) {
		method, path, _ := strings.Cut(route, " ")
		path = strings.NewReplacer("households/{}", "households/"+w.phone.household.String(), "{}", "x").Replace(path)
		for _, framing := range []string{fmt.Sprintf("Content-Length: %d", large), "Transfer-Encoding: chunked"} {
			t.Run(route+" "+framing[:10], func(t *testing.T) {
				conn, err := net.Dial("tcp", addr)
				require.NoError(t, err)
				defer conn.Close()
				var before, after runtime.MemStats
				runtime.ReadMemStats(&before)
				_, err = fmt.Fprintf(conn, "%s %s HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nTus-Resumable: 1.0.0\r\n"+
					"Content-Type: application/offset+octet-stream\r\nUpload-Offset: 0\r\n%s\r\n\r\n", method, path, token, framing)
				require.NoError(t, err)
				sent := 0
				for ; err == nil && sent < large; sent += len(piece) {
					if framing[0] == 'T' {
						_, err = fmt.Fprintf(conn, "%x\r\n%s\r\n", len(piece), piece)
					} else {
						_, err = io.WriteString(conn, piece)
					}
				}
				require.Error(t, err, "the server must hang up")
				runtime.ReadMemStats(&after)
				require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(30<<20))
			})
		}
	}
}

// TestBodiesArriveWhole: what a handler of any other kind reads is the body, from the
// first byte to the last, whichever way it was sent.
func TestBodiesArriveWhole(t *testing.T) {
	app := fiber.New(fiber.Config{StreamRequestBody: true, DisableStartupMessage: true})
	app.Use(httpapi.Bodies)
	app.Post("/echo", func(c *fiber.Ctx) error { return c.Send(c.Body()) })
	addr := onSocket(t, app)
	for _, size := range []int{0, 1, 8 << 10, 8<<10 + 1, 100_000, 2 << 20} {
		body := randomBytes(size)
		for name, r := range map[string]io.Reader{"announced": strings.NewReader(string(body)), "in chunks": io.MultiReader(strings.NewReader(string(body)))} {
			res, err := http.Post("http://"+addr+"/echo", "text/plain", r)
			require.NoError(t, err, name)
			got, err := io.ReadAll(res.Body)
			require.NoError(t, errors.Join(err, res.Body.Close()))
			sameBytes(t, body, got)
		}
	}
}

// TestUnreadBodyIsNoRequest: what a refused request leaves of its body must never be
// answered as if it were the next request.
func TestUnreadBodyIsNoRequest(t *testing.T) {
	const smuggled = "GET /healthz HTTP/1.1\r\nHost: x\r\n\r\n"
	w := newWorld(t, everything(t))
	addr := onSocket(t, w.app)
	path := "/api/v1/households/" + w.phone.household.String() + "/uploads"
	for name, c := range map[string]struct {
		body   int
		header string
		again  bool
	}{
		"refused before it is read":                 {100_000, "", true},
		"refused, too long to read on":              {5 << 20, "", false},
		"encoded":                                   {100_000, "Content-Encoding: gzip\r\n", true},
		"for another route, as long as is read":     {2 << 20, "", true},
		"for another route, longer than is read on": {2<<20 + 1, "", false},
	} {
		t.Run(name, func(t *testing.T) {
			to := path
			if strings.Contains(name, "route") {
				to = "/api/v1/found"
			}
			conn, err := net.Dial("tcp", addr)
			require.NoError(t, err)
			defer conn.Close()
			body := strings.Repeat(smuggled, c.body/len(smuggled)+1)[:c.body]
			sent := make(chan error, 1)
			go func() {
				_, err := fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\n%sContent-Length: %d\r\n\r\n%sGET /healthz HTTP/1.1\r\nHost: x\r\n\r\n",
					to, c.header, c.body, body)
				sent <- err
			}()
			in := bufio.NewReader(conn)
			res, err := http.ReadResponse(in, nil)
			if err == nil {
				_, err = io.Copy(io.Discard, res.Body)
				require.GreaterOrEqual(t, res.StatusCode, 400)
			}
			if !c.again {
				if err == nil {
					_, err = in.ReadByte()
				}
				require.Error(t, err, "the connection must end")
				return
			}
			require.NoError(t, err)
			res, err = http.ReadResponse(in, nil)
			require.NoError(t, err)
			require.Equal(t, http.StatusOK, res.StatusCode)
			_, err = io.Copy(io.Discard, res.Body)
			require.NoError(t, err)
			require.NoError(t, <-sent)
			require.Zero(t, in.Buffered(), "one answer, not many")
		})
	}
}
