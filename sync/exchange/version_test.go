package exchange_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/exchange"
	"leafturn/sync/memlog"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// What happens between replicas of different ages. These stand for a newer one:
// message keys, versions and kinds of operations that this one does not know. The
// golden files are what it reads, so a later version can see that it still does.

// nextMessage is a message as replicas wrote it when there were no stubs yet.
func nextMessage(t require.TestingT, r exchange.Replica, p *exchange.Peer) []byte {
	m, err := p.Next(ctx, r)
	require.NoError(t, err)
	data, err := unstubbed(m).Encode()
	require.NoError(t, err)
	return data
}

// changed is a message as a newer replica writes it.
func changed(t require.TestingT, data []byte, change map[uint64]any) []byte {
	fields := map[uint64]cbor.RawMessage{}
	require.NoError(t, cbor.Unmarshal(data, &fields))
	for key, v := range change {
		raw, err := cbor.Marshal(v)
		require.NoError(t, err)
		fields[key] = raw
	}
	mode, err := cbor.CoreDetEncOptions().EncMode()
	require.NoError(t, err)
	out, err := mode.Marshal(fields)
	require.NoError(t, err)
	return out
}

// small is a household whose only batch is too small to be packed, so that its
// golden files do not depend on how DEFLATE packs.
func small(t mergetest.TB) (*mergetest.House, *memlog.Replica) {
	h := mergetest.Found(t, "ages")
	return h, replica(t, h, h.Batches()...)
}

// Both directions: the newer side may be the one that asks or the one that answers.
func TestMessagesWithNewKeysAreUnderstood(t *testing.T) {
	h, full := small(t)
	var speaker exchange.Peer
	require.NoError(t, speaker.Take(ctx, full, &wire.Message{Household: h.ID, Have: oplog.Vector{}}))
	newer := changed(t, nextMessage(t, full, &speaker), map[uint64]any{8: "a mark", 40: []int{1, 2}, 1 << 33: true})
	golden := mergetest.Golden(t, "message-with-new-keys.v1.cbor", newer)
	require.Equal(t, golden, newer)

	fresh := memlog.NewReplica(h.ID)
	m, bad, err := wire.Decode(golden)
	require.NoError(t, err)
	require.Empty(t, bad)
	var p exchange.Peer
	require.NoError(t, p.Take(ctx, fresh, m))
	require.Equal(t, digest(t, full), digest(t, fresh))
}

func TestMessagesOfANewerVersionAreRefusedInWords(t *testing.T) {
	_, full := small(t)
	newer := changed(t, nextMessage(t, full, &exchange.Peer{}), map[uint64]any{1: wire.Version + 1, 3: "what this means now"})
	golden := mergetest.Golden(t, "message-newer.v2.cbor", newer)
	require.Equal(t, golden, newer)
	_, _, err := wire.Decode(golden)
	require.ErrorIs(t, err, wire.ErrVersion)
	f, ok := fault.From(err)
	require.True(t, ok)
	require.Contains(t, f.Words, "Update")
}

// rawBatch signs the bytes of an operation, whatever they are, by the written rule.
func rawBatch(p *mergetest.Pen, head oplog.Head, op []byte) *oplog.Batch {
	h, d := p.House.ID, p.Device()
	last := sha256.Sum256(append(head.Hash[:], op...))
	text := append([]byte("leafturn batch v1\n"), h[:]...)
	text = append(text, d[:]...)
	text = binary.BigEndian.AppendUint64(text, head.Seq+1)
	text = append(text, last[:]...)
	return &oplog.Batch{Device: d, First: head.Seq + 1, Count: 1, Prev: head.Hash, Ops: op, Sig: ed25519.Sign(p.Key, text)}
}

