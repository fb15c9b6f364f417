package replica_test

import (
	"context"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"sync"

	"github.com/fxamacker/cbor/v2"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/exchange"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

const api = "/api/v1"

// fakeServer speaks the server's API for one household, from memory. It is a
// replica.Transport whose answers always arrive; see line for those that do not.
type fakeServer struct {
	now func() int64

	mu         sync.Mutex
	household  *memlog.Replica
	setupToken string
	challenges map[string]bool
	tokens     map[string]model.DeviceID
	uploads    map[string]*fakeUpload
	photos     map[model.PhotoSum][]byte
	refuse     map[model.PhotoSum]*fault.Fault // photos to turn down when they are complete
	trouble    *fault.Fault                    // for creating uploads
	stuck      bool                            // acknowledges bytes without keeping them
	epoch      wire.Epoch
	renewed    bool           // the epoch, since it was started
	first      bool           // it is of the first version, without stubs and epochs
	smuggled   []*oplog.Batch // it adds to its answers what it must not
	requests   []string
	made       int
}

type fakeUpload struct {
	sum  model.PhotoSum
	want int
	data []byte
}

func newFakeServer(now func() int64) *fakeServer {
	return &fakeServer{
		now: now, setupToken: "set-up", epoch: wire.Epoch{Store: 1, Age: 1}, challenges: map[string]bool{}, tokens: map[string]model.DeviceID{}, uploads: map[string]*fakeUpload{},
		photos: map[model.PhotoSum][]byte{}, refuse: map[model.PhotoSum]*fault.Fault{},
	}
}

// The faults that the server answers with, and their statuses.
var (
	errSetup    = fault.New("setup_token_unknown", "Unknown set-up link.")
	errUsed     = fault.New("invitation_used", "Used.")
	errExpired  = fault.New("invitation_expired", "Run out.")
	errToken    = fault.New("token_expired", "Signed out.")
	errUpload   = fault.New("upload_unknown", "No such upload.")
	errPhoto    = fault.New("photo_unknown", "No such photo.")
	errNotImage = fault.New("photo_not_image", "Not a photo.")
	errFull     = fault.New("storage_full", "No room.")
	errQuota    = fault.New("photo_quota", "No room for photos.")
	errTooOften = fault.New("too_many_requests", "Too often.")
	errInternal = fault.New("internal", "Trouble.")
)

var statuses = map[fault.Code]int{
	errSetup.Code: 403, errUsed.Code: 410, errExpired.Code: 410, errToken.Code: 401, oplog.ErrStranger.Code: 401, oplog.ErrRevoked.Code: 403, errUpload.Code: 404,
	errPhoto.Code: 404, errNotImage.Code: 415, errFull.Code: 507, errQuota.Code: 507, errTooOften.Code: 429, errInternal.Code: 500,
}

func refusal(err error) *replica.Response {
	f, ok := fault.From(err)
	if !ok {
		f = errInternal
	}
	status, ok := statuses[f.Code]
	if !ok {
		status = 400
	}
	body, _ := json.Marshal(map[string]string{"code": string(f.Code), "words": f.Words})
	return &replica.Response{Status: status, Header: map[string]string{"content-type": "application/json"}, Body: body}
}

// Do answers a request.
func (s *fakeServer) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.requests = append(s.requests, r.Method+" "+r.Path)
	resp, err := s.answer(ctx, r)
	if err != nil {
		return refusal(err), nil
	}
	return resp, nil
}

func (s *fakeServer) answer(ctx context.Context, r replica.Request) (*replica.Response, error) {
	switch strings.TrimPrefix(r.Path, api) {
	case "/found":
		return s.found(ctx, r.Body)
	case "/join":
		return s.join(ctx, r.Body)
	case "/auth/challenge":
		s.made++
		text := fmt.Sprint("challenge ", s.made)
		s.challenges[text] = true
		return jsonOf(map[string]string{"challenge": text})
	case "/auth/token":
		return s.token(r.Body)
	}
	if s.household == nil {
		return nil, oplog.ErrStranger
	}
	home := api + "/households/" + s.household.Household().String()
	device, signedIn := s.tokens[r.Header["authorization"]]
	if !strings.HasPrefix(r.Path, home) || !signedIn {
		return nil, errToken
	}
	if err := s.household.State.Access(device); err != nil {
		return nil, err
	}
	return s.member(ctx, r, strings.TrimPrefix(r.Path, home))
}

func (s *fakeServer) member(ctx context.Context, r replica.Request, path string) (*replica.Response, error) {
	switch {
	case path == "/exchange":
		return s.exchange(ctx, r.Body)
	case path == "/digest":
		sum, err := s.household.State.Digest()
		if err != nil {
			return nil, err
		}
		return jsonOf(map[string]string{"digest": fmt.Sprintf("%x", sum)})
	case path == "/uploads":
		return s.create(r)
	case strings.HasPrefix(path, "/uploads/"):
		return s.upload(r, path)
	case path == "/photos/missing":
		return s.missing(r.Body)
	case strings.HasPrefix(path, "/photos/"):
		return s.photo(path)
	}
	return nil, fault.New("not_found", "Nothing here.")
}

