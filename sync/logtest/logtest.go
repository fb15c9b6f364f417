// Package logtest is the conformance suite of oplog.Log. Every implementation
// runs it, in memory and on disk alike.
package logtest

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Pen writes a device's log for tests.
type Pen struct {
	Household model.HouseholdID
	Key       ed25519.PrivateKey

	tail   *oplog.Tail
	sealed oplog.Head
	open   [][]byte
	stamp  hlc.Stamp
}

// NewPen makes a pen whose key comes from the seed.
func NewPen(h model.HouseholdID, seed byte) *Pen {
	key := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{seed}, ed25519.SeedSize))
	tail := oplog.NewTail(h, model.DeviceIDOf(key.Public().(ed25519.PublicKey)))
	return &Pen{Household: h, Key: key, tail: tail, sealed: tail.Head(), stamp: hlc.Of(1_790_000_000_000, 0)}
}

// Device is the device that the pen writes as.
func (p *Pen) Device() model.DeviceID { return p.tail.Device() }

// Batch writes n clean looks at a plant and signs them.
func (p *Pen) Batch(t testing.TB, n int) *oplog.Batch {
	t.Helper()
	for range n {
		p.write(t, &model.Inspection{Plant: model.PlantID{byte(n)}})
	}
	return p.seal(t)
}

// Photos writes looks that name n photos and signs them: 32 bytes each that do not
// shrink when they are packed.
func (p *Pen) Photos(t testing.TB, n int) *oplog.Batch {
	t.Helper()
	sum := sha256.Sum256(p.Key)
	for n > 0 {
		photos := make([]model.PhotoSum, min(n, 8))
		for i := range photos {
			sum = sha256.Sum256(sum[:])
			photos[i] = sum
		}
		p.write(t, &model.Inspection{Plant: model.PlantID{1}, Photos: photos})
		n -= len(photos)
	}
	return p.seal(t)
}

func (p *Pen) write(t testing.TB, body model.Body) {
	t.Helper()
	p.stamp += 1 << 26
	ops, err := p.tail.Write(p.stamp, &model.Fact{At: 1_790_000_000_000, By: model.MemberID{1}, Body: body})
	require.NoError(t, err)
	p.open = append(p.open, ops...)
}

func (p *Pen) seal(t testing.TB) *oplog.Batch {
	t.Helper()
	b, err := p.tail.Seal(p.Key, p.sealed, p.open)
	require.NoError(t, err)
	p.sealed, p.open = p.tail.Head(), nil
	return b
}

// Store is what the suite tests. Open opens the log of a household and may be
// called again after Close, when everything appended must still be there. Close
// is nil for a log that lives in memory only.
type Store struct {
	Open  func(t *testing.T, h model.HouseholdID) oplog.Log
	Close func(t *testing.T)
}

