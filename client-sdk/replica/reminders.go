package replica

import (
	"context"
	"encoding/json"
)

// Subscribe lets the server send messages to this phone. The subscription is what the
// browser writes when it is asked for it as JSON (Push API, section 8).
func (s *Server) Subscribe(ctx context.Context, subscription string) error {
	header := map[string]string{"content-type": "application/json"}
	return failed(s.do(ctx, Request{Method: "POST", Path: s.home() + "/push", Header: header, Body: []byte(subscription)}))
}

// Unsubscribe ends messages to this phone.
func (s *Server) Unsubscribe(ctx context.Context) error {
	return failed(s.do(ctx, Request{Method: "DELETE", Path: s.home() + "/push"}))
}

// OpenCalendar makes a calendar of the member's open tasks and gives its path, which
// is a secret. The one before is closed.
func (s *Server) OpenCalendar(ctx context.Context) (path string, err error) {
	resp, err := s.do(ctx, Request{Method: "POST", Path: s.home() + "/feed"})
	if err := failed(resp, err); err != nil {
		return "", err
	}
	var out struct {
		Path string `json:"path"`
	}
	if err := json.Unmarshal(resp.Body, &out); err != nil {
		return "", ErrServer.Because(err)
	}
	return out.Path, nil
}

// CloseCalendar lets no calendar of the member be read.
func (s *Server) CloseCalendar(ctx context.Context) error {
	return failed(s.do(ctx, Request{Method: "DELETE", Path: s.home() + "/feed"}))
}
