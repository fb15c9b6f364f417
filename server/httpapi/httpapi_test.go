package httpapi_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/auth"
	"leafturn/server/httpapi"
	"leafturn/server/webapp"
)

var epoch = time.Date(2026, 3, 14, 9, 26, 53, 0, time.UTC)

// phone is a device with its key, in a household.
type phone struct {
	household model.HouseholdID
	device    model.DeviceID
	key       ed25519.PrivateKey
}

func newPhone(n byte) phone {
	seed := make([]byte, ed25519.SeedSize)
	rand.NewChaCha8([32]byte{n}).Read(seed)
	key := ed25519.NewKeyFromSeed(seed)
	public := key.Public().(ed25519.PublicKey)
	return phone{model.HouseholdIDOf(public, [16]byte{n}), model.DeviceIDOf(public), key}
}

// world is an app that two phones of two households may use, with a clock that a
// test moves.
type world struct {
	t            *testing.T
	app          *fiber.App
	now          time.Time
	log          bytes.Buffer
	phone, other phone
	removed      map[model.DeviceID]bool
}

// DeviceKey makes the world the directory of its own app.
func (w *world) DeviceKey(_ context.Context, h model.HouseholdID, d model.DeviceID) (ed25519.PublicKey, error) {
	for _, p := range []phone{w.phone, w.other} {
		if p.household == h && p.device == d && !w.removed[d] {
			return p.key.Public().(ed25519.PublicKey), nil
		}
	}
	return nil, auth.ErrDeviceUnknown
}

func newWorld(t *testing.T, change ...func(*httpapi.Config)) *world {
	t.Helper()
	w := &world{t: t, now: epoch, phone: newPhone(2), other: newPhone(3), removed: map[model.DeviceID]bool{}}
	clock := func() time.Time { return w.now }
	cfg := httpapi.Config{
		Auth:   auth.New(newPhone(1).key, w, clock),
		App:    bundle(t),
		Log:    slog.New(slog.NewTextHandler(&w.log, &slog.HandlerOptions{Level: slog.LevelDebug})),
		Now:    clock,
		Member: []httpapi.Mount{probe},
	}
	for _, c := range change {
		c(&cfg)
	}
	w.app = httpapi.New(cfg)
	return w
}

// probe is a member route that says whom it sees, and others that go wrong.
func probe(r fiber.Router) {
	r.Get("/probe", func(c *fiber.Ctx) error {
		return c.SendString(httpapi.HouseholdOf(c).String() + " " + httpapi.DeviceOf(c).String())
	})
	r.Post("/broken/:how", func(c *fiber.Ctx) error {
		switch c.Params("how") {
		case "panic":
			panic("secret cause")
		case "error":
			return errors.New("secret cause")
		}
		return fault.New("log_gap", "Words.").Because(errors.New("secret cause"))
	})
	r.Post("/full", httpapi.NeedSpace(full{}), func(*fiber.Ctx) error { return errors.New("wrote to a full disk") })
}

type full struct{}

func (full) Check() error { return fault.New("storage_full", "No room.") }

func bundle(t testing.TB) *webapp.Bundle {
	t.Helper()
	shell := fstest.MapFS{}
	for _, name := range []string{"app.js", "worker.js", "sw.js", "app.css", "manifest.webmanifest"} {
		shell[name] = &fstest.MapFile{Data: []byte(strings.Repeat(name, 40))}
	}
	shell["index.html"] = &fstest.MapFile{Data: []byte(strings.Repeat("<p>start</p>", 40))}
	b, err := webapp.Load(shell, fstest.MapFS{
		"app.wasm":     {Data: []byte("\x00asm")},
		"app.wasm.br":  {Data: []byte("br")},
		"app.wasm.gz":  {Data: []byte("gz")},
		"wasm_exec.js": {Data: []byte("go")},
	})
	require.NoError(t, err)
	return b
}

// request is one request and what is expected of its answer.
type request struct {
	method, path string
	body         string
	header       map[string]string
}

func (w *world) do(r request) *http.Response {
	w.t.Helper()
	q := httptest.NewRequest(r.method, r.path, strings.NewReader(r.body))
	for k, v := range r.header {
		q.Header.Set(k, v)
	}
	res, err := w.app.Test(q, -1)
	require.NoError(w.t, err)
	return res
}

func (w *world) get(path string, header ...string) *http.Response {
	w.t.Helper()
	h := map[string]string{}
	for i := 0; i < len(header); i += 2 {
		h[header[i]] = header[i+1]
	}
	return w.do(request{method: "GET", path: path, header: h})
}

func (w *world) post(path string, body any) *http.Response {
	w.t.Helper()
	b, err := json.Marshal(body)
	require.NoError(w.t, err)
	return w.do(request{method: "POST", path: path, body: string(b)})
}

func body(t *testing.T, res *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return string(b)
}

// refused asserts a refusal's status, code and form.
func refused(t *testing.T, res *http.Response, status int, code string) {
	t.Helper()
	require.Equal(t, status, res.StatusCode)
	require.Equal(t, "application/json", res.Header.Get("Content-Type"))
	var a map[string]string
	require.NoError(t, json.Unmarshal([]byte(body(t, res)), &a))
	require.Equal(t, code, a["code"])
	require.NotEmpty(t, a["words"])
	require.Len(t, a, 2)
}

