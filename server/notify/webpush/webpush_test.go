package webpush_test

import (
	"context"
	"errors"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/server/notify/webpush"
	"leafturn/server/notify/webpush/webpushtest"
)

var (
	noon   = time.Date(2026, 3, 14, 12, 0, 0, 0, time.UTC)
	clock  = func() time.Time { return noon }
	digest = webpush.Message{Topic: "topic", TTL: 90 * time.Minute, Urgency: webpush.Normal, Text: []byte("two tasks")}
)

// signer says for whom it signed.
type signer struct{}

func (signer) Header(origin string) (string, error) { return "vapid for " + origin, nil }

func service(t *testing.T, answer func(webpushtest.Taken) webpushtest.Answer) *webpushtest.Service {
	s := webpushtest.NewService(answer)
	t.Cleanup(s.Close)
	return s
}

func TestAMessageArrives(t *testing.T) {
	s := service(t, webpushtest.TakeAll)
	b := webpushtest.NewBrowser(1)
	c := webpush.New(signer{}, s.Policy(), clock)
	require.NoError(t, c.Send(t.Context(), b.Subscription(s.Endpoint("/for/one")), digest))
	taken := s.Taken()
	require.Len(t, taken, 1)
	require.Equal(t, "/for/one", taken[0].Path)
	for name, want := range map[string]string{
		"Authorization":    "vapid for " + s.Endpoint(""),
		"Content-Encoding": "aes128gcm",
		"Ttl":              "5400",
		"Urgency":          "normal",
		"Topic":            "topic",
	} {
		require.Equal(t, want, taken[0].Header.Get(name), name)
	}
	text, err := b.Open(taken[0].Body)
	require.NoError(t, err)
	require.Equal(t, "two tasks", string(text))
	require.NotContains(t, string(taken[0].Body), "two tasks")
}

func TestOutcomes(t *testing.T) {
	for name, c := range map[string]struct {
		answer webpushtest.Answer
		want   error // nil, or what the error must be
		later  bool
		after  time.Duration
	}{
		"taken":                  {answer: webpushtest.Answer{Status: 201}},
		"taken, another service": {answer: webpushtest.Answer{Status: 202}},
		"unknown":                {answer: webpushtest.Answer{Status: 404}, want: webpush.ErrGone},
		"gone":                   {answer: webpushtest.Answer{Status: 410}, want: webpush.ErrGone},
		"refused":                {answer: webpushtest.Answer{Status: 400}, want: webpush.ErrRefused},
		"another key":            {answer: webpushtest.Answer{Status: 403}, want: webpush.ErrRefused},
		"too large":              {answer: webpushtest.Answer{Status: 413}, want: webpush.ErrRefused},
		"elsewhere":              {answer: webpushtest.Answer{Status: 307, Location: "/elsewhere"}, want: webpush.ErrRefused},
		"too many, in seconds":   {answer: webpushtest.Answer{Status: 429, RetryAfter: "120"}, later: true, after: 2 * time.Minute},
		"busy, until a time":     {answer: webpushtest.Answer{Status: 503, RetryAfter: "Sat, 14 Mar 2026 12:05:00 GMT"}, later: true, after: 5 * time.Minute},
		"broken":                 {answer: webpushtest.Answer{Status: 500}, later: true},
		"broken, in nonsense":    {answer: webpushtest.Answer{Status: 502, RetryAfter: "soon"}, later: true},
	} {
		t.Run(name, func(t *testing.T) {
			var asked atomic.Int32
			s := service(t, func(webpushtest.Taken) webpushtest.Answer { asked.Add(1); return c.answer })
			client := webpush.New(signer{}, s.Policy(), clock)
			err := client.Send(t.Context(), webpushtest.NewBrowser(1).Subscription(s.Endpoint("/a")), digest)
			var later *webpush.Later
			require.Equal(t, c.later, errors.As(err, &later))
			if c.later {
				require.Equal(t, c.after, later.After)
			} else {
				require.ErrorIs(t, err, c.want)
			}
			require.EqualValues(t, 1, asked.Load(), "nothing is tried twice, and no redirect is followed")
		})
	}
}

func TestRetryAfterIsBounded(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"": 0, "0": 0, "-5": 0, "7": 7 * time.Second, "999999999": 24 * time.Hour, "99999999999999999999": 0,
		"Sat, 14 Mar 2026 11:00:00 GMT": 0, "Sat, 14 Mar 2126 11:00:00 GMT": 24 * time.Hour,
	} {
		require.Equal(t, want, webpush.RetryAfter(text, noon), text)
	}
}

func TestNobodyAtHomeIsTriedLater(t *testing.T) {
	s := webpushtest.NewService(webpushtest.TakeAll)
	client := webpush.New(signer{}, s.Policy(), clock)
	endpoint := s.Endpoint("/secret-path")
	s.Close()
	err := client.Send(t.Context(), webpushtest.NewBrowser(1).Subscription(endpoint), digest)
	var later *webpush.Later
	require.ErrorAs(t, err, &later)
	require.NotContains(t, err.Error(), "secret-path", "an endpoint is a secret, and errors go to the log")
}

