// Package webpush sends short messages to browsers through their push services.
//
// A browser that wants messages makes a subscription: the address at its push
// service where messages for it are taken (the endpoint), a public key and a
// secret. A message is encrypted for that key (RFC 8291, over the content coding
// aes128gcm of RFC 8188), so that the push service carries it without reading it;
// it is sent with a POST (RFC 8030) that names the sender by a signed statement
// (VAPID, RFC 8292). A message with a topic replaces one with the same topic that
// still waits at the push service.
//
// An endpoint is an address that a stranger chose and that this server will call.
// A Policy says which ones it calls; Public is the one for real push services.
package webpush

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strconv"
	"syscall"
	"time"
)

// Urgency says how soon a phone should be woken for a message (RFC 8030, section
// 5.3).
type Urgency string

// The urgencies in use.
const (
	Low    Urgency = "low"    // when the phone is awake anyway
	Normal Urgency = "normal" // unless the battery is low
)

// Message is what is sent.
type Message struct {
	Topic   string // at most 32 characters of base64url; a later message replaces an earlier one
	TTL     time.Duration
	Urgency Urgency
	Text    []byte // at most MaxText
}

// Signer makes the Authorization header for a push service, which is named by its
// origin.
type Signer interface {
	Header(origin string) (string, error)
}

// Returned by Send besides *Later. All other errors are worth another try.
var (
	ErrGone    = errors.New("the subscription is gone")
	ErrRefused = errors.New("the push service refuses the message")
)

// Later says that the push service could not take the message now.
type Later struct {
	After time.Duration // how long it asks to be left alone, 0 if it does not say
	Cause error
}

func (l *Later) Error() string { return "try later: " + l.Cause.Error() }
func (l *Later) Unwrap() error { return l.Cause }

// Client sends messages. It is safe for concurrent use.
type Client struct {
	signer Signer
	policy Policy
	http   *http.Client
	now    func() time.Time
}

// How long a push service may take, and how many connections are kept to one.
const (
	patience  = 10 * time.Second
	idleConns = 32
)

// New makes a client that calls only what the policy allows.
func New(signer Signer, policy Policy, now func() time.Time) *Client {
	dialer := &net.Dialer{Timeout: patience, Control: func(_, address string, _ syscall.RawConn) error {
		// Here the name has become the address that is called, so a name that
		// changes its mind after it was checked gains nothing.
		a, err := netip.ParseAddrPort(address)
		if err != nil {
			return fmt.Errorf("dial %q: %w", address, ErrForbidden)
		}
		return policy.Address(a)
	}}
	transport := &http.Transport{
		DialContext:         dialer.DialContext,
		TLSClientConfig:     policy.TLS,
		TLSHandshakeTimeout: patience,
		ForceAttemptHTTP2:   true,
		MaxIdleConnsPerHost: idleConns,
		MaxIdleConns:        4 * idleConns,
		IdleConnTimeout:     time.Minute,
	}
	return &Client{signer: signer, policy: policy, now: now, http: &http.Client{
		Transport: transport,
		Timeout:   patience,
		CheckRedirect: func(*http.Request, []*http.Request) error {
			return http.ErrUseLastResponse // an answer that leads elsewhere is a refusal
		},
	}}
}

// Send encrypts a message for a subscription and hands it to the push service.
func (c *Client) Send(ctx context.Context, s Subscription, m Message) error {
	endpoint, err := c.policy.endpoint(s.Endpoint)
	if err != nil {
		return errors.Join(ErrRefused, err)
	}
	body, err := s.seal(m.Text)
	if err != nil {
		return errors.Join(ErrRefused, err)
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, endpoint.String(), bytes.NewReader(body))
	if err != nil {
		return errors.Join(ErrRefused, err)
	}
	if err := c.head(req, endpoint, m); err != nil {
		return err
	}
	res, err := c.http.Do(req)
	if errors.Is(err, ErrForbidden) {
		return errors.Join(ErrRefused, hideEndpoint(err))
	}
	if err != nil {
		return &Later{Cause: hideEndpoint(err)}
	}
	defer res.Body.Close()
	_, _ = io.CopyN(io.Discard, res.Body, 4<<10) // so that the connection can be used again
	return c.outcome(res)
}

func (c *Client) head(req *http.Request, endpoint *url.URL, m Message) error {
	authorization, err := c.signer.Header(endpoint.Scheme + "://" + endpoint.Host)
	if err != nil {
		return fmt.Errorf("sign for push service: %w", err)
	}
	h := req.Header
	h.Set("Authorization", authorization)
	h.Set("Content-Encoding", "aes128gcm")
	h.Set("Content-Type", "application/octet-stream")
	h.Set("TTL", strconv.Itoa(int(max(m.TTL, 0)/time.Second)))
	h.Set("Urgency", string(m.Urgency))
	h.Set("Topic", m.Topic)
	h.Set("User-Agent", "Leafturn")
	return nil
}

// hideEndpoint drops the address from a transport's error: it is a secret between
// the phone and its push service, and errors go to the log.
func hideEndpoint(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err
	}
	return err
}

// outcome reads the answer. What is neither taken nor gone, nor a passing trouble,
// will not be taken the next time either.
func (c *Client) outcome(res *http.Response) error {
	switch {
	case res.StatusCode >= 200 && res.StatusCode < 300:
		return nil
	case res.StatusCode == http.StatusNotFound, res.StatusCode == http.StatusGone:
		return ErrGone
	case res.StatusCode == http.StatusTooManyRequests, res.StatusCode == http.StatusRequestTimeout, res.StatusCode >= 500:
		return &Later{After: retryAfter(res.Header.Get("Retry-After"), c.now()), Cause: fmt.Errorf("status %d", res.StatusCode)}
	}
	return fmt.Errorf("%w: status %d", ErrRefused, res.StatusCode)
}

// maxRetryAfter bounds what a push service may ask for: after a day there is a new
// message anyway.
const maxRetryAfter = 24 * time.Hour

// retryAfter reads the header in both of its forms (RFC 9110, section 10.2.3).
func retryAfter(text string, now time.Time) time.Duration {
	var wait time.Duration
	if seconds, err := strconv.ParseUint(text, 10, 31); err == nil {
		wait = time.Duration(seconds) * time.Second
	} else if at, err := http.ParseTime(text); err == nil {
		wait = at.Sub(now)
	}
	return min(max(wait, 0), maxRetryAfter)
}
