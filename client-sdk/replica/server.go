package replica

import (
	"context"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"strconv"
	"sync"

	"github.com/fxamacker/cbor/v2"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Server speaks the server's API over a transport, as one phone: it signs in when it
// must and keeps the short token. It is safe for concurrent use.
type Server struct {
	transport Transport
	household model.HouseholdID
	self      func() (model.DeviceID, ed25519.PrivateKey)
	patience  *patience

	mu      sync.Mutex
	token   string         // guarded by mu
	tokenOf model.DeviceID // guarded by mu; the phone may have another id since

	stranger bool // guarded by the replica's syncing: the server did not know this phone when it was asked last
}

// Server makes the server as this phone sees it.
func (r *Replica) Server(t Transport) *Server {
	return &Server{transport: t, household: r.identity.Household, self: r.self, patience: &patience{wall: r.opts.Wall}}
}

func (r *Replica) self() (model.DeviceID, ed25519.PrivateKey) {
	r.who.RLock()
	defer r.who.RUnlock()
	return r.device, r.key
}

const api = "/api/v1"

func (s *Server) home() string { return api + "/households/" + s.household.String() }

const typeCBOR = "application/cbor"

// found announces a household with a one-time set-up token.
func (s *Server) found(ctx context.Context, token string, message []byte) error {
	body, err := cbor.Marshal(map[int]any{1: token, 2: message})
	if err != nil {
		return err
	}
	return failed(s.send(ctx, Request{Method: "POST", Path: api + "/found", Header: map[string]string{"content-type": typeCBOR}, Body: body}))
}

// join announces this device by its invitation.
func (s *Server) join(ctx context.Context, message []byte) error {
	return failed(s.send(ctx, Request{Method: "POST", Path: api + "/join", Header: map[string]string{"content-type": typeCBOR}, Body: message}))
}

// exchange sends a message and brings the answer, and which of its batches could not be
// read.
func (s *Server) exchange(ctx context.Context, message []byte) (m *wire.Message, bad []error, err error) {
	resp, err := s.do(ctx, Request{Method: "POST", Path: s.home() + "/exchange", Header: map[string]string{"content-type": typeCBOR}, Body: message})
	if err := failed(resp, err); err != nil {
		return nil, nil, err
	}
	return wire.Decode(resp.Body)
}

// Digest asks for the digest of the server's own state.
func (s *Server) Digest(ctx context.Context) (string, error) {
	resp, err := s.do(ctx, Request{Method: "GET", Path: s.home() + "/digest"})
	if err := failed(resp, err); err != nil {
		return "", err
	}
	var out struct {
		Digest string `json:"digest"`
	}
	if err := json.Unmarshal(resp.Body, &out); err != nil {
		return "", ErrServer.Because(err)
	}
	return out.Digest, nil
}

// Photo fetches a photo, or its rendering of a size (longest edge in pixels, 0 the
// photo itself).
func (s *Server) Photo(ctx context.Context, sum model.PhotoSum, size int) (data []byte, mime string, err error) {
	path := s.home() + "/photos/" + sum.String()
	if size > 0 {
		path += "?size=" + strconv.Itoa(size)
	}
	resp, err := s.do(ctx, Request{Method: "GET", Path: path})
	if err := failed(resp, err); err != nil {
		return nil, "", err
	}
	return resp.Body, resp.Header["content-type"], nil
}

// Zone fetches the rules of a time zone, in the form of RFC 8536. It needs no token.
func Zone(ctx context.Context, t Transport, name string) ([]byte, error) {
	// Zone names are letters, digits, and / _ + -, none of which a path escapes.
	resp, err := t.Do(ctx, Request{Method: "GET", Path: api + "/zone/" + name})
	if err := failed(resp, err); err != nil {
		return nil, err
	}
	return resp.Body, nil
}

func (s *Server) do(ctx context.Context, r Request) (*Response, error) {
	return s.authorized(ctx, r, s.send)
}

// send carries a request, unless the server has asked not to be asked yet.
func (s *Server) send(ctx context.Context, r Request) (*Response, error) {
	if err := s.patience.over(); err != nil {
		return nil, err
	}
	resp, err := s.transport.Do(ctx, r)
	if err == nil {
		s.patience.heed(resp)
	}
	return resp, err
}

// authorized sends a request with the token, signing in if there is none or it has
// expired.
func (s *Server) authorized(ctx context.Context, r Request, send func(context.Context, Request) (*Response, error)) (*Response, error) {
	for fresh := false; ; fresh = true {
		token, err := s.signedIn(ctx, fresh)
		if err != nil {
			return nil, err
		}
		header := map[string]string{"authorization": "Bearer " + token}
		for k, v := range r.Header {
			header[k] = v
		}
		resp, err := send(ctx, Request{Method: r.Method, Path: r.Path, Header: header, Body: r.Body})
		if err != nil || resp.Status != 401 || fresh {
			return resp, err
		}
	}
}

// signedIn gives a token, a new one if anew is set or there is none.
func (s *Server) signedIn(ctx context.Context, anew bool) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	device, key := s.self()
	if s.token != "" && s.tokenOf == device && !anew {
		return s.token, nil
	}
	who := map[string]string{"household": s.household.String(), "device": device.String()}
	var asked struct {
		Challenge string `json:"challenge"`
	}
	if err := s.postJSON(ctx, api+"/auth/challenge", who, &asked); err != nil {
		return "", err
	}
	signed := "leafturn auth v1\n" + who["household"] + "\n" + who["device"] + "\n" + asked.Challenge
	who["challenge"] = asked.Challenge
	who["signature"] = base64.RawURLEncoding.EncodeToString(ed25519.Sign(key, []byte(signed)))
	var got struct {
		Token string `json:"token"`
	}
	if err := s.postJSON(ctx, api+"/auth/token", who, &got); err != nil {
		return "", err
	}
	s.token, s.tokenOf = got.Token, device
	return s.token, nil
}

func (s *Server) postJSON(ctx context.Context, path string, in, out any) error {
	body, err := json.Marshal(in)
	if err != nil {
		return err
	}
	resp, err := s.send(ctx, Request{Method: "POST", Path: path, Header: map[string]string{"content-type": "application/json"}, Body: body})
	if err := failed(resp, err); err != nil {
		return err
	}
	if err := json.Unmarshal(resp.Body, out); err != nil {
		return ErrServer.Because(err)
	}
	return nil
}

// failed turns an answer that is not a success into the fault that it carries.
func failed(resp *Response, err error) error {
	if err != nil {
		return err
	}
	if resp.Status < 300 {
		return nil
	}
	var body struct {
		Code  fault.Code `json:"code"`
		Words string     `json:"words"`
	}
	status := statusError(resp.Status)
	if json.Unmarshal(resp.Body, &body) == nil && body.Code != "" && body.Code != "internal" {
		return saidBy(body.Code, body.Words).Because(status)
	}
	return ErrServer.Because(status)
}

// errServerOlder says to who wrote it what a server says to who reads it: the code is
// the same, and it is the server that has to be updated.
var errServerOlder = fault.New(wire.ErrVersion.Code, "The server runs an older Leafturn than this phone and cannot read what it sends. Everything is saved on this phone, and is sent once the server was updated.")

// saidBy is what a server refuses with, in words for this phone's person.
func saidBy(code fault.Code, words string) *fault.Fault {
	if code == wire.ErrVersion.Code || code == oplog.ErrVersion.Code {
		words = errServerOlder.Words
	}
	return fault.New(code, words)
}

// statusError is the status that a server refused with.
type statusError int

func (e statusError) Error() string { return "status " + strconv.Itoa(int(e)) }
