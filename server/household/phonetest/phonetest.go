// Package phonetest has phones for tests of the server: they hold a log and a state
// in memory, write and sign, and exchange messages over any way there is.
package phonetest

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/exchange"
	"leafturn/sync/hlc"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// Phone is one device of a household. It is not safe for concurrent use.
type Phone struct {
	*memlog.Replica
	Key   ed25519.PrivateKey
	Clock *hlc.Clock

	first *oplog.Batch // how it introduces itself
}

// Invitation is what an invitation link holds.
type Invitation struct {
	Household model.HouseholdID
	Key       ed25519.PrivateKey
	Op        model.FactID
	After     hlc.Stamp
}

func keyOf(seed byte) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{seed}, ed25519.SeedSize))
}

func public(k ed25519.PrivateKey) ed25519.PublicKey { return k.Public().(ed25519.PublicKey) }

func newPhone(t testing.TB, h model.HouseholdID, key ed25519.PrivateKey, now func() time.Time, after hlc.Stamp, body any) *Phone {
	t.Helper()
	p := &Phone{Replica: memlog.NewReplica(h), Key: key, Clock: hlc.NewClock(func() int64 { return now().UnixMilli() })}
	p.Clock.Observe(after)
	tail := oplog.NewTail(h, p.Device())
	before := tail.Head()
	ops, err := tail.Write(p.Clock.Now(), body)
	require.NoError(t, err)
	p.first, err = tail.Seal(key, before, ops)
	require.NoError(t, err)
	return p
}

// Found makes the phone that founds a household. Its key comes from the seed.
func Found(t testing.TB, seed byte, now func() time.Time) *Phone {
	t.Helper()
	key := keyOf(seed)
	p := newPhone(t, model.HouseholdIDOf(public(key), [16]byte{seed}), key, now, 0, &oplog.Found{Key: public(key), Nonce: [16]byte{seed}})
	p.keep(t, p.first)
	return p
}

// Invite writes an invitation into the phone's log.
func (p *Phone) Invite(t testing.TB, seed byte, life time.Duration) Invitation {
	t.Helper()
	key := keyOf(seed)
	expires := model.Instant(p.Clock.Wall() + life.Milliseconds())
	b := p.Write(t, &oplog.Invite{Key: public(key), Role: model.Helper, Expires: expires})
	return Invitation{p.Household(), key, model.FactID{Device: b.Device, Seq: b.Last()}, p.State.Stamp()}
}

// Join makes a phone that holds an invitation. It knows nothing of the household
// before its first exchange.
func Join(t testing.TB, seed byte, now func() time.Time, i Invitation) *Phone {
	t.Helper()
	key := keyOf(seed)
	proof := ed25519.Sign(i.Key, oplog.JoinBytes(i.Household, public(key)))
	return newPhone(t, i.Household, key, now, i.After, &oplog.Join{Key: public(key), Via: i.Op, Proof: proof})
}

// Succeed makes a phone that takes the place of another, of whose log both have all.
// It knows nothing else before its first exchange.
func Succeed(t testing.TB, seed byte, now func() time.Time, old *Phone) *Phone {
	t.Helper()
	key := keyOf(seed)
	tail := old.State.Tail(old.Device())
	return newPhone(t, old.Household(), key, now, tail.Stamp(), &oplog.Succeed{Key: public(key), Device: old.Device(), After: tail.Head().Seq,
		Proof: ed25519.Sign(old.Key, oplog.SucceedBytes(old.Household(), public(key)))})
}

// Device is the phone's device id.
func (p *Phone) Device() model.DeviceID { return model.DeviceIDOf(public(p.Key)) }

// Introduction is the message by which the phone founds or joins.
func (p *Phone) Introduction() *wire.Message { return p.Message(p.first) }

// Message hands over some batches and says what the phone knows.
func (p *Phone) Message(batches ...*oplog.Batch) *wire.Message {
	return &wire.Message{Household: p.Household(), Have: p.Vector(), Batches: batches}
}

