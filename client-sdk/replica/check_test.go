package replica_test

import (
	"encoding/binary"
	"fmt"
	"hash/crc64"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/sync/oplog"
)

// alter rewrites the values of a snapshot and makes its sum fit again, as a fault in
// this program could.
func alter(t *testing.T, p *phone, change func(v any) any) {
	data, err := p.vault.Snapshot(ctx)
	require.NoError(t, err)
	var v any
	require.NoError(t, cbor.Unmarshal(data[crc64.Size:], &v))
	mode, err := cbor.CoreDetEncOptions().EncMode()
	require.NoError(t, err)
	now, err := mode.Marshal(everywhere(v, change))
	require.NoError(t, err)
	require.NotEqual(t, data[crc64.Size:], now, "nothing was altered")
	require.NoError(t, p.vault.SaveSnapshot(ctx, underSum(now)))
}

// underSum puts the sum before a snapshot that a sound one has.
func underSum(snapshot []byte) []byte {
	sum := binary.BigEndian.AppendUint64(nil, crc64.Checksum(snapshot, crc64.MakeTable(crc64.ECMA)))
	return append(sum, snapshot...)
}

func everywhere(v any, change func(any) any) any {
	if list, ok := v.([]any); ok {
		for i := range list {
			list[i] = everywhere(list[i], change)
		}
		return list
	}
	return change(v)
}

// replaced puts a text in place of another.
func replaced(old, now string) func(any) any {
	return func(v any) any {
		if v == old {
			return now
		}
		return v
	}
}

func TestASoundSnapshotIsCheckedOnce(t *testing.T) {
	_, a := withSnapshot(t)
	want := a.digest(t)
	counting := &brokenVault{Vault: a.vault}
	a.vault = counting
	a.reopen(t)
	opened := counting.reads
	require.NoError(t, a.CheckSnapshot(ctx))
	require.Greater(t, counting.reads, opened, "the log was read")
	require.Equal(t, want, a.digest(t))

	read := counting.reads
	require.NoError(t, a.CheckSnapshot(ctx))
	require.Equal(t, read, counting.reads)
	a.reopen(t)
	read = counting.reads
	require.NoError(t, a.CheckSnapshot(ctx))
	require.Equal(t, read, counting.reads, "it was found sound before")
}

func TestAnAlteredSnapshotIsMadeAnew(t *testing.T) {
	for name, change := range map[string]func(any) any{
		"one register": replaced("Fern", "Palm"),
		"the notes of facts": func(v any) any {
			if s, ok := v.(string); ok && len(s) > 100 {
				return "x" + s[1:]
			}
			return v
		},
	} {
		t.Run(name, func(t *testing.T) {
			s, a := withSnapshot(t)
			want := a.digest(t)
			alter(t, a, change)
			altered, err := a.vault.Snapshot(ctx)
			require.NoError(t, err)
			a.reopen(t)
			require.NotEqual(t, want, a.digest(t), "nobody notices when it is opened")

			require.ErrorIs(t, a.CheckSnapshot(ctx), replica.ErrSnapshot)
			require.Equal(t, want, a.digest(t))
			require.Equal(t, "Fern in the bath", nameOf(a))
			kept, err := a.vault.Snapshot(ctx)
			require.NoError(t, err)
			require.NotEqual(t, altered, kept)
			require.Empty(t, kept, "only what is signed is put away")
			require.NoError(t, a.CheckSnapshot(ctx), "the log was read from its beginning")

			a.do(t, look("afterwards"))
			a.sync(t)
			requireSame(t, s, a)
			kept, err = a.vault.Snapshot(ctx)
			require.NoError(t, err)
			require.NotEmpty(t, kept)
			a.reopen(t)
			require.NoError(t, a.CheckSnapshot(ctx), "the snapshot made from it is sound")
		})
	}
}

// TestASnapshotOfAnotherLogIsNotTakenUp: its heads are not those of the log, whether or
// not it is as long.
func TestASnapshotOfAnotherLogIsNotTakenUp(t *testing.T) {
	for name, looks := range map[string]int{"as long": 600, "longer": 700, "shorter": 500} {
		t.Run(name, func(t *testing.T) {
			p := synced(t, 1, 600, "here")
			want := p.digest(t)
			require.NoError(t, p.vault.SaveSnapshot(ctx, snapshotOf(t, 1, looks)))
			p.reopen(t)
			require.Equal(t, want, p.digest(t))
			require.NoError(t, p.CheckSnapshot(ctx), "the log was read from its beginning")
			require.NotContains(t, notes(p), "elsewhere")
		})
	}
}