func jsonOf(v any) (*replica.Response, error) {
	body, err := json.Marshal(v)
	return &replica.Response{Status: http.StatusOK, Body: body}, err
}

func messageOf(m *wire.Message) (*replica.Response, error) {
	body, err := m.Encode()
	return &replica.Response{Status: http.StatusOK, Body: body}, err
}

func (s *fakeServer) found(ctx context.Context, body []byte) (*replica.Response, error) {
	var in struct {
		Token   string `cbor:"1,keyasint"`
		Message []byte `cbor:"2,keyasint"`
	}
	if err := cbor.Unmarshal(body, &in); err != nil {
		return nil, err
	}
	m, _, err := wire.Decode(in.Message)
	if err != nil {
		return nil, err
	}
	if s.household == nil {
		if in.Token != s.setupToken {
			return nil, errSetup
		}
		s.household = memlog.NewReplica(m.Household)
	}
	return s.welcome(ctx, m)
}

func (s *fakeServer) join(ctx context.Context, body []byte) (*replica.Response, error) {
	m, _, err := wire.Decode(body)
	if err != nil {
		return nil, err
	}
	if s.household == nil || m.Household != s.household.Household() || len(m.Batches) == 0 {
		return nil, oplog.ErrInvitation
	}
	if _, err := s.household.Take(ctx, m.Batches[1:]); err != nil {
		return nil, err
	}
	intro, err := oplog.Introduction(m.Household, m.Batches[0])
	if err != nil {
		return nil, err
	}
	if _, known := s.household.State.Key(m.Batches[0].Device); !known {
		if err := s.admits(intro); err != nil {
			return nil, err
		}
	}
	return s.welcome(ctx, m)
}

func (s *fakeServer) admits(intro any) error {
	switch x := intro.(type) {
	case *oplog.Join:
		invite, used := s.household.State.Invitation(x.Via)
		switch {
		case invite == nil:
			return oplog.ErrInvitation
		case len(used) > 0:
			return errUsed
		case s.now() >= int64(invite.Expires):
			return errExpired
		}
		return nil
	case *oplog.Succeed:
		return s.household.State.Access(x.Device)
	}
	return oplog.ErrInvitation
}

func (s *fakeServer) welcome(ctx context.Context, m *wire.Message) (*replica.Response, error) {
	refused, err := s.household.Take(ctx, m.Batches)
	if err != nil {
		return nil, err
	}
	if len(refused) > 0 {
		return nil, refused[0].Err
	}
	return messageOf(&wire.Message{Household: m.Household, Have: oplog.Vector{}, Now: s.now()})
}

func (s *fakeServer) token(body []byte) (*replica.Response, error) {
	var in struct {
		Household model.HouseholdID `json:"household"`
		Device    model.DeviceID    `json:"device"`
		Challenge string            `json:"challenge"`
		Signature string            `json:"signature"`
	}
	if err := json.Unmarshal(body, &in); err != nil {
		return nil, err
	}
	if s.household == nil || in.Household != s.household.Household() {
		return nil, oplog.ErrStranger
	}
	key, known := s.household.State.Key(in.Device)
	if !known {
		return nil, oplog.ErrStranger
	}
	signed := "leafturn auth v1\n" + in.Household.String() + "\n" + in.Device.String() + "\n" + in.Challenge
	sig, err := base64.RawURLEncoding.DecodeString(in.Signature)
	if err != nil || !s.challenges[in.Challenge] || !ed25519.Verify(key, []byte(signed), sig) {
		return nil, oplog.ErrSignature
	}
	delete(s.challenges, in.Challenge)
	if err := s.household.State.Access(in.Device); err != nil {
		return nil, err
	}
	s.made++
	token := fmt.Sprint("token ", s.made)
	s.tokens["Bearer "+token] = in.Device
	return jsonOf(map[string]string{"token": token})
}

func (s *fakeServer) exchange(ctx context.Context, body []byte) (*replica.Response, error) {
	m, _, err := wire.Decode(body)
	if err != nil {
		return nil, err
	}
	if s.first {
		m.Stubs, m.Epoch = nil, wire.Epoch{}
	}
	if m.Epoch == s.epoch && !s.renewed {
		s.epoch.Age++
		s.renewed = true
	}
	peer := &exchange.Peer{}
	if err := peer.Take(ctx, s.household, m); err != nil {
		return nil, err
	}
	out, err := peer.Next(ctx, s.household)
	if err != nil {
		return nil, err
	}
	out.Now, out.Epoch = s.now(), s.epoch
	if s.first {
		out.Stubs, out.Epoch = nil, wire.Epoch{}
	}
	out.Batches = append(out.Batches, s.smuggled...)
	return messageOf(out)
}

// signOut makes every token worthless.
func (s *fakeServer) signOut() {
	s.mu.Lock()
	defer s.mu.Unlock()
	clear(s.tokens)
}

// count says how many requests began so.
func (s *fakeServer) count(prefix string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for _, r := range s.requests {
		if strings.HasPrefix(r, prefix) {
			n++
		}
	}
	return n
}
