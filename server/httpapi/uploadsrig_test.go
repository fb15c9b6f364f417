package httpapi_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo"
	"leafturn/photo/phototest"
	"leafturn/photo/upload"
	"leafturn/server/httpapi"
)

// tusRig is a server on a real socket, with uploads and photos of two households.
// The header X-Household stands in for signing in.
type tusRig struct {
	t      testing.TB
	dir    string
	store  photo.Store
	quota  int64
	most   int64 // bytes of one upload
	finish upload.Finish
	desk   *upload.Desk
	addr   string
	app    *fiber.App

	mu  sync.Mutex
	now time.Time // guarded by mu
}

const tusBase = "/api/v1/households/home/uploads"

// newTusRig serves uploads that end in a store of photos.
func newTusRig(t testing.TB) *tusRig {
	r := &tusRig{t: t, dir: t.TempDir(), store: phototest.NewMemory(), quota: 1 << 30, most: 4 << 20, now: epoch}
	r.finish = func(ctx context.Context, hh model.HouseholdID, sum photo.Sum, f io.ReaderAt, size int64) error {
		limits := photo.DefaultLimits()
		limits.Quota = r.quota
		_, err := photo.Receive(ctx, r.store, hh, sum, f, size, limits)
		return err
	}
	r.start()
	return r
}

// newTusProtocolRig serves uploads of any bytes: only their sum must be right.
func newTusProtocolRig(t testing.TB) *tusRig {
	r := &tusRig{t: t, dir: t.TempDir(), store: phototest.NewMemory(), most: 4 << 20, now: epoch}
	r.finish = func(_ context.Context, _ model.HouseholdID, sum photo.Sum, f io.ReaderAt, size int64) error {
		got := sha256.New()
		if _, err := io.Copy(got, io.NewSectionReader(f, 0, size)); err != nil {
			return err
		}
		if photo.Sum(got.Sum(nil)) != sum {
			return photo.ErrSumMismatch
		}
		return nil
	}
	r.start()
	return r
}

// start opens the folder and a socket, as a fresh process would.
func (r *tusRig) start() {
	limits := upload.DefaultLimits()
	limits.Bytes = r.most
	desk, err := upload.Open(r.dir, r.finish, limits, r.clock)
	require.NoError(r.t, err)
	r.desk = desk
	app := fiber.New(fiber.Config{
		StreamRequestBody: true, DisableStartupMessage: true, ReadTimeout: 30 * time.Second, ErrorHandler: tusErrors, Immutable: true,
	})
	app.Use(httpapi.Bodies)
	g := app.Group("/api/v1/households/:hh")
	(&httpapi.Uploads{Desk: desk, Photos: r.store}).Mount(g, tusHousehold)
	(&httpapi.Photos{Store: r.store}).Mount(g, tusHousehold)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(r.t, err)
	r.app, r.addr = app, listener.Addr().String()
	done := make(chan error, 1)
	go func() { done <- app.Listener(listener) }()
	r.t.Cleanup(func() {
		require.NoError(r.t, app.ShutdownWithTimeout(time.Second))
		require.NoError(r.t, <-done)
	})
}

func (r *tusRig) clock() time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.now
}

func (r *tusRig) advance(d time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.now = r.now.Add(d)
}

func tusHousehold(c *fiber.Ctx) (model.HouseholdID, error) {
	n, err := strconv.ParseUint(c.Get("X-Household", "1"), 10, 8)
	return phototest.Household(byte(n)), err
}

// tusErrors answers faults that the handlers leave to the app, with a status of its
// own, so that a test sees who answered.
func tusErrors(c *fiber.Ctx, err error) error {
	if f, ok := fault.From(err); ok {
		return c.Status(http.StatusUnprocessableEntity).JSON(fiber.Map{"code": f.Code, "words": f.Words})
	}
	var own *fiber.Error
	if errors.As(err, &own) {
		return c.SendStatus(own.Code)
	}
	return c.SendStatus(http.StatusInternalServerError)
}

// reply is a whole response.
type reply struct {
	status int
	header http.Header
	body   []byte
	closes bool // the server ends the connection
}

func (r reply) offset() string { return r.header.Get("Upload-Offset") }

// code is the code of a fault's body.
func (r reply) code() string {
	var body struct{ Code, Words string }
	if json.Unmarshal(r.body, &body) != nil || body.Words == "" {
		return ""
	}
	return body.Code
}

// headers is a list of names and values.
type headers []string

// head writes the start of a request as plain text. The protocol's version is added
// unless the headers name one.
func head(method, path string, h headers, length int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s HTTP/1.1\r\nHost: leafturn.test\r\n", method, path)
	named := map[string]bool{}
	for i := 0; i < len(h); i += 2 {
		fmt.Fprintf(&b, "%s: %s\r\n", h[i], h[i+1])
		named[h[i]] = true
	}
	if !named["Tus-Resumable"] {
		b.WriteString("Tus-Resumable: 1.0.0\r\n")
	}
	if length >= 0 {
		fmt.Fprintf(&b, "Content-Length: %d\r\n", length)
	}
	return b.String() + "\r\n"
}

