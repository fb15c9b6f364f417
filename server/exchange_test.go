package main

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"regexp"
	"sync"
	"testing"
	"time"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/auth"
	"leafturn/server/household/phonetest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// line is a phone's way to a running server. It is not safe for concurrent use.
type line struct {
	phone *phonetest.Phone
	token string
}

var errAnswer = errors.New("unexpected answer")

func ask(method, url, typ, token string, body []byte) ([]byte, error) {
	q, err := http.NewRequest(method, url, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	q.Header.Set("Content-Type", typ)
	if token != "" {
		q.Header.Set("Authorization", "Bearer "+token)
	}
	res, err := http.DefaultClient.Do(q)
	if err != nil {
		return nil, err
	}
	defer res.Body.Close()
	out, err := io.ReadAll(res.Body)
	if err == nil && res.StatusCode != http.StatusOK {
		err = fmt.Errorf("%w: %d %s", errAnswer, res.StatusCode, out)
	}
	return out, err
}

func (r *running) postJSON(path string, in, out any) {
	r.t.Helper()
	body, err := json.Marshal(in)
	require.NoError(r.t, err)
	answer, err := ask("POST", r.url+path, "application/json", "", body)
	require.NoError(r.t, err)
	require.NoError(r.t, json.Unmarshal(answer, out))
}

// signIn proves a phone to the server.
func (r *running) signIn(p *phonetest.Phone) *line {
	r.t.Helper()
	who := map[string]string{"household": p.Household().String(), "device": p.Device().String()}
	var asked struct{ Challenge string }
	r.postJSON("/api/v1/auth/challenge", who, &asked)
	who["challenge"] = asked.Challenge
	signed := ed25519.Sign(p.Key, auth.Message(p.Household(), p.Device(), asked.Challenge))
	who["signature"] = base64.RawURLEncoding.EncodeToString(signed)
	var got struct{ Token string }
	r.postJSON("/api/v1/auth/token", who, &got)
	return &line{p, got.Token}
}

// send is one exchange with the server at url.
func (l *line) send(url string, m *wire.Message) (*wire.Message, error) {
	body, err := m.Encode()
	if err != nil {
		return nil, err
	}
	path := "/api/v1/households/" + l.phone.Household().String() + "/exchange"
	answer, err := ask("POST", url+path, "application/cbor", l.token, body)
	if err != nil {
		return nil, err
	}
	got, bad, err := wire.Decode(answer)
	if err == nil && len(bad)+len(got.Refused) > 0 {
		err = fmt.Errorf("%w: %v %v", errAnswer, bad, got.Refused)
	}
	return got, err
}

func (r *running) sync(p *phonetest.Phone) {
	r.t.Helper()
	l := r.signIn(p)
	_, err := p.Sync(func(m *wire.Message) (*wire.Message, error) { return l.send(r.url, m) })
	require.NoError(r.t, err)
}

func (r *running) digest(p *phonetest.Phone) string {
	r.t.Helper()
	body, err := ask("GET", r.url+"/api/v1/households/"+p.Household().String()+"/digest", "", r.signIn(p).token, nil)
	require.NoError(r.t, err)
	var out struct{ Digest string }
	require.NoError(r.t, json.Unmarshal(body, &out))
	return out.Digest
}

var setupLink = regexp.MustCompile(`/#setup=([\w-]+)`)

// founded founds a household with the link that the server printed.
func (r *running) founded(seed byte) *phonetest.Phone {
	r.t.Helper()
	p := phonetest.Found(r.t, seed, time.Now)
	m, err := p.Introduction().Encode()
	require.NoError(r.t, err)
	body, err := cbor.Marshal(map[int]any{1: setupLink.FindStringSubmatch(r.said)[1], 2: m})
	require.NoError(r.t, err)
	_, err = ask("POST", r.url+"/api/v1/found", "application/cbor", "", body)
	require.NoError(r.t, err)
	return p
}

// joined lets a further phone in.
func (r *running) joined(host *phonetest.Phone, seed byte) *phonetest.Phone {
	r.t.Helper()
	i := host.Invite(r.t, seed+100, 15*time.Minute)
	r.sync(host)
	p := phonetest.Join(r.t, seed, time.Now, i)
	m, err := p.Introduction().Encode()
	require.NoError(r.t, err)
	_, err = ask("POST", r.url+"/api/v1/join", "application/cbor", "", m)
	require.NoError(r.t, err)
	r.sync(p)
	return p
}

func TestTwoPhonesThroughTheServer(t *testing.T) {
	data := t.TempDir()
	r := serve(t, data)
	a := r.founded(1)
	b := r.joined(a, 2)
	for i := range byte(20) {
		a.Look(t, 1+i)
		b.Look(t, 101+i)
	}
	r.sync(a)
	r.sync(b)
	r.sync(a)
	require.Equal(t, a.Digest(t), b.Digest(t))
	require.Equal(t, a.Digest(t), r.digest(a))
	require.Equal(t, 0, r.interrupt())
	require.NotContains(t, r.errOut.String(), "level=ERROR")

	again := serve(t, data)
	require.Equal(t, a.Digest(t), again.digest(b), "and after a restart")
}

// pushing sends a phone's entries one by one until the server is gone. It gives how
// far the server has acknowledged the phone's log.
func (l *line) pushing(url string, batches []*oplog.Batch, acked func()) (uint64, error) {
	var last uint64
	for _, b := range batches {
		answer, err := l.send(url, l.phone.Message(b))
		if errors.Is(err, errAnswer) {
			return last, err
		}
		if err != nil {
			return last, nil // killed
		}
		last = answer.Have[l.phone.Device()]
		acked()
	}
	return last, nil
}

type pushed struct {
	device model.DeviceID
	acked  uint64
	err    error
}

// A server that is killed in the middle of what several phones send has, when it is
// back, everything that it acknowledged, once.
func TestKilledWhilePhonesPush(t *testing.T) {
	const rounds, each, seed = 6, 60, 20260316
	rnd := rand.New(rand.NewPCG(seed, 0))
	data := t.TempDir()
	r := serve(t, data)
	a := r.founded(1)
	phones := []*phonetest.Phone{a, r.joined(a, 2), r.joined(a, 3)}
	total := 0
	for range rounds {
		results := r.pushAndKill(phones, each, 1+rnd.IntN(2*each))
		r = serve(t, data)
		for _, p := range results {
			require.NoError(t, p.err)
			total += int(p.acked)
		}
		answer, err := r.signIn(a).send(r.url, a.Message())
		require.NoError(t, err)
		for _, p := range results {
			require.GreaterOrEqual(t, answer.Have[p.device], p.acked, "seed %d", seed)
		}
		for range 2 { // the phones send the rest, and what they had sent already
			for _, p := range phones {
				r.sync(p)
			}
		}
		for _, p := range phones {
			require.Equal(t, r.digest(p), p.Digest(t))
		}
	}
	require.Len(t, a.State.Book().Facts(), rounds*each*len(phones), "each look once")
	require.Positive(t, total)
}

// pushAndKill lets every phone write and send at once, and kills the server after so
// many acknowledgements.
func (r *running) pushAndKill(phones []*phonetest.Phone, each, after int) []pushed {
	r.t.Helper()
	results := make(chan pushed, len(phones))
	var kill sync.Once
	count := make(chan int, 1)
	count <- 0
	acked := func() {
		n := <-count + 1
		count <- n
		if n >= after {
			kill.Do(func() { _ = r.cmd.Process.Kill() })
		}
	}
	lines, batches := make([]*line, len(phones)), make([][]*oplog.Batch, len(phones))
	for n, p := range phones {
		lines[n] = r.signIn(p)
		for i := range each {
			batches[n] = append(batches[n], p.Look(r.t, byte(1+i)))
		}
	}
	for n, l := range lines {
		go func() {
			last, err := l.pushing(r.url, batches[n], acked)
			results <- pushed{l.phone.Device(), last, err}
		}()
	}
	out := make([]pushed, 0, len(phones))
	for range phones {
		out = append(out, <-results)
	}
	kill.Do(func() { _ = r.cmd.Process.Kill() })
	_ = r.cmd.Wait()
	return out
}