// signIn is the whole way from a challenge to a token.
func (w *world) signIn(p phone) string {
	w.t.Helper()
	who := map[string]string{"household": p.household.String(), "device": p.device.String()}
	var c struct{ Challenge, Expires string }
	w.decode(w.post("/api/v1/auth/challenge", who), &c)
	require.Equal(w.t, w.now.Add(2*time.Minute).Format(time.RFC3339), c.Expires)

	who["challenge"] = c.Challenge
	who["signature"] = base64.RawURLEncoding.EncodeToString(
		ed25519.Sign(p.key, auth.Message(p.household, p.device, c.Challenge)))
	var tok struct{ Token, Expires string }
	w.decode(w.post("/api/v1/auth/token", who), &tok)
	require.Equal(w.t, w.now.Add(15*time.Minute).Format(time.RFC3339), tok.Expires)
	return tok.Token
}

func (w *world) decode(res *http.Response, into any) {
	w.t.Helper()
	b := body(w.t, res)
	require.Equal(w.t, http.StatusOK, res.StatusCode, b)
	require.NoError(w.t, json.Unmarshal([]byte(b), into))
}

func memberPath(p phone, rest string) string {
	return "/api/v1/households/" + p.household.String() + rest
}

func TestHealth(t *testing.T) {
	w := newWorld(t)
	res := w.get("/healthz")
	require.Equal(t, http.StatusOK, res.StatusCode)
	require.JSONEq(t, `{"status":"ok"}`, body(t, res))
}

func TestMemberIsSeenAsItself(t *testing.T) {
	w := newWorld(t)
	for _, p := range []phone{w.phone, w.other} {
		res := w.get(memberPath(p, "/probe"), "Authorization", "Bearer "+w.signIn(p))
		require.Equal(t, http.StatusOK, res.StatusCode)
		require.Equal(t, "no-store", res.Header.Get("Cache-Control"))
		require.Equal(t, p.household.String()+" "+p.device.String(), body(t, res))
	}
}

func TestBearerRefusals(t *testing.T) {
	w := newWorld(t)
	token := w.signIn(w.phone)
	own := memberPath(w.phone, "/probe")
	cases := []struct {
		name, path, header string
		status             int
		code               string
	}{
		{"no token", own, "", 401, "token_missing"},
		{"another scheme", own, "Basic " + token, 401, "token_missing"},
		{"no value", own, "Bearer ", 401, "token_missing"},
		{"rubbish", own, "Bearer x.y.z", 401, "token_invalid"},
		{"cut short", own, "Bearer " + token[:len(token)-2], 401, "token_invalid"},
		{"another household", memberPath(w.other, "/probe"), "Bearer " + token, 404, "household_unknown"},
		{"no such household", "/api/v1/households/0f8fad5b-d9cb-869f-a165-70867728950e/probe", "Bearer " + token, 404, "household_unknown"},
		{"no household at all", "/api/v1/households/x/probe", "Bearer " + token, 404, "household_unknown"},
		{"no such route", memberPath(w.phone, "/nothing"), "Bearer " + token, 404, "not_found"},
		{"no such route without a token", memberPath(w.phone, "/nothing"), "", 401, "token_missing"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			res := w.get(c.path, "Authorization", c.header)
			if c.status == 401 {
				require.Equal(t, "Bearer", res.Header.Get("WWW-Authenticate"))
			}
			refused(t, res, c.status, c.code)
		})
	}
}

// A household of others and one that does not exist must not be told apart.
func TestForeignHouseholdAnswersLikeAnUnknownOne(t *testing.T) {
	w := newWorld(t)
	header := "Bearer " + w.signIn(w.phone)
	foreign := w.get(memberPath(w.other, "/probe"), "Authorization", header)
	unknown := w.get("/api/v1/households/0f8fad5b-d9cb-869f-a165-70867728950e/probe", "Authorization", header)
	require.Equal(t, unknown.StatusCode, foreign.StatusCode)
	require.Equal(t, body(t, unknown), body(t, foreign))
	for _, res := range []*http.Response{foreign, unknown} {
		res.Header.Del("X-Request-Id")
		res.Header.Del("Date")
	}
	require.Equal(t, unknown.Header, foreign.Header)
}

func TestTokenEnds(t *testing.T) {
	w := newWorld(t)
	header := "Bearer " + w.signIn(w.phone)
	w.now = w.now.Add(15 * time.Minute)
	refused(t, w.get(memberPath(w.phone, "/probe"), "Authorization", header), 401, "token_expired")

	header = "Bearer " + w.signIn(w.phone)
	w.removed[w.phone.device] = true
	refused(t, w.get(memberPath(w.phone, "/probe"), "Authorization", header), 401, "token_revoked")
}

func TestSignInRefusals(t *testing.T) {
	w := newWorld(t)
	ids := map[string]string{"household": w.phone.household.String(), "device": w.phone.device.String()}
	with := func(more ...string) map[string]string {
		m := map[string]string{"household": ids["household"], "device": ids["device"]}
		for i := 0; i < len(more); i += 2 {
			m[more[i]] = more[i+1]
		}
		return m
	}
	cases := []struct {
		name, path string
		body       any
		status     int
		code       string
	}{
		{"challenge for nobody", "challenge", map[string]string{}, 400, "request_invalid"},
		{"challenge for no id", "challenge", with("device", "x"), 400, "request_invalid"},
		{"challenge as a list", "challenge", []int{1}, 400, "request_invalid"},
		{"token without a challenge", "token", with("signature", "AAAA"), 401, "challenge_invalid"},
		{"token with a signature that is no base64", "token", with("signature", "!"), 400, "request_invalid"},
		{"token with a made-up challenge", "token", with("challenge", "AAAA", "signature", "AAAA"), 401, "challenge_invalid"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			refused(t, w.post("/api/v1/auth/"+c.path, c.body), c.status, c.code)
		})
	}
}
