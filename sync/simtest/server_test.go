package simtest_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/fxamacker/cbor/v2"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/server/household"
	"leafturn/server/store"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// server is a server with its disk. It does what the handlers of package httpapi do,
// without HTTP, and signs phones in without cryptography.
type server struct {
	name string
	w    *world
	disk *disk[*drawer]
	skew int64  // of the wall clock, milliseconds
	ages uint32 // that its store has had

	service  *household.Service
	promised oplog.Vector // how far each phone believes that its log is on this disk
}

func (w *world) newServer(name string, h model.HouseholdID) *server {
	s := &server{name: name, w: w, skew: w.between(-day, day), ages: 1, promised: oplog.Vector{}}
	first := wire.Epoch{Store: uint32(len(w.servers)) + 1, Age: 1}
	s.disk = newDisk(func() *drawer { return &drawer{Log: memlog.New(h), epoch: first} })
	s.disk.lying = w.opt.lying
	s.boot()
	return s
}

func (s *server) boot() {
	s.service = household.New(cellar{s.disk, &s.ages}, func() time.Time { return time.UnixMilli(s.w.now + s.skew) })
}

// drawer is what a server keeps.
type drawer struct {
	*memlog.Log
	epoch wire.Epoch
}

// cellar is the server's store.
type cellar struct {
	disk *disk[*drawer]
	ages *uint32 // of the server's store, so that none comes twice
}

func (c cellar) Log(model.HouseholdID) oplog.Log { return shelf{c.disk.now, c.disk} }
func (c cellar) Broken() <-chan struct{}         { return nil }
func (c cellar) Close() error                    { return nil }
func (c cellar) Epoch() wire.Epoch               { return c.disk.now.epoch }

// Renew gives the store another age, which no earlier state of its disk has had.
func (c cellar) Renew(context.Context) error {
	*c.ages++
	age := *c.ages
	return c.disk.keep(func(to *drawer) error {
		to.epoch.Age = age
		return nil
	})
}

func (c cellar) Households(context.Context) ([]model.HouseholdID, error) {
	return []model.HouseholdID{c.disk.now.Household()}, nil
}

var _ store.Store = cellar{}

// shelf is the log of the household.
type shelf struct {
	oplog.Log
	disk *disk[*drawer]
}

func (s shelf) Append(ctx context.Context, batches []*oplog.Batch) error {
	return s.disk.keep(func(to *drawer) error { return to.Append(ctx, batches) })
}

var (
	errInside  = fault.New("internal", "The server had trouble.")
	errRevoked = fault.New("token_revoked", "This device no longer belongs to the household.")
)

// answer does what a request asks for. ErrOffline if the power failed meanwhile. A
// server whose disk could not be written starts again, as the store's contract says.
func (s *server) answer(r replica.Request) (resp *replica.Response, err error) {
	defer func() {
		if x := recover(); x != nil {
			if _, ok := x.(crash); !ok {
				panic(x)
			}
			s.w.say("%s loses power", s.name)
			s.w.broken = errors.Join(s.w.broken, s.w.restartServer(s))
			resp, err = nil, replica.ErrOffline
		}
	}()
	body, err := s.route(r)
	if s.disk.broken {
		s.w.say("%s cannot write its disk", s.name)
		s.w.broken = errors.Join(s.w.broken, s.w.restartServer(s))
	}
	if err != nil {
		return refusal(err), nil
	}
	return &replica.Response{Status: 200, Body: body}, nil
}

// refusal is how a server says no.
func refusal(err error) *replica.Response {
	f, ok := fault.From(err)
	if !ok {
		f = errInside
	}
	status := 400
	if f.Code == errRevoked.Code {
		status = 401
	}
	body, _ := json.Marshal(map[string]any{"code": f.Code, "words": f.Words}) // strings always encode
	return &replica.Response{Status: status, Body: body}
}

func (s *server) route(r replica.Request) ([]byte, error) {
	switch path := r.Path[strings.LastIndexByte(r.Path, '/')+1:]; path {
	case "challenge":
		return []byte(`{"challenge":"one"}`), nil
	case "token":
		return s.token(r.Body)
	case "found":
		return s.found(r.Body)
	case "join":
		m, err := whole(r.Body)
		if err != nil {
			return nil, err
		}
		return s.send(s.service.Join(ctx, m))
	case "exchange":
		return s.exchange(r)
	default:
		return nil, fmt.Errorf("no route to %s", path)
	}
}

// unknown turns what the service says of a device into what a phone is told.
func unknown(err error, told *fault.Fault) error {
	switch fault.CodeOf(err) {
	case "", oplog.ErrRevoked.Code, oplog.ErrUsed.Code:
		return err
	}
	return told
}

func whole(body []byte) (*wire.Message, error) {
	m, bad, err := wire.Decode(body)
	if err == nil && len(bad) > 0 {
		err = bad[0]
	}
	return m, err
}

func (s *server) found(body []byte) ([]byte, error) {
	var in struct {
		Message []byte `cbor:"2,keyasint"`
	}
	if err := cbor.Unmarshal(body, &in); err != nil {
		return nil, wire.ErrDamaged.Because(err)
	}
	m, err := whole(in.Message)
	if err != nil {
		return nil, err
	}
	return s.send(s.service.Found(ctx, m, func(found func() error) error { return found() }))
}

// token lets whoever names a device be that one.
func (s *server) token(body []byte) ([]byte, error) {
	var who struct{ Device model.DeviceID }
	if err := json.Unmarshal(body, &who); err != nil {
		return nil, err
	}
	if _, err := s.service.DeviceKey(ctx, s.disk.now.Household(), who.Device); err != nil {
		return nil, unknown(err, oplog.ErrStranger)
	}
	return json.Marshal(map[string]model.DeviceID{"token": who.Device})
}

// bearer is the header of requests by a device that has signed in.
func bearer(d model.DeviceID) map[string]string {
	return map[string]string{"authorization": "Bearer " + d.String()}
}

func (s *server) exchange(r replica.Request) ([]byte, error) {
	device, err := model.ParseID[model.Device](strings.TrimPrefix(r.Header["authorization"], "Bearer "))
	if err != nil {
		return nil, err
	}
	if _, err := s.service.DeviceKey(ctx, s.disk.now.Household(), device); err != nil {
		return nil, unknown(err, errRevoked)
	}
	m, bad, err := wire.Decode(r.Body)
	if err != nil {
		return nil, err
	}
	answer, err := s.service.Exchange(ctx, m.Household, device, m)
	if err != nil {
		return nil, err
	}
	for _, b := range bad {
		x := wire.Refused{Code: oplog.ErrDamaged.Code, Words: oplog.ErrDamaged.Words}
		if named := (*wire.BadBatch)(nil); errors.As(b, &named) {
			x.Device, x.First = named.Device, named.First
		}
		answer.Refused = append(answer.Refused, x)
	}
	return answer.Encode()
}

func (s *server) send(m *wire.Message, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	return m.Encode()
}

// has says how far the server's disk goes in each log.
func (s *server) has() (oplog.Vector, error) {
	heads, err := s.disk.now.Heads(ctx)
	return oplog.VectorOf(heads), err
}
