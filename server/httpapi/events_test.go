package httpapi_test

import (
	"bufio"
	"errors"
	"io"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/server/auth"
	"leafturn/server/household/phonetest"
	"leafturn/server/httpapi"
	"leafturn/sync/hint"
	"leafturn/sync/memlog"
)

const heartbeat = ":\n\n"

// listener reads a stream, block by block.
type listener struct {
	t   testing.TB
	res *http.Response
	in  *bufio.Reader
}

// listenRequest asks for a stream, telling the mark that the phone has.
func (r *rig) listenRequest(p *phonetest.Phone, has hint.Mark) *http.Request {
	r.t.Helper()
	q, err := http.NewRequestWithContext(r.t.Context(), http.MethodGet, r.url+"/api/v1/households/"+p.Household().String()+"/events", nil)
	require.NoError(r.t, err)
	q.Header.Set("Authorization", "Bearer "+r.token(p))
	if has != "" {
		q.Header.Set(hint.LastID, string(has))
	}
	return q
}

func (r *rig) tryListen(p *phonetest.Phone, has hint.Mark) *http.Response {
	r.t.Helper()
	res, err := http.DefaultClient.Do(r.listenRequest(p, has))
	require.NoError(r.t, err)
	r.t.Cleanup(func() { _ = res.Body.Close() })
	return res
}

func (r *rig) listen(p *phonetest.Phone, has hint.Mark) *listener {
	r.t.Helper()
	res := r.tryListen(p, has)
	require.Equal(r.t, http.StatusOK, res.StatusCode)
	return &listener{t: r.t, res: res, in: bufio.NewReader(res.Body)}
}

// block is what comes next, up to an empty line.
func (l *listener) block() string {
	l.t.Helper()
	var b strings.Builder
	for !strings.HasSuffix(b.String(), "\n\n") {
		line, err := l.in.ReadString('\n')
		require.NoError(l.t, err)
		b.WriteString(line)
	}
	return b.String()
}

// ended waits for the end of a stream and gives what came before it.
func (l *listener) ended() string {
	l.t.Helper()
	rest, err := io.ReadAll(l.in)
	if !errors.Is(err, io.ErrUnexpectedEOF) {
		require.NoError(l.t, err)
	}
	return string(rest)
}

func markOf(p *phonetest.Phone) hint.Mark { return hint.Of(p.State.Heads()) }

func event(p *phonetest.Phone) string { return string(markOf(p).Event()) }

// joined is a further phone of a household.
func (r *rig) joinedBy(host *phonetest.Phone, seed byte) *phonetest.Phone {
	r.t.Helper()
	i := host.Invite(r.t, seed+100, time.Minute)
	r.sync(host)
	p := phonetest.Join(r.t, seed, r.clock.now, i)
	r.must(r.post(call{path: "/api/v1/join", body: r.encode(p.Introduction())}))
	r.sync(p)
	r.sync(host)
	return p
}

func TestStreamTellsOfChanges(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	b := r.joinedBy(a, 2)
	l := r.listen(b, "")
	require.Equal(t, hint.ContentType, l.res.Header.Get("Content-Type"))
	require.Equal(t, "no-store", l.res.Header.Get("Cache-Control"))
	require.Equal(t, "nosniff", l.res.Header.Get("X-Content-Type-Options"))
	require.Equal(t, event(b), l.block(), "where the household is now")
	for i := range byte(3) {
		a.Look(t, 1+i)
		r.sync(a)
		require.Equal(t, event(a), l.block())
	}
	r.sync(b)
	b.Look(t, 9)
	r.sync(b)
	require.Equal(t, event(b), l.block(), "its own changes too, whose mark it has")
}

func TestStreamGoesOnWhereThePhoneIs(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	before := markOf(a)
	l := r.listen(a, before)
	require.Equal(t, heartbeat, l.block(), "nothing to fetch, and the answer is there all the same")
	a.Look(t, 1)
	r.sync(a)
	require.Equal(t, event(a), l.block())
	require.Equal(t, event(a), r.listen(a, before).block(), "something happened in between")
	require.Equal(t, event(a), r.listen(a, "nonsense").block())
}

// On a busy server changes are told together at the next pulse.
func TestStreamOfABusyServer(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	var busy atomic.Bool
	asked := make(chan struct{}, 100)
	httpapi.SetBusy(r.events, func() bool {
		asked <- struct{}{}
		return busy.Load()
	})
	l := r.listen(a, "")
	require.Equal(t, event(a), l.block())
	busy.Store(true)
	for i := range byte(3) {
		a.Look(t, 1+i)
		r.sync(a)
		<-asked // so the stream has decided about this one
	}
	r.ticks <- epoch
	require.Equal(t, event(a), l.block(), "the three are one")
	busy.Store(false)
	a.Look(t, 9)
	r.sync(a)
	require.Equal(t, event(a), l.block(), "and at once, when the rush is over")
}

