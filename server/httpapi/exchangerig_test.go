package httpapi_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/fxamacker/cbor/v2"
	"github.com/gofiber/fiber/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/auth"
	"leafturn/server/badgerdb"
	"leafturn/server/household"
	"leafturn/server/household/phonetest"
	"leafturn/server/httpapi"
	"leafturn/server/notify"
	"leafturn/server/notify/webpush"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// rig is a server with a store, reached over the network.
type rig struct {
	t     testing.TB
	url   string
	setup *auth.Setup
	auth  *auth.Service
	db    *badgerdb.DB
	clock *movable
	gate  *switchable

	doorman *doorman

	app    *fiber.App
	log    lockedBuffer
	events *httpapi.Events
	ticks  chan time.Time // a pulse of one of the streams
}

// movable is a clock that a test moves between requests.
type movable struct{ at chan time.Time }

func newMovable() *movable {
	c := &movable{make(chan time.Time, 1)}
	c.at <- epoch
	return c
}

func (c *movable) now() time.Time {
	t := <-c.at
	c.at <- t
	return t
}

func (c *movable) advance(d time.Duration) { c.at <- (<-c.at).Add(d) }

// lockedBuffer is a log that a test reads while the server writes it.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer // guarded by mu
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// switchable is a disk that is full while a test says so.
type switchable struct{ full chan error }

func (s *switchable) Check() error {
	err := <-s.full
	s.full <- err
	return err
}

func (s *switchable) set(err error) { <-s.full; s.full <- err }

// doorman lets in whom the households know, and a friend.
type doorman struct {
	*household.Service
	friend atomic.Pointer[phonetest.Phone]
}

func (d *doorman) befriend(p *phonetest.Phone) { d.friend.Store(p) }

func (d *doorman) DeviceKey(ctx context.Context, h model.HouseholdID, device model.DeviceID) (ed25519.PublicKey, error) {
	if f := d.friend.Load(); f != nil && f.Device() == device {
		return f.Key.Public().(ed25519.PublicKey), nil
	}
	return d.Service.DeviceKey(ctx, h, device)
}

func newRig(t testing.TB, change ...func(*httpapi.Config)) *rig {
	r := &rig{t: t, clock: newMovable(), gate: &switchable{make(chan error, 1)}, ticks: make(chan time.Time)}
	r.gate.full <- nil
	quiet := slog.New(slog.DiscardHandler)
	var err error
	r.db, err = badgerdb.Open(t.TempDir(), badgerdb.Config{Gate: r.gate, Log: quiet})
	require.NoError(t, err)
	service := household.New(r.db, r.clock.now)
	r.setup = auth.NewSetup(r.clock.now)
	r.doorman = &doorman{Service: service}
	r.auth = auth.New(newPhone(1).key, r.doorman, r.clock.now)
	routes := &httpapi.Households{Service: service, Setup: r.setup}
	r.events = httpapi.NewEvents(service, r.clock.now, func() (<-chan time.Time, func()) { return r.ticks, func() {} }, quiet)
	reminders := &httpapi.Reminders{Service: notify.New(notify.Config{
		Store: r.db, Households: service, Check: webpush.Public.Check, Now: r.clock.now, Log: quiet,
	})}
	cfg := httpapi.Config{
		Auth: r.auth, App: bundle(t), Log: slog.New(slog.NewTextHandler(&r.log, &slog.HandlerOptions{Level: slog.LevelDebug})), Now: r.clock.now,
		Public: []httpapi.Mount{routes.Public, reminders.Public}, Member: []httpapi.Mount{routes.Member, r.events.Member, reminders.Member},
		Limits: httpapi.Limits{Join: 1000, SignIn: 1000},
	}
	for _, c := range change {
		c(&cfg)
	}
	r.app = httpapi.New(cfg)
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	served := make(chan error, 1)
	go func() { served <- r.app.Listener(ln) }()
	t.Cleanup(func() {
		require.NoError(t, r.app.Shutdown())
		require.NoError(t, r.events.Close())
		require.NoError(t, <-served)
		require.NoError(t, r.db.Close())
	})
	r.url = "http://" + ln.Addr().String()
	return r
}

// call is one request and what came back.
type call struct {
	path, typ, token string
	body             []byte
	header           [2]string
}

