package replica_test

import (
	"context"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/sync/hint"
)

// streaming is a way to the server whose streams are played by a test, one after the
// other. A stream that the test does not play waits for the phone to give up.
type streaming struct {
	*line
	plays chan play
}

type play func(ctx context.Context, r replica.Request, take func([]byte)) (*replica.Response, error)

func (s *streaming) Stream(ctx context.Context, r replica.Request, take func([]byte)) (*replica.Response, error) {
	select {
	case p := <-s.plays:
		return p(ctx, r, take)
	case <-ctx.Done():
		return nil, replica.ErrOffline
	}
}

// says plays a stream that ends after some pieces.
func says(pieces ...[]byte) play {
	return func(_ context.Context, _ replica.Request, take func([]byte)) (*replica.Response, error) {
		for _, p := range pieces {
			take(p)
		}
		return &replica.Response{Status: http.StatusOK}, nil
	}
}

// answers plays an answer that is no stream.
func answers(status int, retryAfter string) play {
	return func(context.Context, replica.Request, func([]byte)) (*replica.Response, error) {
		return &replica.Response{Status: status, Header: map[string]string{"retry-after": retryAfter}}, nil
	}
}

func breaks(context.Context, replica.Request, func([]byte)) (*replica.Response, error) {
	return nil, replica.ErrOffline
}

// watched is a phone that watches, in a time that does not pass by itself.
type watched struct {
	*phone
	streams *streaming
	silence chan time.Time // ends the wait for a sign of the server
	end     func()
	ended   chan error

	mu     sync.Mutex
	heard  []replica.Sign  // guarded by mu
	pauses []time.Duration // guarded by mu
}

func watch(p *phone, plays ...play) *watched {
	w := &watched{phone: p, streams: &streaming{p.line, make(chan play, 32)}, silence: make(chan time.Time), ended: make(chan error, 1)}
	for _, play := range plays {
		w.streams.plays <- play
	}
	ctx, end := context.WithCancel(ctx)
	w.end = end
	w.streams.plays <- func(context.Context, replica.Request, func([]byte)) (*replica.Response, error) {
		end()
		return nil, replica.ErrOffline
	}
	rhythm := replica.Rhythm{After: w.after, Random: func() float64 { return 0.5 }}
	go func() { w.ended <- p.Watch(ctx, p.Server(w.streams), rhythm, w.hear) }()
	return w
}

const silence = 50 * time.Second

func (w *watched) after(d time.Duration) <-chan time.Time {
	if d == silence {
		return w.silence
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.pauses = append(w.pauses, d)
	now := make(chan time.Time, 1)
	now <- time.Time{}
	return now
}

func (w *watched) hear(s replica.Sign) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.heard = append(w.heard, s)
}

// wait waits until everything was played. What was heard may be looked at then.
func (w *watched) wait(t *testing.T) *watched {
	t.Helper()
	require.ErrorIs(t, <-w.ended, context.Canceled)
	return w
}

func TestWatchTellsNewsFromWhatIsKnown(t *testing.T) {
	_, _, a, b := pair(t)
	a.do(t, named("Fern"))
	a.sync(t)
	theirs, mine := a.Mark().Event(), b.Mark().Event()
	w := watch(b, says(hint.Heartbeat(), mine, theirs, theirs[:7], theirs[7:], append(theirs, mine...))).wait(t)
	const alive, news, silent = replica.Alive, replica.News, replica.Silent
	require.Equal(t, []replica.Sign{alive, alive, news, alive, news, alive, silent, silent}, w.heard, "of several, the newest counts")
}

func TestWatchAsksFromWhereThePhoneIs(t *testing.T) {
	s, _, _, b := pair(t)
	var asked []replica.Request
	ask := func(_ context.Context, r replica.Request, _ func([]byte)) (*replica.Response, error) {
		asked = append(asked, r)
		if len(asked) == 1 {
			return refusal(errToken), nil
		}
		return &replica.Response{Status: http.StatusOK}, nil
	}
	watch(b, ask, ask).wait(t)
	require.Len(t, asked, 2, "it signed in anew and asked again")
	for _, r := range asked {
		require.Equal(t, "GET", r.Method)
		require.Equal(t, "/api/v1/households/"+b.Household().String()+"/events", r.Path)
		require.Equal(t, string(b.Mark()), r.Header["last-event-id"])
		require.Contains(t, r.Header["authorization"], "Bearer ")
	}
	require.NotEqual(t, asked[0].Header["authorization"], asked[1].Header["authorization"])
	require.Equal(t, hint.Of(s.household.State.Heads()), b.Mark(), "both sides call the same the same")
}