// Write writes operations, signs them as one batch and keeps it.
func (p *Phone) Write(t testing.TB, bodies ...any) *oplog.Batch {
	t.Helper()
	p.Clock.Observe(p.State.Stamp())
	before := p.State.Tail(p.Device()).Head()
	d, err := p.State.Draft(p.Device())
	require.NoError(t, err)
	for _, body := range bodies {
		_, err := d.Write(p.Clock.Now(), body)
		require.NoError(t, err)
	}
	p.State.Accept(d)
	b, err := p.State.Tail(p.Device()).Seal(p.Key, before, d.Ops)
	require.NoError(t, err)
	require.NoError(t, p.Log.Append(context.Background(), []*oplog.Batch{b}))
	return b
}

// Look writes that nothing was found on a plant.
func (p *Phone) Look(t testing.TB, plant byte) *oplog.Batch {
	t.Helper()
	return p.Write(t, Look(p, plant))
}

// Raw signs the bytes of an operation, whatever they are, as the next one of the
// phone's log. It follows the written form of chain and signature. The phone itself
// does not keep the batch.
func (p *Phone) Raw(op []byte) *oplog.Batch {
	head, h, d := p.State.Tail(p.Device()).Head(), p.Household(), p.Device()
	last := sha256.Sum256(append(head.Hash[:], op...))
	signed := append([]byte("leafturn batch v1\n"), h[:]...)
	signed = append(signed, d[:]...)
	signed = binary.BigEndian.AppendUint64(signed, head.Seq+1)
	signed = append(signed, last[:]...)
	return &oplog.Batch{Device: d, First: head.Seq + 1, Count: 1, Prev: head.Hash, Ops: op, Sig: ed25519.Sign(p.Key, signed)}
}

// Smuggle signs an operation without asking whether the phone may write it. The
// phone itself does not keep the batch.
func (p *Phone) Smuggle(t testing.TB, body any) *oplog.Batch {
	t.Helper()
	tail := p.State.Tail(p.Device()).Clone()
	before := tail.Head()
	ops, err := tail.Write(p.Clock.Now(), body)
	require.NoError(t, err)
	b, err := tail.Seal(p.Key, before, ops)
	require.NoError(t, err)
	return b
}

// Look is the fact that nothing was found on a plant.
func Look(p *Phone, plant byte) *model.Fact {
	return &model.Fact{At: model.Instant(p.Clock.Wall()), By: model.MemberID{1}, Body: &model.Inspection{Plant: model.PlantID{plant}}}
}

// Twin is the same phone once more, as when its profile was copied.
func (p *Phone) Twin(t testing.TB) *Phone {
	t.Helper()
	twin := &Phone{Replica: memlog.NewReplica(p.Household()), Key: p.Key, Clock: p.Clock, first: p.first}
	var all []*oplog.Batch
	for _, d := range p.Devices() {
		all = append(all, p.Batches(t, d)...)
	}
	twin.keep(t, all...)
	return twin
}

// Batches gives all batches the phone has of a device.
func (p *Phone) Batches(t testing.TB, d model.DeviceID) []*oplog.Batch {
	t.Helper()
	bs, err := p.Log.Read(context.Background(), d, 0, 1<<30)
	require.NoError(t, err)
	return bs
}

func (p *Phone) keep(t testing.TB, batches ...*oplog.Batch) {
	t.Helper()
	refused, err := p.Take(context.Background(), batches)
	require.NoError(t, err)
	require.Empty(t, refused)
}

// Sync exchanges messages until both sides know the same, or until neither learns
// anything, and gives what the other side refuses.
func (p *Phone) Sync(send func(*wire.Message) (*wire.Message, error)) (map[model.DeviceID]wire.Refused, error) {
	ctx := context.Background()
	var peer exchange.Peer
	for range 100 {
		mine, theirs := p.Vector(), peer.Theirs()
		m, err := peer.Next(ctx, p)
		if err != nil {
			return nil, err
		}
		answer, err := send(m)
		if err != nil {
			return nil, err
		}
		if err := peer.Take(ctx, p, answer); err != nil {
			return nil, err
		}
		if peer.Settled(p) || theirs != nil && theirs.Equal(peer.Theirs()) && mine.Equal(p.Vector()) {
			break
		}
	}
	return peer.Blocked(), nil
}

// Digest is the digest of what the phone knows, as text.
func (p *Phone) Digest(t testing.TB) string {
	t.Helper()
	sum, err := p.State.Digest()
	require.NoError(t, err)
	return hex.EncodeToString(sum[:])
}
