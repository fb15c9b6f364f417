package replica_test

import (
	"bytes"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

// withSnapshot gives a phone that has a snapshot, some signed operations after it
// and some unsigned ones after those.
func withSnapshot(t *testing.T) (*fakeServer, *phone) {
	s, _, a, b := pair(t)
	for i := range 600 {
		a.do(t, look(fmt.Sprint(i)))
	}
	a.do(t, named("Fern"))
	a.sync(t)
	snapshot, err := a.vault.Snapshot(ctx)
	require.NoError(t, err)
	require.NotEmpty(t, snapshot)
	b.sync(t)
	b.do(t, named("Fern by the door"))
	b.sync(t)
	a.do(t, look("signed"))
	a.sync(t)
	a.do(t, look("unsigned"), named("Fern in the bath"))
	return s, a
}

func TestOpensFromSnapshotAndTail(t *testing.T) {
	_, a := withSnapshot(t)
	want := a.digest(t)
	counting := &brokenVault{Vault: a.vault}
	a.vault = counting
	a.reopen(t)
	require.Equal(t, want, a.digest(t))
	fromSnapshot := counting.reads

	require.NoError(t, a.vault.SaveSnapshot(ctx, nil))
	counting.reads = 0
	a.reopen(t)
	require.Equal(t, want, a.digest(t), "a full fold gives the same")
	require.Less(t, fromSnapshot, counting.reads, "the snapshot spares reading what it holds")
	require.Equal(t, "Fern in the bath", nameOf(a))
	require.Len(t, notes(a), 602)
}

func TestUselessSnapshotIsIgnored(t *testing.T) {
	s, a := withSnapshot(t)
	want := a.digest(t)
	good, err := a.vault.Snapshot(ctx)
	require.NoError(t, err)
	damaged := map[string][]byte{
		"empty": {}, "short": good[:10], "cut": good[:len(good)-1], "longer": append(slices.Clone(good), 0), "of another household": snapshotOf(t, 9, 600), "of another history": snapshotOf(t, 1, 600),
		"of another history, shorter": snapshotOf(t, 1, 500),
	}
	for _, at := range []int{0, 31, 32, 33, 100, len(good) / 2, len(good) - 1} {
		flipped := bytes.Clone(good)
		flipped[at] ^= 0x10
		damaged[fmt.Sprint("a bit flipped at ", at)] = flipped
	}
	for name, data := range damaged {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, a.vault.SaveSnapshot(ctx, data))
			a.reopen(t)
			require.Equal(t, want, a.digest(t))
		})
	}
	a.sync(t)
	requireSame(t, s, a)
}

// snapshotOf makes the snapshot of a phone with the key of a seed.
func snapshotOf(t *testing.T, seed byte, looks int) []byte {
	snapshot, err := synced(t, seed, looks, "elsewhere").vault.Snapshot(ctx)
	require.NoError(t, err)
	require.NotEmpty(t, snapshot)
	return snapshot
}

// synced makes a phone with the key of a seed that has written and sent some looks.
func synced(t *testing.T, seed byte, looks int, note string) *phone {
	c := newClock()
	p := newPhone(newFakeServer(c.now), c, seed)
	r, err := replica.Found(ctx, p.vault, p.opts, replica.Start{Household: "Elsewhere", Setup: p.line.server.setupToken})
	require.NoError(t, err)
	p.use(r)
	require.NoError(t, p.Announce(ctx, p.server))
	for range looks {
		p.do(t, look(note))
	}
	p.sync(t)
	return p
}

