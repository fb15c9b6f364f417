package replica

import (
	"strconv"
	"sync"
	"time"
)

// patience keeps a phone from asking a server again that has said when to come back
// (Retry-After: RFC 9110, section 10.2.3). Until then it answers in the server's place,
// by what the server had said. It is safe for concurrent use.
type patience struct {
	wall func() int64

	mu    sync.Mutex
	since int64 // guarded by mu; when the server said so
	until int64 // guarded by mu
	why   error // guarded by mu; nil if it has said nothing
}

// over gives why the server must not be asked yet, nil if it may be. A clock that was
// set back would make the wait longer than the server meant, so it ends it.
func (p *patience) over() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if now := p.wall(); now < p.since || now >= p.until {
		p.why = nil
	}
	return p.why
}

// heed takes in what an answer says about coming back.
func (p *patience) heed(resp *Response) {
	wait := retryAfter(resp)
	if wait == 0 || resp.Status != 429 && resp.Status != 503 {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.since = p.wall()
	p.until, p.why = p.since+wait.Milliseconds(), failed(resp, nil)
}

// retryAfter is how long an answer asks to wait, 0 if it does not say. It may give a
// time instead, which is compared with the time that the answer has itself, because the
// phone's clock may be off. Nobody waits longer than longestPause: by then the server
// may have been started anew.
func retryAfter(resp *Response) time.Duration {
	text := resp.Header["retry-after"]
	if seconds, err := strconv.Atoi(text); err == nil {
		return min(max(time.Duration(seconds), 0), longestPause/time.Second) * time.Second
	}
	at, err := time.Parse(httpTime, text)
	if err != nil {
		return 0
	}
	now, err := time.Parse(httpTime, resp.Header["date"])
	if err != nil {
		return 0
	}
	return min(max(at.Sub(now), 0), longestPause)
}

// httpTime is the form of times in headers: RFC 9110, section 5.6.7.
const httpTime = "Mon, 02 Jan 2006 15:04:05 GMT"
