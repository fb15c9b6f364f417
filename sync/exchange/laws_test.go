package exchange_test

import (
	"context"
	"crypto/sha256"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/sync/exchange"
	"leafturn/sync/memlog"
	"leafturn/sync/merge"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
	"leafturn/sync/wire"
)

// joined is a replica that knows what two know who talked with each other.
func joined(t require.TestingT, a, b *memlog.Replica) *memlog.Replica {
	one, other := copied(t, a), copied(t, b)
	newLink(one, other).talk(t, 40)
	require.Equal(t, digest(t, one), digest(t, other))
	return one
}

func copied(t require.TestingT, r *memlog.Replica) *memlog.Replica {
	c := memlog.NewReplica(r.Household())
	refused, err := c.Take(ctx, all(t, r))
	require.NoError(t, err)
	require.Empty(t, refused)
	return c
}

// Bringing replicas together is a join: in which order, in which groups and how often
// they talk makes no difference.
func TestTalkingIsCommutativeAssociativeAndIdempotent(t *testing.T) {
	h := history(t)
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := scattered(t, h, "a"), scattered(t, h, "b"), scattered(t, h, "c")
		require.Equal(t, digest(t, joined(t, a, b)), digest(t, joined(t, b, a)), "commutative")
		require.Equal(t, digest(t, joined(t, joined(t, a, b), c)), digest(t, joined(t, a, joined(t, b, c))), "associative")
		require.Equal(t, digest(t, a), digest(t, joined(t, a, a)), "idempotent")
	})
}

// counting counts the bytes of the batches it is given.
type counting struct {
	*memlog.Replica
	bytes int
}

func (r *counting) Take(ctx context.Context, batches []*oplog.Batch) ([]merge.Refusal, error) {
	for _, b := range batches {
		r.bytes += len(b.Encode())
	}
	return r.Replica.Take(ctx, batches)
}

// A conversation that breaks off after any page goes on, by people who remember
// nothing of it, where it broke: no page that arrived is sent again.
func TestABrokenConversationGoesOnWhereItBroke(t *testing.T) {
	h := pages(t)
	full := replica(t, h, h.Batches()...)
	want := 0
	for _, b := range h.Batches() {
		want += len(b.Encode())
	}
	fresh := &counting{Replica: memlog.NewReplica(h.ID)}
	rounds := 0
	for ; !fresh.Vector().Equal(full.Vector()); rounds++ {
		require.Less(t, rounds, 10)
		ours, theirs := &exchange.Peer{}, &exchange.Peer{} // both have started anew
		require.NoError(t, pass(ours, fresh, theirs, full))
		require.NoError(t, pass(theirs, full, ours, fresh))
	}
	require.Greater(t, rounds, 3)
	require.Equal(t, want, fresh.bytes, "nothing was sent twice")
	require.Equal(t, digest(t, full), digest(t, fresh.Replica))
}

// Several messages are on the way at once, made before the first was answered, and
// arrive in any order: what comes twice is kept once.
func TestMessagesInFlightMayOverlap(t *testing.T) {
	h := pages(t)
	r := rand.New(rand.NewPCG(1, 2))
	for range 6 {
		full, fresh := replica(t, h, h.Batches()[:8]...), memlog.NewReplica(h.ID)
		l := newLink(full, fresh)
		l.speak(t, 1)
		l.hear(t, l.air[0])
		l.air = nil
		for range 2 + r.IntN(3) {
			l.speak(t, 0)
			l.speak(t, 1)
		}
		for len(l.air) > 0 {
			i := r.IntN(len(l.air))
			l.hear(t, l.air[i])
			l.drop(i)
		}
		l.talk(t, 20)
		require.Equal(t, digest(t, full), digest(t, fresh))
		require.Equal(t, all(t, full), all(t, fresh))
	}
}

// However its log is cut into batches, a page never holds more than a page and the
// batch that ran over, and a message is never too large to be sent.
func TestPagesAreBoundedByBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := mergetest.Found(t, "bounded")
		p := h.Pens[0]
		largest := 0
		sum := sha256.Sum256(nil)
		for range rapid.IntRange(1, 12).Draw(t, "batches") {
			for range rapid.IntRange(1, 300).Draw(t, "looks") {
				photos := make([]model.PhotoSum, 16)
				for i := range photos {
					sum = sha256.Sum256(sum[:])
					photos[i] = sum
				}
				p.Fact(t, &model.Inspection{Plant: model.PlantID{1}, Photos: photos})
			}
			largest = max(largest, len(p.Seal(t).Encode()))
		}
		full, peer := replica(t, h, h.Batches()...), &exchange.Peer{}
		have := oplog.Vector{}
		for more := true; more; {
			require.NoError(t, peer.Take(ctx, full, &wire.Message{Household: h.ID, Have: have}))
			m, err := peer.Next(ctx, full)
			require.NoError(t, err)
			data, err := m.Encode()
			require.NoError(t, err)
			require.LessOrEqual(t, len(data), 512<<10+largest+1000)
			require.LessOrEqual(t, len(data), wire.MaxMessageBytes)
			require.NotEmpty(t, m.Batches, "every page makes progress")
			have[p.Device()], more = m.Batches[len(m.Batches)-1].Last(), m.More
		}
		require.Equal(t, full.Vector(), have)
	})
}