// TestTheCheckGoesOnWhileThePhoneIsUsed: what is written, sent and taken in while the
// check reads is no difference.
func TestTheCheckGoesOnWhileThePhoneIsUsed(t *testing.T) {
	s, _, a, b := pair(t)
	for i := range 3 {
		a.do(t, look(fmt.Sprint("early ", i)))
	}
	writeMany(t, b, 2, 300)
	a.sync(t)
	busy := &brokenVault{Vault: a.vault}
	a.vault = busy
	a.reopen(t)
	used := 0
	var meanwhile func(bs []*oplog.Batch) []*oplog.Batch
	meanwhile = func(bs []*oplog.Batch) []*oplog.Batch {
		busy.batches = nil // what a sync reads is as it is
		a.do(t, look(fmt.Sprint("meanwhile ", used)))
		b.do(t, look(fmt.Sprint("by the other ", used)))
		b.sync(t)
		if used%2 == 0 {
			a.sync(t)
		}
		if used++; used < 6 {
			busy.batches = meanwhile
		}
		return bs
	}
	busy.batches = meanwhile
	require.NoError(t, a.CheckSnapshot(ctx))
	require.Equal(t, 6, used)
	a.sync(t)
	b.sync(t)
	requireSame(t, s, a, b)
}

// TestThePhoneIsUsedWhileAnAlteredSnapshotIsMadeAnew: what is written, sent and taken in
// while the log is read again is in the new state.
func TestThePhoneIsUsedWhileAnAlteredSnapshotIsMadeAnew(t *testing.T) {
	s, a := withSnapshot(t)
	alter(t, a, replaced("Fern", "Palm"))
	busy := &brokenVault{Vault: a.vault}
	a.vault = busy
	a.reopen(t)
	wrong, before := a.digest(t), len(notes(a))
	used := 0
	var meanwhile func(bs []*oplog.Batch) []*oplog.Batch
	meanwhile = func(bs []*oplog.Batch) []*oplog.Batch {
		busy.batches = nil // what a sync reads is as it is
		if bs[0].First == 1 && bs[0].Device == a.Device() {
			used++ // first when the snapshot is compared, then when the log is read again
			a.do(t, look(fmt.Sprint("meanwhile ", used)))
			if used == 2 {
				a.sync(t)
			}
		}
		if used < 2 {
			busy.batches = meanwhile
		}
		return bs
	}
	busy.batches = meanwhile
	require.ErrorIs(t, a.CheckSnapshot(ctx), replica.ErrSnapshot)
	require.Equal(t, 2, used)
	require.NotEqual(t, wrong, a.digest(t))
	require.Len(t, notes(a), before+2)
	a.sync(t)
	requireSame(t, s, a)
	require.NoError(t, a.CheckSnapshot(ctx))
}

// TestADamagedOldLogIsTold: the phone goes on with what it opened from, which may be all
// that it has.
func TestADamagedOldLogIsTold(t *testing.T) {
	_, a := withSnapshot(t)
	want := a.digest(t)
	a.vault = &brokenVault{Vault: a.vault}
	a.reopen(t)
	a.vault.(*brokenVault).batches = func(bs []*oplog.Batch) []*oplog.Batch {
		var out []*oplog.Batch
		for _, b := range bs {
			ops := append([]byte{}, b.Ops...)
			ops[len(ops)-1] ^= 1
			out = append(out, &oplog.Batch{Device: b.Device, First: b.First, Count: b.Count, Prev: b.Prev, Ops: ops, Sig: b.Sig})
		}
		return out
	}
	require.ErrorIs(t, a.CheckSnapshot(ctx), replica.ErrOldLog)
	require.Equal(t, want, a.digest(t))
	kept, err := a.vault.Snapshot(ctx)
	require.NoError(t, err)
	require.NotEmpty(t, kept)
}

// TestALogThatEndsTooEarlyIsNotSound: what the vault has lost was not compared.
func TestALogThatEndsTooEarlyIsNotSound(t *testing.T) {
	_, a := withSnapshot(t)
	want := a.digest(t)
	broken := &brokenVault{Vault: a.vault}
	a.vault = broken
	a.reopen(t)
	broken.batches = func([]*oplog.Batch) []*oplog.Batch { return nil }
	require.ErrorIs(t, a.CheckSnapshot(ctx), replica.ErrOldLog)
	require.Equal(t, want, a.digest(t))
	broken.batches = nil
	require.NoError(t, a.CheckSnapshot(ctx), "it is compared another time")
}