// Run runs the suite. It proves, for every log:
//
//  1. what was appended is read back, byte for byte, in order, from any point;
//  2. appending again changes nothing;
//  3. a gap or a fork is refused, and nothing of that call is kept;
//  4. reading is paged by bytes and always makes progress;
//  5. households and devices do not see each other;
//  6. heads tell the truth, and it survives reopening;
//  7. concurrent appends of the same batches keep each once.
func Run(t *testing.T, fresh func(t *testing.T) Store) {
	h := model.HouseholdID(uuid.NewSHA1(uuid.NameSpaceOID, []byte("conformance")))
	ctx := context.Background()
	open := func(t *testing.T) (Store, oplog.Log) {
		s := fresh(t)
		return s, s.Open(t, h)
	}

	t.Run("reads back what was appended", func(t *testing.T) {
		_, log := open(t)
		p := NewPen(h, 1)
		a, b := p.Batch(t, 3), p.Batch(t, 2)
		require.NoError(t, log.Append(ctx, []*oplog.Batch{a}))
		require.NoError(t, log.Append(ctx, []*oplog.Batch{b}))
		for after := range b.Last() + 1 {
			want := []*oplog.Batch{a, b}
			if after >= a.Last() {
				want = want[1:]
			}
			if after >= b.Last() {
				want = nil
			}
			same(t, want, read(t, log, p.Device(), after))
		}
	})
	t.Run("appending again changes nothing", func(t *testing.T) {
		_, log := open(t)
		p := NewPen(h, 2)
		a, b := p.Batch(t, 3), p.Batch(t, 2)
		require.NoError(t, log.Append(ctx, []*oplog.Batch{a, b}))
		before := heads(t, log)
		require.NoError(t, log.Append(ctx, []*oplog.Batch{a, b}))
		require.NoError(t, log.Append(ctx, []*oplog.Batch{b}))
		same(t, []*oplog.Batch{a, b}, read(t, log, p.Device(), 0))
		require.Equal(t, before, heads(t, log))
	})
	t.Run("a gap or a fork keeps nothing", func(t *testing.T) {
		_, log := open(t)
		p, twin, other := NewPen(h, 3), NewPen(h, 3), NewPen(h, 4)
		a, b, c := p.Batch(t, 1), p.Batch(t, 1), p.Batch(t, 1)
		require.NoError(t, log.Append(ctx, []*oplog.Batch{a}))
		good := other.Batch(t, 1)
		require.ErrorIs(t, log.Append(ctx, []*oplog.Batch{good, c}), oplog.ErrGap)
		require.Empty(t, read(t, log, other.Device(), 0), "all or none")

		forked := twin.Batch(t, 3)
		require.ErrorIs(t, log.Append(ctx, []*oplog.Batch{good, forked}), oplog.ErrFork)
		require.Empty(t, read(t, log, other.Device(), 0), "all or none")
		equal := NewPen(h, 3).Photos(t, 1)
		require.Equal(t, a.Last(), equal.Last())
		require.ErrorIs(t, log.Append(ctx, []*oplog.Batch{good, equal}), oplog.ErrFork, "one of the same length is no repetition")
		require.Empty(t, read(t, log, other.Device(), 0), "all or none")
		require.NoError(t, log.Append(ctx, []*oplog.Batch{b, c, good}))
		same(t, []*oplog.Batch{a, b, c}, read(t, log, p.Device(), 0))
	})
	t.Run("pages make progress", func(t *testing.T) {
		_, log := open(t)
		p := NewPen(h, 5)
		var all []*oplog.Batch
		for range 7 {
			all = append(all, p.Batch(t, 20))
		}
		require.NoError(t, log.Append(ctx, all))
		var got []*oplog.Batch
		var after uint64
		for range len(all) + 1 {
			page, err := log.Read(ctx, p.Device(), after, 2*len(all[0].Encode()))
			require.NoError(t, err)
			require.LessOrEqual(t, len(page), 2)
			if len(page) == 0 {
				break
			}
			got = append(got, page...)
			after = page[len(page)-1].Last()
		}
		same(t, all, got)
		one, err := log.Read(ctx, p.Device(), 0, 1)
		require.NoError(t, err)
		require.Len(t, one, 1, "at least one")
	})
	t.Run("households and devices are apart", func(t *testing.T) {
		s, log := open(t)
		elsewhere := s.Open(t, model.HouseholdID(uuid.NewSHA1(uuid.NameSpaceOID, []byte("next door"))))
		p := NewPen(h, 6)
		require.NoError(t, log.Append(ctx, []*oplog.Batch{p.Batch(t, 1)}))
		require.Empty(t, read(t, elsewhere, p.Device(), 0))
		require.Empty(t, heads(t, elsewhere))
		require.Empty(t, read(t, log, NewPen(h, 7).Device(), 0))
	})
	t.Run("heads survive reopening", func(t *testing.T) {
		s, log := open(t)
		p, q := NewPen(h, 8), NewPen(h, 9)
		a, b, c := p.Batch(t, 2), q.Batch(t, 1), p.Batch(t, 4)
		require.NoError(t, log.Append(ctx, []*oplog.Batch{a, b}))
		require.NoError(t, log.Append(ctx, []*oplog.Batch{c}))
		want := map[model.DeviceID]oplog.Head{p.Device(): p.tail.Head(), q.Device(): q.tail.Head()}
		require.Equal(t, want, heads(t, log))
		if s.Close == nil {
			return
		}
		s.Close(t)
		log = s.Open(t, h)
		require.Equal(t, want, heads(t, log))
		same(t, []*oplog.Batch{a, c}, read(t, log, p.Device(), 0))
	})
	t.Run("concurrent appends keep each batch once", func(t *testing.T) {
		_, log := open(t)
		p := NewPen(h, 10)
		all := []*oplog.Batch{p.Batch(t, 1), p.Batch(t, 1), p.Batch(t, 1)}
		errs := make(chan error, 8)
		var wg sync.WaitGroup
		for range cap(errs) {
			wg.Go(func() { errs <- log.Append(ctx, all) })
		}
		wg.Wait()
		for range cap(errs) {
			require.NoError(t, <-errs)
		}
		same(t, all, read(t, log, p.Device(), 0))
	})
}

func read(t *testing.T, log oplog.Log, d model.DeviceID, after uint64) []*oplog.Batch {
	t.Helper()
	bs, err := log.Read(context.Background(), d, after, oplog.MaxBatchBytes)
	require.NoError(t, err)
	return bs
}

func heads(t *testing.T, log oplog.Log) map[model.DeviceID]oplog.Head {
	t.Helper()
	h, err := log.Heads(context.Background())
	require.NoError(t, err)
	return h
}

func same(t *testing.T, want, got []*oplog.Batch) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i].Encode(), got[i].Encode())
	}
}