func TestPublicEndpoints(t *testing.T) {
	s := webpushtest.NewBrowser(1).Subscription("")
	for endpoint, ok := range map[string]bool{
		"https://push.example.net/a":             true,
		"https://push.example.net:443/a?b=c":     true,
		"http://push.example.net/a":              false,
		"https://push.example.net:8443/a":        false,
		"https://user@push.example.net/a":        false,
		"https://push.example.net/a#b":           false,
		"https:///a":                             false,
		"https://:443/a":                         false,
		"ftp://push.example.net/a":               false,
		"push.example.net/a":                     false,
		"//push.example.net/a":                   false,
		"":                                       false,
		"https://push.example.net/a\r\nHost: b":  false,
		"https://p/" + strings.Repeat("a", 2048): false,
	} {
		s.Endpoint = endpoint
		if err := webpush.Public.Check(s); ok {
			require.NoError(t, err, endpoint)
		} else {
			require.ErrorIs(t, err, webpush.ErrForbidden, endpoint)
		}
	}
}

func TestPublicAddresses(t *testing.T) {
	for address, ok := range map[string]bool{
		"93.184.215.14:443": true, "[2606:2800:21f::1]:443": true, "[::ffff:93.184.215.14]:443": true,
		"93.184.215.14:80": false, "127.0.0.1:443": false, "0.0.0.0:443": false, "10.1.2.3:443": false, "172.16.0.1:443": false,
		"192.168.1.1:443": false, "169.254.169.254:443": false, "100.64.0.1:443": false, "192.0.2.1:443": false, "198.18.0.1:443": false,
		"224.0.0.1:443": false, "240.0.0.1:443": false, "255.255.255.255:443": false,
		"[::1]:443": false, "[::]:443": false, "[fe80::1]:443": false, "[fe80::1%eth0]:443": false, "[fc00::1]:443": false, "[ff02::1]:443": false,
		"[::ffff:127.0.0.1]:443": false, "[::ffff:10.0.0.1]:443": false, "[64:ff9b::a00:1]:443": false, "[2002:a00:1::]:443": false,
		"[2001::1]:443": false, "[2001:db8::1]:443": false, "[100::1]:443": false,
	} {
		err := webpush.Public.Address(netip.MustParseAddrPort(address))
		require.Equal(t, ok, err == nil, address)
	}
}

// counting is a listener that notices every connection.
func counting(t *testing.T) (address string, connections *atomic.Int32) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	connections = &atomic.Int32{}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for {
			conn, err := ln.Accept()
			if err != nil {
				return
			}
			connections.Add(1)
			conn.Close()
		}
	}()
	t.Cleanup(func() { ln.Close(); <-done })
	return ln.Addr().String(), connections
}

// A name may lead to a public address when it is checked and to one at home when it
// is called. Only the address that is called counts, so here every name passes and
// every address is judged as for a real push service, except that any port will do.
func TestNothingAtHomeIsCalled(t *testing.T) {
	address, connections := counting(t)
	_, port, err := net.SplitHostPort(address)
	require.NoError(t, err)
	policy := webpush.Policy{
		Endpoint: func(*url.URL) error { return nil },
		Address: func(a netip.AddrPort) error {
			return webpush.Public.Address(netip.AddrPortFrom(a.Addr(), 443))
		},
	}
	client := webpush.New(signer{}, policy, clock)
	for _, host := range []string{"127.0.0.1", "localhost", "0.0.0.0", "[::1]", "[::ffff:127.0.0.1]", "127.1", "2130706433", "0x7f000001"} {
		for _, scheme := range []string{"http", "https"} {
			s := webpushtest.NewBrowser(1).Subscription(scheme + "://" + host + ":" + port + "/")
			require.Error(t, client.Send(context.Background(), s, digest), host)
		}
	}
	require.Zero(t, connections.Load())

	open := policy
	open.Address = func(netip.AddrPort) error { return nil }
	s := webpushtest.NewBrowser(1).Subscription("http://" + address + "/")
	require.Error(t, webpush.New(signer{}, open, clock).Send(context.Background(), s, digest))
	require.Positive(t, connections.Load(), "the listener would have noticed")
}

func TestARedirectIsNotFollowed(t *testing.T) {
	address, connections := counting(t)
	s := service(t, func(webpushtest.Taken) webpushtest.Answer {
		return webpushtest.Answer{Status: http.StatusPermanentRedirect, Location: "http://" + address + "/"}
	})
	err := webpush.New(signer{}, s.Policy(), clock).Send(t.Context(), webpushtest.NewBrowser(1).Subscription(s.Endpoint("/a")), digest)
	require.ErrorIs(t, err, webpush.ErrRefused)
	require.Zero(t, connections.Load())
}
