package replica

import (
	"context"
	"errors"
	"time"

	"leafturn/sync/hint"
)

// Streamer is a Transport that can bring an answer piece by piece while the server
// is still making it.
type Streamer interface {
	Transport

	// Stream gives the pieces of an answer of status 200 as they arrive and returns
	// when it has ended; the Response has no body then. Any other answer it gives
	// whole. ErrOffline if no answer came or if it broke off. A piece is valid until
	// take returns.
	Stream(ctx context.Context, r Request, take func(piece []byte)) (*Response, error)
}

// Sign is what a Watch has noticed.
type Sign int

// The signs.
const (
	Alive  Sign = iota // the server is there, and this phone has what the server has
	News               // the server has something else: a Sync would bring it
	Silent             // the stream has ended; a new one is begun in a while
)

// ErrNoStream is returned by Watch if the transport is not a Streamer.
var ErrNoStream = errors.New("the transport cannot stream")

// Rhythm is how a Watch waits. Both must be set.
type Rhythm struct {
	After  func(time.Duration) <-chan time.Time // such as time.After
	Random func() float64                       // from 0 up to 1
}

// How long a Watch waits. The server's heartbeats come every twenty seconds.
const (
	longestSilence = 50 * time.Second // then the line is dead
	firstPause     = 20 * time.Second // at most, before a stream that broke is begun again
	longestPause   = 5 * time.Minute  // at most, after many tries
)

// Mark names what this phone has of the household, without what it has not signed.
func (r *Replica) Mark() hint.Mark {
	r.mu.Lock()
	defer r.mu.Unlock()
	heads := r.state.Heads()
	heads[r.device] = r.sealed
	return hint.Of(heads)
}

// Watch listens to the server until ctx ends, and then returns its error. It calls
// heard at each sign. A stream that breaks is begun again, in a while and at a random
// moment, because the server's other phones have lost theirs too.
func (r *Replica) Watch(ctx context.Context, s *Server, rhythm Rhythm, heard func(Sign)) error {
	streamer, ok := s.transport.(Streamer)
	if !ok {
		return ErrNoStream
	}
	for failures := 0; ctx.Err() == nil; {
		failures++
		l := &listening{replica: r, rhythm: rhythm, pieces: make(chan struct{}, 1), heard: func(s Sign) {
			failures = 0
			heard(s)
		}}
		resp, err := l.listen(ctx, s, streamer)
		if err != nil {
			resp = nil // it was offline or could not sign in
		}
		heard(Silent)
		select {
		case <-ctx.Done():
		case <-rhythm.After(rhythm.pause(failures, resp, l.reader.Retry)):
		}
	}
	return ctx.Err()
}

// pause is how long to wait before the next try, after so many in a row that brought
// nothing. A stream's own word on it is taken; the wait that a refusal asks for comes
// on top.
func (r Rhythm) pause(failures int, resp *Response, within time.Duration) time.Duration {
	most := min(firstPause<<min(failures, 16), longestPause)
	if within > 0 {
		most = min(within, longestPause)
	}
	pause := time.Duration(r.Random() * float64(most))
	if resp != nil && resp.Status != 200 {
		pause += retryAfter(resp)
	}
	return pause
}

// listening is one stream.
type listening struct {
	replica *Replica
	rhythm  Rhythm
	heard   func(Sign)
	pieces  chan struct{} // received by guard
	reader  hint.Reader
}

func (l *listening) listen(ctx context.Context, s *Server, t Streamer) (*Response, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	go l.guard(ctx, cancel)
	ask := Request{Method: "GET", Path: s.home() + "/events", Header: map[string]string{
		"accept": hint.ContentType, "last-event-id": string(l.replica.Mark()),
	}}
	return s.authorized(ctx, ask, func(ctx context.Context, r Request) (*Response, error) {
		return t.Stream(ctx, r, l.take)
	})
}

// guard gives the stream up when nothing is heard any more: a phone that changes its
// network is not told that the old line is dead.
func (l *listening) guard(ctx context.Context, giveUp func()) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-l.pieces:
		case <-l.rhythm.After(longestSilence):
			giveUp()
			return
		}
	}
}

func (l *listening) take(piece []byte) {
	select {
	case l.pieces <- struct{}{}:
	default:
	}
	if marks := l.reader.Take(piece); len(marks) > 0 && marks[len(marks)-1] != l.replica.Mark() {
		l.heard(News)
		return
	}
	l.heard(Alive)
}
