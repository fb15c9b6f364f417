package exchange_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/exchange"
	"leafturn/sync/memlog"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// wide is a household in which each of three logs has one batch that fills a page.
func wide(t mergetest.TB) *mergetest.House {
	h := mergetest.Found(t, "wide")
	h.Join(t, model.Helper)
	h.Join(t, model.Helper)
	random := rand.NewChaCha8([32]byte{2})
	for _, p := range h.Pens {
		for range 1100 {
			photos := make([]model.PhotoSum, 16)
			for i := range photos {
				_, _ = random.Read(photos[i][:])
			}
			p.Fact(t, &model.Inspection{Plant: model.PlantID{1}, Photos: photos})
		}
		require.Greater(t, len(p.Seal(t).Encode()), exchange.PageBytes)
	}
	return h
}

// A page that ends just where a log ends says that there are further logs: who writes a
// file would stop otherwise.
func TestAPageThatEndsWithALogSaysThatThereIsMore(t *testing.T) {
	h := wide(t)
	full, fresh := replica(t, h, h.Batches()...), memlog.NewReplica(h.ID)
	asked, atEnd := &exchange.Peer{}, 0
	for more := true; more; {
		require.NoError(t, asked.Take(ctx, full, &wire.Message{Household: h.ID, Have: fresh.Vector()}))
		m, err := asked.Next(ctx, full)
		require.NoError(t, err)
		require.NotEmpty(t, m.Batches)
		require.NoError(t, (&exchange.Peer{}).Take(ctx, fresh, m))
		if last := m.Batches[len(m.Batches)-1]; last.Last() == full.Vector()[last.Device] {
			atEnd++
		}
		require.Equal(t, !fresh.Vector().Equal(full.Vector()), m.More)
		more = m.More
	}
	require.Equal(t, len(h.Pens), atEnd, "each log ends a page")
	require.Equal(t, digest(t, full), digest(t, fresh))

	carried := memlog.NewReplica(h.ID)
	unpack(t, carried, packed(t, full, nil))
	require.Equal(t, digest(t, full), digest(t, carried))
}

// What was refused is offered again when its reason may have gone, and only then.
func TestWhichRefusalsPass(t *testing.T) {
	h := history(t)
	full := replica(t, h, h.Batches()...)
	refused := h.Pens[2].Device()
	for code, passes := range map[fault.Code]bool{
		oplog.ErrGap.Code: true, oplog.ErrStranger.Code: true, oplog.ErrInvitation.Code: true, oplog.ErrNotAllowed.Code: true,
		oplog.ErrFork.Code: false, oplog.ErrSignature.Code: false, oplog.ErrDamaged.Code: false, oplog.ErrVersion.Code: false, oplog.ErrTooBig.Code: false, "internal": false,
	} {
		t.Run(string(code), func(t *testing.T) {
			require.NotEmpty(t, code)
			offered := func(p *exchange.Peer, have oplog.Vector, r ...wire.Refused) bool {
				require.NoError(t, p.Take(ctx, full, &wire.Message{Household: h.ID, Have: have, Refused: r}))
				m, err := p.Next(ctx, full)
				require.NoError(t, err)
				for _, b := range m.Batches {
					if b.Device == refused {
						return true
					}
				}
				return false
			}
			p := &exchange.Peer{}
			require.True(t, offered(p, oplog.Vector{}))
			require.False(t, offered(p, oplog.Vector{}, wire.Refused{Device: refused, First: 1, Code: code, Words: "no"}))
			require.False(t, offered(p, oplog.Vector{}), "nothing has changed")
			require.Equal(t, passes, offered(p, oplog.Vector{h.Pens[0].Device(): 3}), "they have learned something")
		})
	}
}

// The first of a log that is refused is the cause of the refusals after it.
func TestTheFirstRefusalOfALogIsTold(t *testing.T) {
	h := history(t)
	full, p := replica(t, h, h.Batches()...), &exchange.Peer{}
	d := h.Pens[1].Device()
	say := func(first uint64, code fault.Code) {
		require.NoError(t, p.Take(ctx, full, &wire.Message{Household: h.ID, Refused: []wire.Refused{{Device: d, First: first, Code: code}}}))
	}
	say(7, oplog.ErrGap.Code)
	say(9, oplog.ErrVersion.Code)
	require.Equal(t, oplog.ErrGap.Code, p.Blocked()[d].Code)
	say(4, oplog.ErrSignature.Code)
	require.Equal(t, oplog.ErrSignature.Code, p.Blocked()[d].Code)
	say(4, oplog.ErrFork.Code)
	require.Equal(t, oplog.ErrFork.Code, p.Blocked()[d].Code, "of the same batch the newest")
}

// One message tells a refusal once, however many batches of a log it concerns, and
// the next one not again.
func TestARefusalIsToldOnce(t *testing.T) {
	h := history(t)
	fresh, p := memlog.NewReplica(h.ID), &exchange.Peer{}
	require.NoError(t, p.Take(ctx, fresh, &wire.Message{Household: h.ID, Batches: h.Pens[3].Batches}))
	m, err := p.Next(ctx, fresh)
	require.NoError(t, err)
	require.Len(t, m.Refused, 1)
	require.Equal(t, uint64(1), m.Refused[0].First)
	m, err = p.Next(ctx, fresh)
	require.NoError(t, err)
	require.Empty(t, m.Refused)
	require.Contains(t, p.Declined(), h.Pens[3].Device())

	require.NoError(t, p.Take(ctx, fresh, &wire.Message{Household: h.ID, Batches: h.Batches()}))
	require.Empty(t, p.Declined(), "it was taken in since")
}

