package webpushtest

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"log"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"sync"

	"leafturn/server/notify/webpush"
)

// Taken is a message as it arrived.
type Taken struct {
	Path   string
	Header http.Header
	Body   []byte
}

// Service is a push service on loopback, with a certificate of its own. It does not
// tell subscriptions apart: a path is one.
type Service struct {
	server *httptest.Server
	answer func(Taken) Answer

	mu    sync.Mutex
	taken []Taken // guarded by mu
}

// Answer is what the service says to a message.
type Answer struct {
	Status     int
	RetryAfter string
	Location   string
}

// NewService starts a push service, which must be closed. It answers as it is told;
// what it answers with 201 is taken.
func NewService(answer func(Taken) Answer) *Service {
	s := &Service{answer: answer}
	s.server = httptest.NewUnstartedServer(http.HandlerFunc(s.take))
	s.server.Config.ErrorLog = log.New(io.Discard, "", 0) // senders may be killed
	s.server.StartTLS()
	return s
}

// TakeAll takes every message.
func TakeAll(Taken) Answer { return Answer{Status: http.StatusCreated} }

// Close stops the service.
func (s *Service) Close() { s.server.Close() }

// Endpoint is the address of a subscription.
func (s *Service) Endpoint(path string) string { return s.server.URL + path }

// Taken gives the messages taken so far.
func (s *Service) Taken() []Taken {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Taken(nil), s.taken...)
}

// Certificate is the service's own, in DER.
func (s *Service) Certificate() []byte { return s.server.Certificate().Raw }

// Policy allows this service and nothing else.
func (s *Service) Policy() webpush.Policy { return PolicyOf(s.server.URL, s.Certificate()) }

// PolicyOf allows the service at a URL, which may be in another process, and nothing
// else.
func PolicyOf(origin string, certificate []byte) webpush.Policy {
	own := netip.MustParseAddrPort(strings.TrimPrefix(origin, "https://"))
	pool := x509.NewCertPool()
	if c, err := x509.ParseCertificate(certificate); err == nil { // else it trusts nobody
		pool.AddCert(c)
	}
	return webpush.Policy{
		Endpoint: func(u *url.URL) error {
			if u.Scheme+"://"+u.Host != origin {
				return webpush.ErrForbidden
			}
			return nil
		},
		Address: func(a netip.AddrPort) error {
			if a != own {
				return webpush.ErrForbidden
			}
			return nil
		},
		TLS: &tls.Config{RootCAs: pool},
	}
}

func (s *Service) take(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	m := Taken{r.URL.Path, r.Header.Clone(), body}
	a := s.answer(m)
	if a.Status == http.StatusCreated {
		s.mu.Lock()
		s.taken = append(s.taken, m)
		s.mu.Unlock()
	}
	if a.RetryAfter != "" {
		w.Header().Set("Retry-After", a.RetryAfter)
	}
	if a.Location != "" {
		w.Header().Set("Location", a.Location)
	}
	w.WriteHeader(a.Status)
}