func (r *rig) post(c call) (int, http.Header, []byte) {
	r.t.Helper()
	q, err := http.NewRequest(http.MethodPost, r.url+c.path, bytes.NewReader(c.body))
	require.NoError(r.t, err)
	if c.typ == "" {
		c.typ = "application/cbor"
	}
	q.Header.Set("Content-Type", c.typ)
	if c.token != "" {
		q.Header.Set("Authorization", "Bearer "+c.token)
	}
	if c.header[0] != "" {
		q.Header.Set(c.header[0], c.header[1])
	}
	return r.send(q)
}

func (r *rig) send(q *http.Request) (int, http.Header, []byte) {
	r.t.Helper()
	res, err := http.DefaultClient.Do(q)
	require.NoError(r.t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(r.t, err)
	return res.StatusCode, res.Header, body
}

// must decodes a message that was answered with success.
func (r *rig) must(status int, header http.Header, body []byte) *wire.Message {
	r.t.Helper()
	require.Equal(r.t, http.StatusOK, status, "%s", body)
	require.Equal(r.t, "application/cbor", header.Get("Content-Type"))
	m, bad, err := wire.Decode(body)
	require.NoError(r.t, err)
	require.Empty(r.t, bad)
	return m
}

func (r *rig) encode(m *wire.Message) []byte {
	r.t.Helper()
	b, err := m.Encode()
	require.NoError(r.t, err)
	return b
}

func (r *rig) founding(token string, m *wire.Message) []byte {
	r.t.Helper()
	b, err := cbor.Marshal(map[int]any{1: token, 2: r.encode(m)})
	require.NoError(r.t, err)
	return b
}

func (r *rig) founded(seed byte) *phonetest.Phone {
	r.t.Helper()
	p := phonetest.Found(r.t, seed, r.clock.now)
	token, _ := r.setup.Issue(time.Hour)
	r.must(r.post(call{path: "/api/v1/found", body: r.founding(token, p.Introduction())}))
	return p
}

// token is what the device gets for its proof.
func (r *rig) token(p *phonetest.Phone) string { return r.tokenFrom(r.auth, p) }

func (r *rig) tokenFrom(s *auth.Service, p *phonetest.Phone) string {
	r.t.Helper()
	ch := s.Challenge(p.Household(), p.Device())
	signed := auth.Message(p.Household(), p.Device(), ch.Text)
	token, err := s.Token(r.t.Context(), auth.Proof{Household: p.Household(), Device: p.Device(), Challenge: ch.Text, Signature: ed25519.Sign(p.Key, signed)})
	require.NoError(r.t, err)
	return token.Text
}

func exchangePath(p *phonetest.Phone) string {
	return "/api/v1/households/" + p.Household().String() + "/exchange"
}

func (r *rig) sync(p *phonetest.Phone) map[model.DeviceID]wire.Refused {
	r.t.Helper()
	token := r.token(p)
	refused, err := p.Sync(func(m *wire.Message) (*wire.Message, error) {
		return r.must(r.post(call{path: exchangePath(p), token: token, body: r.encode(m)})), nil
	})
	require.NoError(r.t, err)
	return refused
}

func (r *rig) digest(p *phonetest.Phone) string {
	r.t.Helper()
	q, err := http.NewRequest(http.MethodGet, r.url+"/api/v1/households/"+p.Household().String()+"/digest", nil)
	require.NoError(r.t, err)
	q.Header.Set("Authorization", "Bearer "+r.token(p))
	status, _, body := r.send(q)
	require.Equal(r.t, http.StatusOK, status, "%s", body)
	var out struct{ Digest string }
	require.NoError(r.t, json.Unmarshal(body, &out))
	return out.Digest
}

// stored is everything that is in the store.
func (r *rig) stored() map[model.HouseholdID]map[model.DeviceID]oplog.Head {
	r.t.Helper()
	hs, err := r.db.Households(r.t.Context())
	require.NoError(r.t, err)
	all := map[model.HouseholdID]map[model.DeviceID]oplog.Head{}
	for _, h := range hs {
		all[h], err = r.db.Log(h).Heads(r.t.Context())
		require.NoError(r.t, err)
	}
	return all
}
