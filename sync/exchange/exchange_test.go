package exchange_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/exchange"
	"leafturn/sync/memlog"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

var ctx = context.Background()

// replica is a replica that knows some batches already.
func replica(t require.TestingT, h *mergetest.House, batches ...*oplog.Batch) *memlog.Replica {
	r := memlog.NewReplica(h.ID)
	refused, err := r.Take(ctx, batches)
	require.NoError(t, err)
	require.Empty(t, refused)
	return r
}

// link is a conversation between two replicas over a transport that a test drives.
type link struct {
	ends  [2]*memlog.Replica
	peers [2]*exchange.Peer
	air   []packet // under way
}

type packet struct {
	to   int
	data []byte
}

func newLink(a, b *memlog.Replica) *link {
	return &link{ends: [2]*memlog.Replica{a, b}, peers: [2]*exchange.Peer{{}, {}}}
}

func (l *link) speak(t require.TestingT, from int) {
	m, err := l.peers[from].Next(ctx, l.ends[from])
	require.NoError(t, err)
	data, err := m.Encode()
	require.NoError(t, err)
	require.LessOrEqual(t, len(data), wire.MaxMessageBytes)
	l.air = append(l.air, packet{1 - from, data})
}

func (l *link) hear(t require.TestingT, p packet) {
	m, bad, err := wire.Decode(p.data)
	require.NoError(t, err)
	require.Empty(t, bad)
	require.NoError(t, l.peers[p.to].Take(ctx, l.ends[p.to], m))
}

func (l *link) settled() bool {
	return l.peers[0].Settled(l.ends[0]) && l.peers[1].Settled(l.ends[1])
}

// talk lets both sides speak in turn, without loss, until they have nothing left to
// say, and gives the number of messages.
func (l *link) talk(t require.TestingT, most int) int {
	for n := range most {
		if l.settled() {
			return n
		}
		l.air = nil
		l.speak(t, n%2)
		l.hear(t, l.air[0])
	}
	require.True(t, l.settled(), "no end after %d messages", most)
	return most
}

// storm speaks, loses, repeats and reorders for a while.
func (l *link) storm(t require.TestingT, r *rand.Rand, steps int) {
	for range steps {
		switch {
		case len(l.air) == 0 || r.IntN(3) == 0:
			l.speak(t, r.IntN(2))
		case r.IntN(4) == 0: // lost
			l.drop(r.IntN(len(l.air)))
		default:
			i := r.IntN(len(l.air)) // any of them first
			l.hear(t, l.air[i])
			if r.IntN(4) > 0 { // else it comes again
				l.drop(i)
			}
		}
	}
}

func (l *link) drop(i int) { l.air = append(l.air[:i], l.air[i+1:]...) }

func digest(t require.TestingT, r *memlog.Replica) [32]byte {
	d, err := r.State.Digest()
	require.NoError(t, err)
	return d
}

// history is a household of four devices with many small batches, which depend on
// each other: who joins later was invited later.
func history(t mergetest.TB) *mergetest.House {
	h := mergetest.Found(t, "exchange")
	for i := range 4 {
		if i > 0 {
			h.Join(t, model.Helper)
		}
		for _, p := range h.Pens {
			for range 3 {
				p.Fact(t, &model.Inspection{Plant: mergetest.ID[model.Plant]("fern")})
				p.Seal(t)
			}
		}
	}
	return h
}

// scattered gives a replica a part of every log.
func scattered(t *rapid.T, h *mergetest.House, name string) *memlog.Replica {
	var some []*oplog.Batch
	for _, p := range h.Pens {
		n := rapid.IntRange(0, len(p.Batches)).Draw(t, name)
		some = append(some, p.Batches[:n]...)
	}
	r := memlog.NewReplica(h.ID)
	_, err := r.Take(ctx, some) // without its inviter a log is refused, and comes later
	require.NoError(t, err)
	return r
}

func TestTwoAgreeOverABadNetwork(t *testing.T) {
	h := history(t)
	rapid.Check(t, func(t *rapid.T) {
		a, b := scattered(t, h, "a"), scattered(t, h, "b")
		l := newLink(a, b)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "network"), 0))
		l.storm(t, r, rapid.IntRange(0, 40).Draw(t, "steps"))
		l.talk(t, 40)
		require.Equal(t, digest(t, a), digest(t, b))
		for d, seq := range a.Vector() {
			require.Equal(t, seq, b.Vector()[d])
		}
	})
}

func TestThreeAgreeThroughTheOneInTheMiddle(t *testing.T) {
	h := history(t)
	want := whole(t, h)
	rapid.Check(t, func(t *rapid.T) {
		hub := memlog.NewReplica(h.ID)
		phones := []*memlog.Replica{scattered(t, h, "a"), scattered(t, h, "b")}
		_, err := phones[0].Take(ctx, h.Batches()) // somebody has everything
		require.NoError(t, err)
		links := []*link{newLink(phones[0], hub), newLink(phones[1], hub)}
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "network"), 0))
		for range 3 {
			for _, l := range links {
				l.storm(t, r, 10)
			}
		}
		for _, l := range links {
			l.talk(t, 40)
		}
		require.Equal(t, want, digest(t, hub))
		require.Equal(t, want, digest(t, phones[0]))
		require.Equal(t, want, digest(t, phones[1]))
	})
}