// Nothing is a fork of a log of which nothing is known.
func TestAStubOfNothingIsNoFork(t *testing.T) {
	h := history(t)
	full, p := replica(t, h, h.Batches()...), &exchange.Peer{}
	d := h.Pens[0].Device()
	require.NoError(t, p.Take(ctx, full, &wire.Message{Household: h.ID, Have: oplog.Vector{d: 0}, Stubs: map[model.DeviceID]wire.Stub{d: {1}}}))
	m, err := p.Next(ctx, full)
	require.NoError(t, err)
	require.Equal(t, h.Batches()[0].Encode(), m.Batches[0].Encode())
	require.Empty(t, p.Blocked())
}

// A byte that no batch holds is altered: what the file says is not believed to be whole.
func TestAFileIsWholeOnlyWithItsSum(t *testing.T) {
	h := history(t)
	file := packed(t, replica(t, h, h.Batches()...), nil)
	device := h.Pens[0].Device()
	at := bytes.Index(file, device[:]) // in the list of what the writer has
	require.Positive(t, at)
	for name, alter := range map[string]int{"in the list of logs": at, "in the sum": len(file) - 1} {
		t.Run(name, func(t *testing.T) {
			bad := bytes.Clone(file)
			bad[alter] ^= 1
			r := memlog.NewReplica(h.ID)
			_, refused, err := exchange.Unpack(ctx, bytes.NewReader(bad), r)
			require.ErrorIs(t, err, exchange.ErrFileCut)
			require.Empty(t, refused)
			require.Equal(t, whole(t, h), digest(t, r), "what could be read was taken in")
		})
	}
}

// A file holds what comes after the other's vector, and who has that much takes it in.
func TestAFileOfTheRest(t *testing.T) {
	h := history(t)
	full, behind := replica(t, h, h.Batches()...), replica(t, h, h.Batches()[:len(h.Batches())/2]...)
	rest, all := packed(t, full, behind.Vector()), packed(t, full, nil)
	require.Less(t, len(rest), len(all)*4/5)
	unpack(t, behind, rest)
	require.Equal(t, digest(t, full), digest(t, behind))

	fresh := memlog.NewReplica(h.ID)
	_, refused, err := exchange.Unpack(ctx, bytes.NewReader(rest), fresh)
	require.NoError(t, err)
	require.NotEmpty(t, refused, "the beginning is missing, and it says so")
	unpack(t, fresh, all)
	require.Equal(t, digest(t, full), digest(t, fresh))
}

// fileOf is a file that holds messages as they are.
func fileOf(messages ...[]byte) []byte {
	file := []byte("leafturn hand-over 1\n")
	for _, m := range append(messages, nil) {
		file = append(binary.BigEndian.AppendUint32(file, uint32(len(m))), m...)
	}
	sum := sha256.Sum256(file)
	return append(file, sum[:]...)
}

// A batch in a file that cannot be read is named, and the rest is taken in.
func TestAFileNamesWhatCouldNotBeRead(t *testing.T) {
	h := history(t)
	p := h.Pens[0]
	var all [][]byte
	for _, b := range h.Batches() {
		all = append(all, b.Encode())
	}
	want := whole(t, h)
	p.Fact(t, &model.Inspection{Plant: model.PlantID{1}})
	last := p.Seal(t)
	newer := bytes.Clone(last.Encode())
	newer[1] = 2 // the version is the array's first element
	file := fileOf(changed(t, nextMessage(t, memlog.NewReplica(h.ID), &exchange.Peer{}), map[uint64]any{4: append(all, newer)}))
	r := memlog.NewReplica(h.ID)
	_, refused, err := exchange.Unpack(ctx, bytes.NewReader(file), r)
	require.NoError(t, err)
	require.Equal(t, []wire.Refused{{Device: p.Device(), First: last.First, Code: oplog.ErrVersion.Code, Words: oplog.ErrVersion.Words}}, refused)
	require.Equal(t, want, digest(t, r))
}

// A message of a newer version inside a file of this one is named as such.
func TestANewerMessageInAFile(t *testing.T) {
	h := history(t)
	newer := changed(t, nextMessage(t, memlog.NewReplica(h.ID), &exchange.Peer{}), map[uint64]any{1: wire.Version + 1})
	_, _, err := exchange.Unpack(ctx, bytes.NewReader(fileOf(newer)), memlog.NewReplica(h.ID))
	require.ErrorIs(t, err, exchange.ErrNewFile)
}

// What a file claims costs nothing: a message longer than any is not even waited for.
func TestAGiantMessageIsNotWaitedFor(t *testing.T) {
	h := history(t)
	file := binary.BigEndian.AppendUint32([]byte("leafturn hand-over 1\n"), wire.MaxMessageBytes+1)
	file = append(file, make([]byte, wire.MaxMessageBytes+1)...)
	_, _, err := exchange.Unpack(ctx, bytes.NewReader(file), memlog.NewReplica(h.ID))
	require.ErrorIs(t, err, exchange.ErrFileCut)
}
