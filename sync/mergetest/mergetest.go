// Package mergetest writes the logs of an invented household for tests.
//
// A House is founded by one Pen and joined by others. A Pen is a device: it has a
// key, a clock and a state of its own, writes operations, signs them in batches and
// takes in the batches of others. It does what a phone does, without a disk.
package mergetest

import (
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
)

// TB is what helpers need of a test; *testing.T and *rapid.T have it.
type TB interface {
	require.TestingT
	Helper()
}

// Start is the wall time at which a pen's clock begins, Unix milliseconds.
const Start = 1_790_000_000_000

// House is a household under test.
type House struct {
	ID   model.HouseholdID
	Pens []*Pen // the founder first
}

// Pen writes a device's log.
type Pen struct {
	House   *House
	Key     ed25519.PrivateKey
	State   *merge.State
	Wall    int64          // what the device's clock shows, Unix milliseconds
	Batches []*oplog.Batch // what it signed

	clock  *hlc.Clock
	open   [][]byte
	sealed oplog.Head
}

// KeyOf makes a key from a name.
func KeyOf(name string) ed25519.PrivateKey {
	seed := sha256.Sum256([]byte(name))
	return ed25519.NewKeyFromSeed(seed[:])
}

// Public is the public half of a key.
func Public(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

// Found founds a household. Its ids come from the name.
func Found(t TB, name string) *House {
	t.Helper()
	key := KeyOf(name + " founder")
	h := &House{ID: model.HouseholdIDOf(Public(key), [16]byte{})}
	p := h.pen(key)
	p.enter(t, &oplog.Found{Key: Public(key)})
	return h
}

func (h *House) pen(key ed25519.PrivateKey) *Pen {
	p := &Pen{House: h, Key: key, State: merge.New(h.ID), Wall: Start}
	p.clock = hlc.NewClock(func() int64 { return p.Wall })
	h.Pens = append(h.Pens, p)
	return p
}

// enter writes and signs the operation that makes the device a member's.
func (p *Pen) enter(t TB, body any) {
	t.Helper()
	tail := oplog.NewTail(p.House.ID, p.Device())
	start := tail.Head()
	ops, err := tail.Write(p.clock.Now(), body)
	require.NoError(t, err)
	b, err := tail.Seal(p.Key, start, ops)
	require.NoError(t, err)
	p.sealed, p.Batches = tail.Head(), append(p.Batches, b)
	require.Empty(t, p.State.Apply(b))
}

// Device is the device that the pen writes as.
func (p *Pen) Device() model.DeviceID { return model.DeviceIDOf(Public(p.Key)) }

// Member is whose device it is.
func (p *Pen) Member() model.MemberID { return p.State.Member(p.Device()) }

// Invitation is what an invitation link holds.
type Invitation struct {
	Key ed25519.PrivateKey
	Op  model.FactID
}

// Accept makes the operation by which the holder of a key joins.
func (i Invitation) Accept(h model.HouseholdID, device ed25519.PublicKey) *oplog.Join {
	return &oplog.Join{Key: device, Via: i.Op, Proof: ed25519.Sign(i.Key, oplog.JoinBytes(h, device))}
}

// Invite writes and signs an invitation.
func (p *Pen) Invite(t TB, role model.Role) Invitation {
	t.Helper()
	key := KeyOf(fmt.Sprintf("%s invitation %d", p.House.ID, p.State.Tail(p.Device()).Head().Seq))
	id := p.Write(t, &oplog.Invite{Key: Public(key), Role: role, Expires: Start + 900_000})
	p.Seal(t)
	return Invitation{key, id}
}

// Join lets a new device join by an invitation of the founder.
func (h *House) Join(t TB, role model.Role) *Pen {
	t.Helper()
	i := h.Pens[0].Invite(t, role)
	return h.JoinBy(t, i, h.Pens[0].Batches...)
}

// JoinBy lets a new device join by an invitation. It knows these batches of others.
func (h *House) JoinBy(t TB, i Invitation, known ...*oplog.Batch) *Pen {
	t.Helper()
	p := h.pen(KeyOf(fmt.Sprintf("%s device %d", h.ID, len(h.Pens))))
	p.Take(t, known...)
	p.enter(t, i.Accept(h.ID, Public(p.Key)))
	return p
}

// Succeed lets a new device take the place of another, having all that is signed.
func (h *House) Succeed(t TB, old *Pen, key ed25519.PrivateKey) *Pen {
	t.Helper()
	p := h.pen(key)
	p.Take(t, h.Batches()...)
	p.enter(t, &oplog.Succeed{Key: Public(key), Device: old.Device(), After: p.State.Tail(old.Device()).Head().Seq,
		Proof: ed25519.Sign(old.Key, oplog.SucceedBytes(h.ID, Public(key)))})
	return p
}

// Write adds an operation to the pen's log and state.
func (p *Pen) Write(t TB, body any) model.FactID {
	t.Helper()
	p.Wall++
	d, err := p.State.Draft(p.Device())
	require.NoError(t, err)
	id, err := d.Write(p.clock.Now(), body)
	require.NoError(t, err)
	p.State.Accept(d)
	p.open = append(p.open, d.Ops...)
	return id
}

// Fact writes a fact that was seen or done now by the pen's member.
func (p *Pen) Fact(t TB, body model.Body) model.FactID {
	t.Helper()
	return p.Write(t, &model.Fact{At: model.Instant(p.Wall), By: p.Member(), Body: body})
}

// Set writes one setting over the one that the pen sees.
func (p *Pen) Set(t TB, ref model.Ref, key model.FieldKey, v model.Value) model.FactID {
	t.Helper()
	over := p.State.Over(ref, key)
	return p.Write(t, &oplog.Set{Record: ref, Fields: []oplog.Setting{{Key: key, Value: v, Over: over}}})
}

// Open is the number of operations that are written and not signed.
func (p *Pen) Open() int { return len(p.open) }

// Seal signs what is open, and gives nil if nothing is.
func (p *Pen) Seal(t TB) *oplog.Batch {
	t.Helper()
	if len(p.open) == 0 {
		return nil
	}
	tail := p.State.Tail(p.Device())
	b, err := tail.Seal(p.Key, p.sealed, p.open)
	require.NoError(t, err)
	p.sealed, p.open, p.Batches = tail.Head(), nil, append(p.Batches, b)
	return b
}

// Take takes in batches of others; none may be refused. Later stamps of the pen are
// greater than those it has taken in.
func (p *Pen) Take(t TB, batches ...*oplog.Batch) {
	t.Helper()
	for _, r := range p.State.Apply(batches...) {
		require.NoError(t, r.Err)
	}
	p.clock.Observe(p.State.Stamp())
}

// Batches gives all signed batches of the household, device by device.
func (h *House) Batches() []*oplog.Batch {
	var out []*oplog.Batch
	for _, p := range h.Pens {
		out = append(out, p.Batches...)
	}
	return out
}