func (r *tusRig) dial() net.Conn {
	r.t.Helper()
	conn, err := net.Dial("tcp", r.addr)
	require.NoError(r.t, err)
	r.t.Cleanup(func() { conn.Close() })
	return conn
}

func readReply(conn io.Reader, method string) (reply, error) {
	resp, err := http.ReadResponse(bufio.NewReader(conn), &http.Request{Method: method})
	if err != nil {
		return reply{}, err
	}
	body, err := io.ReadAll(resp.Body)
	return reply{resp.StatusCode, resp.Header, body, resp.Close}, err
}

// do sends one request on a connection of its own. It may be called from any
// goroutine.
func (r *tusRig) do(method, path string, h headers, body []byte) (reply, error) {
	conn, err := net.Dial("tcp", r.addr)
	if err != nil {
		return reply{}, err
	}
	defer conn.Close()
	if _, err := conn.Write(append([]byte(head(method, path, h, len(body))), body...)); err != nil {
		return reply{}, err
	}
	return readReply(conn, method)
}

func (r *tusRig) send(method, path string, h headers, body []byte) reply {
	r.t.Helper()
	got, err := r.do(method, path, h, body)
	require.NoError(r.t, err)
	return got
}

func metadataFor(file []byte) string { return metadataOf(photo.SumOf(file)) }

func metadataOf(sum photo.Sum) string {
	return "filename " + base64.StdEncoding.EncodeToString([]byte("../../etc/leaf.jpg")) + ",plant,sha256 " +
		base64.StdEncoding.EncodeToString([]byte(sum.String()))
}

// create starts an upload of the file and gives its path.
func (r *tusRig) create(file []byte, h ...string) string {
	r.t.Helper()
	got := r.send("POST", tusBase, append(headers{"Upload-Length", strconv.Itoa(len(file)), "Upload-Metadata", metadataFor(file)}, h...), nil)
	require.Equal(r.t, http.StatusCreated, got.status, string(got.body))
	return got.header.Get("Location")
}

func pieceHeaders(offset any, h ...string) headers {
	return append(headers{"Content-Type", "application/offset+octet-stream", "Upload-Offset", fmt.Sprint(offset)}, h...)
}

func (r *tusRig) patch(path string, offset any, piece []byte, h ...string) reply {
	r.t.Helper()
	return r.send("PATCH", path, pieceHeaders(offset, h...), piece)
}

func (r *tusRig) head(path string, h ...string) reply {
	r.t.Helper()
	return r.send("HEAD", path, h, nil)
}

// offset asks how far an upload is.
func (r *tusRig) offset(path string) int {
	r.t.Helper()
	got := r.head(path)
	require.Equal(r.t, http.StatusOK, got.status)
	n, err := strconv.Atoi(got.offset())
	require.NoError(r.t, err)
	return n
}

func (r *tusRig) requireOffset(path string, want int) {
	r.t.Helper()
	require.Equal(r.t, want, r.offset(path))
}

// randomBytes are the same for the same n.
func randomBytes(n int) []byte {
	b := make([]byte, n)
	rand.NewChaCha8([32]byte{byte(n), byte(n >> 8)}).Read(b)
	return b
}

// photoFile is a real photo of more than two pieces.
var photoFile = sync.OnceValue(func() []byte { return phototest.JPEG(1400, 500, 11) })

const pieceSize = 64 << 10

// sendAll uploads the rest of a file in pieces and gives the last reply.
func (r *tusRig) sendAll(path string, file []byte, from int, h ...string) (last reply) {
	r.t.Helper()
	for from < len(file) {
		piece := file[from:min(len(file), from+pieceSize)]
		last = r.patch(path, from, piece, h...)
		if last.status != http.StatusNoContent {
			return last
		}
		from += len(piece)
		require.Equal(r.t, strconv.Itoa(from), last.offset())
	}
	return last
}

// finishFrom uploads the rest of a file like a client: a request of an older connection
// may still be counted, and the answer to a wrong offset says where to go on.
func (r *tusRig) finishFrom(path string, file []byte, from int) {
	r.t.Helper()
	last := r.sendAll(path, file, from)
	for last.status == http.StatusConflict {
		at, err := strconv.Atoi(last.offset())
		require.NoError(r.t, err)
		require.Greater(r.t, at, from, "the offset never shrinks")
		from, last = at, r.sendAll(path, file, at)
	}
	require.Equal(r.t, http.StatusNoContent, last.status)
	r.requireOffset(path, len(file))
}

func sameBytes(t *testing.T, want, got []byte) {
	t.Helper()
	require.True(t, bytes.Equal(want, got), "%d bytes, want %d equal ones", len(got), len(want))
}