func TestWatchPauses(t *testing.T) {
	offline := []play{breaks, breaks, breaks, breaks, breaks, breaks, breaks}
	cases := []struct {
		name  string
		plays []play
		want  []time.Duration // half of the most
	}{
		{"after a stream that lived", []play{says(hint.Heartbeat()), says(hint.Heartbeat())}, []time.Duration{10 * time.Second, 10 * time.Second}},
		{"as the stream itself has said", []play{says(hint.Heartbeat(), hint.Retry(time.Second))}, []time.Duration{500 * time.Millisecond}},
		{"but no more than is sensible", []play{says(hint.Retry(time.Hour))}, []time.Duration{150 * time.Second}},
		{"longer and longer while offline", offline, []time.Duration{20 * time.Second, 40 * time.Second, 80 * time.Second, 150 * time.Second, 150 * time.Second, 150 * time.Second, 150 * time.Second}},
		{"shortly again once a stream has lived", []play{breaks, breaks, says(hint.Heartbeat()), breaks}, []time.Duration{20 * time.Second, 40 * time.Second, 10 * time.Second, 20 * time.Second}},
		{"a stream that ends without a sign is a failure", []play{says(), says()}, []time.Duration{20 * time.Second, 40 * time.Second}},
		{"what a refusal asks for on top", []play{answers(429, "60"), answers(503, "-5"), answers(404, "")}, []time.Duration{80 * time.Second, 40 * time.Second, 80 * time.Second}},
		{"and of that no more than is sensible", []play{answers(429, "99999999")}, []time.Duration{320 * time.Second}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, _, a, _ := pair(t)
			w := watch(a, c.plays...).wait(t)
			require.Equal(t, c.want, w.pauses[:len(c.want)])
		})
	}
}

func TestWatchGivesUpASilentStream(t *testing.T) {
	_, _, a, _ := pair(t)
	began, gaveUp := make(chan struct{}), make(chan error, 1)
	w := watch(a, func(ctx context.Context, _ replica.Request, take func([]byte)) (*replica.Response, error) {
		take(hint.Heartbeat())
		close(began)
		<-ctx.Done()
		gaveUp <- ctx.Err()
		return nil, replica.ErrOffline
	})
	<-began
	w.silence <- time.Time{}
	require.ErrorIs(t, <-gaveUp, context.Canceled)
	w.wait(t)
	require.Equal(t, []replica.Sign{replica.Alive, replica.Silent, replica.Silent}, w.heard)
}

func TestWatchEndsWithItsContext(t *testing.T) {
	_, _, a, _ := pair(t)
	w := watch(a, func(ctx context.Context, _ replica.Request, _ func([]byte)) (*replica.Response, error) {
		<-ctx.Done()
		return nil, replica.ErrOffline
	})
	w.end()
	w.wait(t)
}

func TestWatchNeedsAStreamer(t *testing.T) {
	_, _, a, _ := pair(t)
	err := a.Watch(ctx, a.server, replica.Rhythm{}, nil)
	require.ErrorIs(t, err, replica.ErrNoStream)
}

// What is written and not signed yet is nothing that the server could have.
func TestMarkIsOfWhatIsSigned(t *testing.T) {
	s, _, a, b := pair(t)
	require.Equal(t, a.Mark(), b.Mark())
	before := a.Mark()
	a.do(t, named("Fern"))
	require.Equal(t, before, a.Mark())
	a.sync(t)
	require.NotEqual(t, before, a.Mark())
	require.Equal(t, hint.Of(s.household.State.Heads()), a.Mark())
	a.reopen(t)
	require.Equal(t, hint.Of(s.household.State.Heads()), a.Mark())
	b.sync(t)
	require.Equal(t, a.Mark(), b.Mark())
}
