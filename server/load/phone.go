package main

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"time"

	"leafturn/model"
	"leafturn/server/auth"
	"leafturn/sync/hint"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// phone is one device as the server sees it.
type phone struct {
	household model.HouseholdID
	device    model.DeviceID
	key       ed25519.PrivateKey
	address   string // where it seems to come from
	clock     *hlc.Clock
	tail      *oplog.Tail
	known     map[model.DeviceID]oplog.Head
	unsent    []*oplog.Batch
	token     string
}

func newKey() (ed25519.PublicKey, ed25519.PrivateKey) {
	public, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		panic(err) // crypto/rand ends the process instead
	}
	return public, key
}

func newPhone(h model.HouseholdID, key ed25519.PrivateKey, number int) *phone {
	p := &phone{household: h, device: model.DeviceIDOf(key.Public().(ed25519.PublicKey)), key: key, known: map[model.DeviceID]oplog.Head{}}
	p.address = fmt.Sprintf("10.%d.%d.%d", number>>16&255, number>>8&255, number&255)
	p.clock = hlc.NewClock(func() int64 { return time.Now().UnixMilli() })
	p.tail = oplog.NewTail(h, p.device)
	return p
}

// write writes operations and signs them as one batch.
func (p *phone) write(bodies ...any) error {
	before := p.tail.Head()
	var ops [][]byte
	for _, body := range bodies {
		more, err := p.tail.Write(p.clock.Now(), body)
		if err != nil {
			return err
		}
		ops = append(ops, more...)
	}
	b, err := p.tail.Seal(p.key, before, ops)
	if err != nil {
		return err
	}
	p.known[p.device] = p.tail.Head()
	p.unsent = append(p.unsent, b)
	return nil
}

// look writes that nothing was found on a plant.
func (p *phone) look() error {
	plant := model.PlantID{1, byte(p.tail.Head().Seq)}
	return p.write(&model.Fact{At: model.Instant(p.clock.Wall()), By: model.MemberID{1}, Body: &model.Inspection{Plant: plant}})
}

func (p *phone) mark() hint.Mark { return hint.Of(p.known) }

// message hands over some batches and says what the phone knows.
func (p *phone) message(batches ...*oplog.Batch) *wire.Message {
	return &wire.Message{Household: p.household, Have: oplog.VectorOf(p.known), Batches: batches}
}

// take takes in an answer, and reports whether both sides know the same then.
func (p *phone) take(m *wire.Message) (bool, error) {
	if len(m.Refused) > 0 {
		return false, fmt.Errorf("refused: %+v", m.Refused[0])
	}
	for _, b := range m.Batches {
		head, _, err := oplog.Continue(p.household, p.known[b.Device], b)
		if err != nil {
			return false, err
		}
		p.known[b.Device] = head
	}
	for len(p.unsent) > 0 && p.unsent[0].Last() <= m.Have[p.device] {
		p.unsent = p.unsent[1:]
	}
	return m.Have.Equal(oplog.VectorOf(p.known)), nil
}

// sender sends requests: a line or a pool of them.
type sender interface {
	send(request []byte) ([]byte, error)
}

func (p *phone) home() string { return "/api/v1/households/" + p.household.String() }

// exchangeRequest is the request that carries a message.
func (p *phone) exchangeRequest(m *wire.Message) ([]byte, error) {
	body, err := m.Encode()
	q := request{method: "POST", path: p.home() + "/exchange", typ: "application/cbor", phone: p, body: body}
	return q.bytes(), err
}

// page is the first of what is unsent.
func (p *phone) page() []*oplog.Batch { return p.unsent[:min(len(p.unsent), 500)] }

// sync exchanges until both sides know the same.
func (p *phone) sync(over sender) error {
	for same := false; !same; {
		q, err := p.exchangeRequest(p.message(p.page()...))
		if err != nil {
			return err
		}
		body, err := over.send(q)
		if err != nil {
			return err
		}
		answer, bad, err := wire.Decode(body)
		if err := firstOf(append([]error{err}, bad...)...); err != nil {
			return err
		}
		if same, err = p.take(answer); err != nil {
			return err
		}
	}
	return nil
}

// signIn proves the phone and keeps its token.
func (p *phone) signIn(over sender) error {
	p.token = ""
	who := map[string]string{"household": p.household.String(), "device": p.device.String()}
	var asked struct{ Challenge string }
	if err := p.post(over, "challenge", who, &asked); err != nil {
		return err
	}
	who["challenge"] = asked.Challenge
	who["signature"] = base64.RawURLEncoding.EncodeToString(ed25519.Sign(p.key, auth.Message(p.household, p.device, asked.Challenge)))
	var got struct{ Token string }
	if err := p.post(over, "token", who, &got); err != nil {
		return err
	}
	p.token = got.Token
	return nil
}

func (p *phone) post(over sender, what string, in, out any) error {
	body, err := json.Marshal(in)
	if err != nil {
		return err
	}
	q := request{method: "POST", path: "/api/v1/auth/" + what, typ: "application/json", phone: p, body: body}
	answer, err := over.send(q.bytes())
	if err != nil {
		return err
	}
	return json.Unmarshal(answer, out)
}