func whole(t require.TestingT, h *mergetest.House) [32]byte {
	return digest(t, replica(t, h, h.Batches()...))
}

func TestEqualReplicasNeedTwoMessages(t *testing.T) {
	h := history(t)
	l := newLink(replica(t, h, h.Batches()...), replica(t, h, h.Batches()...))
	require.Equal(t, 2, l.talk(t, 10))
}

// A fresh phone asks first and gets everything in the answer, if it fits.
func TestFreshReplicaNeedsOneRoundTripMore(t *testing.T) {
	h := history(t)
	l := newLink(memlog.NewReplica(h.ID), replica(t, h, h.Batches()...))
	require.LessOrEqual(t, l.talk(t, 10), 4)
}

// pages is a household whose log takes several messages: photo sums do not compress.
func pages(t mergetest.TB) *mergetest.House {
	h := mergetest.Found(t, "pages")
	p := h.Pens[0]
	random := rand.NewChaCha8([32]byte{1})
	for range 24 {
		for range 150 { // about 80 KB a batch
			photos := make([]model.PhotoSum, 16)
			for i := range photos {
				_, _ = random.Read(photos[i][:])
			}
			p.Fact(t, &model.Inspection{Plant: model.PlantID{1}, Photos: photos})
		}
		p.Seal(t)
	}
	return h
}

func TestLongLogsComeInPages(t *testing.T) {
	h := pages(t)
	full, fresh := replica(t, h, h.Batches()...), memlog.NewReplica(h.ID)
	l := newLink(fresh, full)
	pages, last := 0, true
	for !l.settled() {
		require.Less(t, pages, 10)
		l.air = nil
		l.speak(t, 0)
		l.hear(t, l.air[0])
		m, err := l.peers[1].Next(ctx, full)
		require.NoError(t, err)
		data, err := m.Encode()
		require.NoError(t, err)
		require.Less(t, len(data), exchange.PageBytes+100_000)
		l.hear(t, packet{0, data})
		pages, last = pages+1, m.More
	}
	require.GreaterOrEqual(t, pages, 4)
	require.False(t, last, "the last page says so")
	require.Equal(t, digest(t, full), digest(t, fresh))
}

// twin is a second device that writes under the first one's key.
func twin(t *testing.T, h *mergetest.House, p *mergetest.Pen) *mergetest.Pen {
	q := *p
	q.State = merge.New(h.ID)
	require.Empty(t, q.State.Apply(h.Batches()...))
	return &q
}

func TestAForkedLogDoesNotHoldUpTheOthers(t *testing.T) {
	h := history(t)
	p := h.Pens[1]
	clone := twin(t, h, p)
	before := h.Batches()
	p.Fact(t, &model.Inspection{Plant: model.PlantID{1}})
	clone.Fact(t, &model.Inspection{Plant: model.PlantID{2}})
	clone.Fact(t, &model.Inspection{Plant: model.PlantID{3}})
	one, other := p.Seal(t), clone.Seal(t)
	h.Pens[2].Fact(t, &model.Inspection{Plant: model.PlantID{4}})
	later := h.Pens[2].Seal(t)

	a, b := replica(t, h, append(before, one, later)...), replica(t, h, append(before, other)...)
	l := newLink(a, b)
	l.talk(t, 12)
	require.Equal(t, later.Last(), b.Vector()[later.Device], "the other logs go on")
	require.Equal(t, one.Last(), a.Vector()[p.Device()])
	require.Equal(t, other.Last(), b.Vector()[p.Device()], "each keeps the history it had")
	require.Equal(t, fault.Code("log_forked"), l.peers[1].Blocked()[p.Device()].Code)
	require.NotEmpty(t, l.peers[1].Blocked()[p.Device()].Words)
}

// Two that have different histories of a log notice it before anything of it is sent,
// whichever of them has more of it, and whichever asks.
func TestAForkIsNoticedAtTheFirstContact(t *testing.T) {
	for name, lengths := range map[string][2]int{"one is longer": {3, 1}, "the other is longer": {1, 3}, "equally long": {2, 2}} {
		t.Run(name, func(t *testing.T) {
			h := history(t)
			p := h.Pens[1]
			clone := twin(t, h, p)
			before := h.Batches()
			sides := [2]*memlog.Replica{}
			for i, pen := range []*mergetest.Pen{p, clone} {
				for n := range lengths[i] {
					pen.Fact(t, &model.Inspection{Plant: model.PlantID{byte(10*i + n + 1)}})
				}
				sides[i] = replica(t, h, append(before[:len(before):len(before)], pen.Seal(t))...)
			}
			l := newLink(sides[0], sides[1])
			for n := 0; !l.settled(); n++ {
				require.Less(t, n, 4)
				m, err := l.peers[n%2].Next(ctx, sides[n%2])
				require.NoError(t, err)
				require.Empty(t, m.Batches)
				require.NoError(t, l.peers[1-n%2].Take(ctx, sides[1-n%2], m))
			}
			for _, p := range l.peers {
				require.Equal(t, oplog.ErrFork.Code, p.Blocked()[clone.Device()].Code)
				require.Len(t, p.Blocked(), 1)
			}
		})
	}
}

