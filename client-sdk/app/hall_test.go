package app

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"sync"
	"time"

	"github.com/fxamacker/cbor/v2"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/household"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// hall is a server in this process. It does what the handlers of the real one do,
// without HTTP and without proofs of who calls, and its clock is the test's.
type hall struct {
	service *household.Service
	now     func() time.Time

	mu   sync.Mutex
	logs map[model.HouseholdID]*memlog.Log // guarded by mu
}

func newHall(now func() time.Time) *hall {
	h := &hall{now: now, logs: map[model.HouseholdID]*memlog.Log{}}
	h.service = household.New(h, now)
	return h
}

func (h *hall) Log(id model.HouseholdID) oplog.Log {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.logs[id] == nil {
		h.logs[id] = memlog.New(id)
	}
	return h.logs[id]
}

func (h *hall) Households(context.Context) ([]model.HouseholdID, error) {
	return nil, errors.New("nobody asks for all households here")
}

func (h *hall) Broken() <-chan struct{}     { return nil }
func (h *hall) Close() error                { return nil }
func (h *hall) Epoch() wire.Epoch           { return wire.Epoch{} }
func (h *hall) Renew(context.Context) error { return nil }

// door is one phone's way to the hall.
type door struct {
	hall   *hall
	device func() model.DeviceID
}

func (d *door) Do(ctx context.Context, r replica.Request) (*replica.Response, error) {
	body, err := d.answer(ctx, r)
	if err == nil {
		return &replica.Response{Status: 200, Body: body}, nil
	}
	f, ok := fault.From(err)
	if !ok {
		return nil, err
	}
	body, err = json.Marshal(map[string]any{"code": f.Code, "words": f.Words})
	return &replica.Response{Status: 400, Body: body}, err
}

func (d *door) answer(ctx context.Context, r replica.Request) ([]byte, error) {
	switch path := r.Path[strings.LastIndexByte(r.Path, '/')+1:]; path {
	case "challenge":
		return []byte(`{"challenge":"one"}`), nil
	case "token":
		return json.Marshal(map[string]any{"token": "one", "expires": d.hall.now().Add(time.Hour)})
	case "found":
		var in struct {
			Message []byte `cbor:"2,keyasint"`
		}
		if err := cbor.Unmarshal(r.Body, &in); err != nil {
			return nil, err
		}
		return d.pass(in.Message, func(m *wire.Message) (*wire.Message, error) {
			return d.hall.service.Found(ctx, m, func(found func() error) error { return found() })
		})
	case "join":
		return d.pass(r.Body, func(m *wire.Message) (*wire.Message, error) { return d.hall.service.Join(ctx, m) })
	case "exchange":
		return d.pass(r.Body, func(m *wire.Message) (*wire.Message, error) {
			return d.hall.service.Exchange(ctx, m.Household, d.device(), m)
		})
	default:
		return nil, replica.ErrOffline // photos, the zone: nothing of that is needed here
	}
}

func (d *door) pass(body []byte, to func(*wire.Message) (*wire.Message, error)) ([]byte, error) {
	m, bad, err := wire.Decode(body)
	if err = errors.Join(append(bad, err)...); err != nil {
		return nil, err
	}
	if m, err = to(m); err != nil {
		return nil, err
	}
	return m.Encode()
}

// phone is a phone whose server is the hall and whose clock is the hall's.
func (h *hall) phone(w *world) *phone {
	p := &phone{t: w.t, w: w, vault: memvault.New(), page: map[string]string{}}
	p.link = &cable{Transport: &door{h, func() model.DeviceID { return p.house.Device() }}}
	p.options = w.optionsOf(p, h.now)
	p.restart("")
	return p
}