// TestSnapshotAheadOfTheLog: the log decides, because it is what was signed.
func TestSnapshotAheadOfTheLog(t *testing.T) {
	_, a := withSnapshot(t)
	young := newPhone(a.line.server, newClock(), 1)
	id, err := a.vault.Identity(ctx)
	require.NoError(t, err)
	first, err := a.vault.Read(ctx, a.Device(), 0, 1)
	require.NoError(t, err)
	require.NoError(t, young.vault.Begin(ctx, replica.Beginning{Identity: *id, First: first[0]}))
	ahead, err := a.vault.Snapshot(ctx)
	require.NoError(t, err)
	require.NoError(t, young.vault.SaveSnapshot(ctx, ahead))
	young.reopen(t)
	require.Empty(t, notes(young))
	require.Equal(t, oplog.Vector{a.Device(): first[0].Last()}, young.Vector())
	young.sync(t)
	require.Len(t, notes(young), 601)
}

// TestDamagedLogIsNotOpenedShorter: a phone that read less of its own log than it
// has signed would write the same numbers twice.
func TestDamagedLogIsNotOpenedShorter(t *testing.T) {
	for _, c := range []struct {
		name   string
		damage func([]*oplog.Batch) []*oplog.Batch
		want   error
	}{
		{"missing", func([]*oplog.Batch) []*oplog.Batch { return nil }, oplog.ErrGap},
		{"a bit flipped", func(bs []*oplog.Batch) []*oplog.Batch {
			for i, b := range bs {
				if b.First == 1 {
					continue // it says who the phone is
				}
				ops := bytes.Clone(b.Ops)
				ops[len(ops)-1] ^= 1
				bs[i] = &oplog.Batch{Device: b.Device, First: b.First, Count: b.Count, Prev: b.Prev, Ops: ops, Sig: b.Sig}
			}
			return bs
		}, oplog.ErrSignature},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, a, _ := pair(t)
			a.do(t, look("clean"))
			a.sync(t)
			_, err := replica.Open(ctx, &brokenVault{Vault: a.vault, batches: c.damage}, a.opts)
			require.ErrorIs(t, err, c.want)
		})
	}
}

// TestADamagedTailIsNotTaken: signatures of what came after the snapshot are not verified
// again, so only where the log ends tells that the disk gives something else. Then all is
// read from the beginning, with its signatures, and refused.
func TestADamagedTailIsNotTaken(t *testing.T) {
	_, a := withSnapshot(t)
	notes := []string{"in the middle", "at the end"}
	for _, note := range notes {
		a.do(t, look(note))
		a.sync(t)
	}
	for _, note := range notes {
		t.Run(note, func(t *testing.T) {
			damaged := 0
			damage := func(bs []*oplog.Batch) []*oplog.Batch {
				for i, b := range bs {
					if at := bytes.Index(b.Ops, []byte(note)); at >= 0 {
						ops := bytes.Clone(b.Ops)
						ops[at] ^= 1 // another note, well formed
						bs[i] = &oplog.Batch{Device: b.Device, First: b.First, Count: b.Count, Prev: b.Prev, Ops: ops, Sig: b.Sig}
						damaged++
					}
				}
				return bs
			}
			_, err := replica.Open(ctx, &brokenVault{Vault: a.vault, batches: damage}, a.opts)
			require.ErrorIs(t, err, oplog.ErrSignature)
			require.Greater(t, damaged, 1, "it was read after the snapshot, and again from the beginning")
		})
	}
}

// TestPendingSurvivesEverywhere kills the phone after each write, before and after
// each sync.
func TestPendingSurvivesEverywhere(t *testing.T) {
	s, _, a, b := pair(t)
	var want []string
	for i := range 20 {
		note := fmt.Sprint("look ", i)
		want = append(want, note)
		ids := a.do(t, look(note))
		a.reopen(t)
		require.Equal(t, want, notes(a))
		a.Read(func(book *model.Book) {
			_, ok := book.Fact(ids[0])
			require.True(t, ok)
		})
		require.Positive(t, a.Status().Unsent)
		if i%3 == 0 {
			a.line.fates = []fate{fate(i) % fates}
			_ = a.Sync(ctx, a.server) // whatever becomes of it
			a.line.fates = nil
			a.reopen(t)
			require.Equal(t, want, notes(a))
		}
	}
	a.sync(t)
	b.sync(t)
	require.Equal(t, want, notes(b))
	requireSame(t, s, a, b)
}