// unstubbed is what a replica says that does not know stubs.
func unstubbed(m *wire.Message) *wire.Message {
	m.Stubs = nil
	return m
}

// With a replica that gives no stubs, a fork is noticed when the log is sent, as before.
func TestAForkIsNoticedWithoutStubs(t *testing.T) {
	h := history(t)
	p := h.Pens[1]
	clone := twin(t, h, p)
	before := h.Batches()
	p.Fact(t, &model.Inspection{Plant: model.PlantID{1}})
	clone.Fact(t, &model.Inspection{Plant: model.PlantID{2}})
	clone.Fact(t, &model.Inspection{Plant: model.PlantID{3}})
	a := replica(t, h, append(before[:len(before):len(before)], p.Seal(t))...)
	b := replica(t, h, append(before[:len(before):len(before)], clone.Seal(t))...)
	var pa, pb exchange.Peer
	for range 3 {
		m, err := pa.Next(ctx, a)
		require.NoError(t, err)
		require.NoError(t, pb.Take(ctx, b, unstubbed(m)))
		m, err = pb.Next(ctx, b)
		require.NoError(t, err)
		require.NoError(t, pa.Take(ctx, a, unstubbed(m)))
	}
	require.True(t, pa.Settled(a))
	require.Equal(t, oplog.ErrFork.Code, pb.Blocked()[p.Device()].Code)
}

// The page with the invitation is lost and the one with the newcomer's log arrives:
// it is refused, and goes through when the invitation has come.
func TestWhatWasRefusedTooEarlyComesAgain(t *testing.T) {
	h := history(t)
	full, fresh := replica(t, h, h.Batches()...), memlog.NewReplica(h.ID)
	l := newLink(full, fresh)
	early := &wire.Message{Household: h.ID, Have: full.Vector(), Batches: h.Pens[3].Batches}
	require.NoError(t, l.peers[1].Take(ctx, fresh, early))
	require.Empty(t, fresh.Vector())
	l.talk(t, 20)
	require.Equal(t, digest(t, full), digest(t, fresh))
	require.Empty(t, l.peers[0].Blocked())
}

// A log whose inviter nobody has can never be taken in: the conversation ends all
// the same, and says so.
func TestALogOfNobodyEndsTheConversation(t *testing.T) {
	h := history(t)
	a, b := replica(t, h, h.Batches()...), memlog.NewReplica(h.ID)
	stuck := &lacking{Replica: a, without: h.Pens[0].Device()}
	var pa, pb exchange.Peer
	for range 12 {
		for _, turn := range []func() error{
			func() error { return pass(&pa, stuck, &pb, b) },
			func() error { return pass(&pb, b, &pa, stuck) },
		} {
			require.NoError(t, turn())
		}
	}
	require.True(t, pa.Settled(stuck))
	require.True(t, pb.Settled(b))
	require.Empty(t, b.Vector())
	require.Equal(t, fault.Code("invitation_invalid"), pa.Blocked()[h.Pens[1].Device()].Code)
}

// lacking hides one device's log.
type lacking struct {
	*memlog.Replica
	without model.DeviceID
}

func (r *lacking) Heads() map[model.DeviceID]oplog.Head {
	h := r.Replica.Heads()
	delete(h, r.without)
	return h
}

func pass(from *exchange.Peer, a exchange.Replica, to *exchange.Peer, b exchange.Replica) error {
	m, err := from.Next(ctx, a)
	if err != nil {
		return err
	}
	return to.Take(ctx, b, m)
}

func TestAnotherHouseholdIsRefused(t *testing.T) {
	h, other := history(t), mergetest.Found(t, "next door")
	var p exchange.Peer
	err := p.Take(ctx, replica(t, h), &wire.Message{Household: other.ID})
	require.ErrorIs(t, err, oplog.ErrHousehold)
	require.Nil(t, p.Theirs(), "nothing is learned from it")
}

var errDisk = errors.New("disk is gone")

// failing cannot keep anything.
type failing struct{ *memlog.Replica }

func (failing) Take(context.Context, []*oplog.Batch) ([]merge.Refusal, error) { return nil, errDisk }

func TestWhatCouldNotBeKeptIsNotAcknowledged(t *testing.T) {
	h := history(t)
	broken := failing{memlog.NewReplica(h.ID)}
	var p exchange.Peer
	require.ErrorIs(t, p.Take(ctx, broken, &wire.Message{Household: h.ID, Batches: h.Batches()}), errDisk)
	m, err := p.Next(ctx, broken)
	require.NoError(t, err)
	require.Empty(t, m.Have)
}