func TestStreamIsOfOneHousehold(t *testing.T) {
	r := newRig(t)
	a, b := r.founded(1), r.founded(2)
	l := r.listen(a, markOf(a))
	require.Equal(t, heartbeat, l.block())
	b.Look(t, 1)
	r.sync(b)
	a.Look(t, 1)
	r.sync(a)
	require.Equal(t, event(a), l.block(), "the first it hears of is its own")

	q, err := http.NewRequest(http.MethodGet, r.url+"/api/v1/households/"+b.Household().String()+"/events", nil)
	require.NoError(t, err)
	status, _, _ := r.send(q)
	require.Equal(t, http.StatusUnauthorized, status)
	q.Header.Set("Authorization", "Bearer "+r.token(a))
	status, _, _ = r.send(q)
	require.Equal(t, http.StatusNotFound, status)
}

// Nobody reads this stream. Writing goes on, and whoever reads later comes to where
// the household is, in order and without repetition.
func TestStreamThatIsNotRead(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	l := r.listen(a, "")
	want := []string{event(a)}
	for i := range byte(50) {
		a.Look(t, 1+i)
		r.sync(a)
		want = append(want, event(a))
	}
	for next := 0; next < len(want); next++ {
		got := l.block()
		for got != want[next] {
			next++ // skipped
			require.Less(t, next, len(want), "out of order")
		}
	}
}

func TestStreamsPerDevice(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	b := r.joinedBy(a, 2)
	var open []*listener
	for range 5 {
		open = append(open, r.listen(a, ""))
	}
	res := r.tryListen(a, "")
	require.Equal(t, http.StatusTooManyRequests, res.StatusCode)
	require.Equal(t, "60", res.Header.Get("Retry-After"))
	require.Equal(t, "application/json", res.Header.Get("Content-Type"))
	r.listen(b, "")

	for _, l := range open {
		require.Equal(t, event(b), l.block(), "all five are served")
	}
	require.NoError(t, open[4].res.Body.Close())
	for r.tryListen(a, "").StatusCode == http.StatusTooManyRequests {
		// The server is about to notice that the phone has hung up.
	}
}

func TestStreamBeats(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	l := r.listen(a, "")
	require.Equal(t, event(a), l.block())
	for range 2 {
		for range 5 {
			r.ticks <- epoch
		}
		require.Equal(t, heartbeat, l.block())
	}
}

func TestStreamEndsWithTheToken(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	l := r.listen(a, "")
	require.Equal(t, event(a), l.block())
	r.clock.advance(auth.TokenLife - time.Second)
	r.ticks <- epoch
	a.Look(t, 1)
	r.sync(a)
	require.Equal(t, event(a), l.block(), "it is still good")
	r.clock.advance(time.Second)
	r.ticks <- epoch
	require.Equal(t, "retry: 500\n\n", l.ended(), "with a new token it may go on at once")
}

// The device's token is good, but the household's log no longer has the device.
func TestStreamEndsWithoutTheDevice(t *testing.T) {
	r := newRig(t)
	a, gone := r.founded(1), phonetest.Found(t, 2, r.clock.now)
	r.doorman.befriend(gone)
	stranger := *gone
	stranger.Replica = memlog.NewReplica(a.Household())
	_, err := http.DefaultClient.Do(r.listenRequest(&stranger, ""))
	require.ErrorIs(t, err, io.EOF, "it is told nothing at all")
}

func TestStreamsEndWhenTheServerStops(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	first, second := r.listen(a, ""), r.listen(a, "")
	require.Equal(t, event(a), first.block())
	require.Equal(t, event(a), second.block())
	r.events.Stop()
	require.Empty(t, first.ended())
	require.Empty(t, second.ended())
	res := r.tryListen(a, "")
	require.Equal(t, http.StatusServiceUnavailable, res.StatusCode)
	require.Equal(t, "60", res.Header.Get("Retry-After"))
}

func TestStreamsDoNotHoldUpShutdown(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	l := r.listen(a, "")
	require.Equal(t, event(a), l.block())
	require.NoError(t, r.app.Shutdown())
	require.NoError(t, r.events.Close())
	require.Empty(t, l.ended())
}

func TestStreamCanBeAskedAbout(t *testing.T) {
	r := newRig(t)
	a := r.founded(1)
	q, err := http.NewRequest(http.MethodHead, r.url+"/api/v1/households/"+a.Household().String()+"/events", nil)
	require.NoError(t, err)
	q.Header.Set("Authorization", "Bearer "+r.token(a))
	status, header, _ := r.send(q)
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, hint.ContentType, header.Get("Content-Type"))
}