// A newer phone writes a kind of operation that an older server cannot read. The
// server refuses that log by name and takes all others; the phone keeps what it
// wrote, and an updated server gets it, byte for byte.
func TestOperationsOfANewerKindWaitForTheUpdate(t *testing.T) {
	h := history(t)
	p, q := h.Pens[1], h.Pens[2]
	head := p.State.Tail(p.Device()).Head()
	op, err := cbor.Marshal([]any{23, 0, 0, "a kind of tomorrow"})
	require.NoError(t, err)
	newer := rawBatch(p, head, op)
	q.Fact(t, &model.Inspection{Plant: model.PlantID{4}})
	later := q.Seal(t)

	old := replica(t, h, without(h.Batches(), later)...)
	phone := &holding{Replica: replica(t, h, h.Batches()...), extra: newer}
	var ours, theirs exchange.Peer
	for range 4 {
		require.NoError(t, pass(&ours, phone, &theirs, old))
		require.NoError(t, pass(&theirs, old, &ours, phone))
	}
	require.Equal(t, head.Seq, old.Vector()[p.Device()], "nothing of it was taken in")
	require.Equal(t, later.Last(), old.Vector()[q.Device()], "the other logs go on")
	refused := ours.Blocked()[p.Device()]
	require.Equal(t, oplog.ErrVersion.Code, refused.Code)
	require.Contains(t, refused.Words, "Update")
	require.True(t, ours.Settled(phone), "the conversation ends all the same")

	kept, err := phone.Read(ctx, p.Device(), head.Seq, 1<<20)
	require.NoError(t, err)
	require.True(t, bytes.Equal(newer.Encode(), kept[len(kept)-1].Encode()))
	var again exchange.Peer // after the update both begin anew, and it is offered again
	require.NoError(t, again.Take(ctx, phone, &wire.Message{Household: h.ID, Have: old.Vector()}))
	m, err := again.Next(ctx, phone)
	require.NoError(t, err)
	require.Len(t, m.Batches, 1)
	require.Equal(t, newer.Encode(), m.Batches[0].Encode())
}

func without(batches []*oplog.Batch, one *oplog.Batch) (out []*oplog.Batch) {
	for _, b := range batches {
		if b != one {
			out = append(out, b)
		}
	}
	return out
}

// holding is a replica that also has one batch which only it can read.
type holding struct {
	*memlog.Replica
	extra *oplog.Batch
}

func (r *holding) Heads() map[model.DeviceID]oplog.Head {
	h := r.Replica.Heads()
	last, _ := r.extra.HashAt(r.extra.Last()) // it holds that one
	h[r.extra.Device] = oplog.Head{Seq: r.extra.Last(), Hash: last}
	return h
}

func (r *holding) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	batches, err := r.Replica.Read(ctx, d, after, maxBytes)
	if d == r.extra.Device && after < r.extra.Last() {
		batches = append(batches, r.extra)
	}
	return batches, err
}

// A batch of a newer form travels inside a message of today's: it is refused by its
// device and number, and the rest of the message is taken in.
func TestBatchesOfANewerFormAreRefusedByName(t *testing.T) {
	h := history(t)
	p := h.Pens[0]
	var all [][]byte
	for _, b := range h.Batches() {
		all = append(all, b.Encode())
	}
	p.Fact(t, &model.Inspection{Plant: model.PlantID{1}})
	future := bytes.Clone(p.Seal(t).Encode())
	future[1] = 2 // the version is the array's first element
	data := changed(t, nextMessage(t, memlog.NewReplica(h.ID), &exchange.Peer{}), map[uint64]any{4: append(all, future)})
	m, bad, err := wire.Decode(data)
	require.NoError(t, err)
	require.Len(t, bad, 1)
	var named *wire.BadBatch
	require.ErrorAs(t, bad[0], &named)
	require.Equal(t, p.Device(), named.Device)
	require.ErrorIs(t, bad[0], oplog.ErrVersion)
	fresh := memlog.NewReplica(h.ID)
	require.NoError(t, (&exchange.Peer{}).Take(ctx, fresh, m))
	require.Len(t, fresh.Vector(), len(h.Pens))
}
