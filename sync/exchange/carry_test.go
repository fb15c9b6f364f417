package exchange_test

import (
	"bytes"
	"encoding/binary"
	"io"
	"math/rand/v2"
	"testing"
	"testing/iotest"

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

func packed(t require.TestingT, r exchange.Replica, theirs oplog.Vector) []byte {
	var file bytes.Buffer
	require.NoError(t, exchange.Pack(ctx, &file, r, theirs))
	return file.Bytes()
}

func unpack(t require.TestingT, r exchange.Replica, data []byte) oplog.Vector {
	theirs, refused, err := exchange.Unpack(ctx, bytes.NewReader(data), r)
	require.NoError(t, err)
	require.Empty(t, refused)
	return theirs
}

// Two files, there and back, do what a conversation does.
func TestAFileThereAndOneBackAreAConversation(t *testing.T) {
	h := history(t)
	rapid.Check(t, func(t *rapid.T) {
		a, b := scattered(t, h, "a"), scattered(t, h, "b")
		both := memlog.NewReplica(h.ID)
		_, err := both.Take(ctx, append(all(t, a), all(t, b)...))
		require.NoError(t, err)
		theirs, _, err := exchange.Unpack(ctx, bytes.NewReader(packed(t, a, nil)), b)
		require.NoError(t, err)
		require.True(t, theirs.Equal(a.Vector()))
		_, _, err = exchange.Unpack(ctx, bytes.NewReader(packed(t, b, theirs)), a)
		require.NoError(t, err)
		require.Equal(t, digest(t, both), digest(t, a))
		require.Equal(t, digest(t, both), digest(t, b))
	})
}

func all(t require.TestingT, r *memlog.Replica) []*oplog.Batch {
	var out []*oplog.Batch
	for _, d := range r.Devices() {
		batches, err := r.Read(ctx, d, 0, 1<<30)
		require.NoError(t, err)
		out = append(out, batches...)
	}
	return out
}

func TestAFileHoldsWhatTheOtherLacks(t *testing.T) {
	h := history(t)
	a, fresh := replica(t, h, h.Batches()...), memlog.NewReplica(h.ID)
	file := packed(t, a, nil)
	require.Equal(t, file, packed(t, a, oplog.Vector{}), "the same twice")
	unpack(t, fresh, file)
	require.Equal(t, digest(t, a), digest(t, fresh))
	unpack(t, fresh, file)
	require.Equal(t, digest(t, a), digest(t, fresh), "reading it again changes nothing")
	require.Less(t, len(packed(t, a, fresh.Vector())), 400, "nothing is left to carry")
}

func TestALongHistoryIsCarriedInManyMessages(t *testing.T) {
	h := pages(t)
	full, fresh := replica(t, h, h.Batches()...), memlog.NewReplica(h.ID)
	file := packed(t, full, nil)
	require.Greater(t, len(file), 3*exchange.PageBytes)
	_, _, err := exchange.Unpack(ctx, iotest.HalfReader(bytes.NewReader(file)), fresh)
	require.NoError(t, err)
	require.Equal(t, digest(t, full), digest(t, fresh))
}

// A file that is cut or damaged anywhere gives what stands before the damage, and
// says that it is not whole; a whole one afterwards brings the rest.
func TestADamagedFileGivesWhatItCan(t *testing.T) {
	h := pages(t)
	full := replica(t, h, h.Batches()...)
	file := packed(t, full, nil)
	r := rand.New(rand.NewPCG(1, 1))
	for i := range 8 {
		at := r.IntN(len(file))
		bad := bytes.Clone(file[:at])
		if i%2 == 0 {
			bad = bytes.Clone(file)
			bad[at] ^= 1 << r.IntN(8)
		}
		some := memlog.NewReplica(h.ID)
		_, refused, err := exchange.Unpack(ctx, bytes.NewReader(bad), some)
		if err == nil {
			require.NotEmpty(t, refused, "damage is never passed over")
		} else {
			require.NotEmpty(t, fault.CodeOf(err), "%v", err)
		}
		unpack(t, some, file)
		require.Equal(t, digest(t, full), digest(t, some))
	}
}

func TestWhatIsNoHandOverFileIsRefused(t *testing.T) {
	h := history(t)
	file := packed(t, replica(t, h), nil)
	head := bytes.IndexByte(file, '\n') + 1
	newer := bytes.Clone(file)
	newer[head-2]++
	huge := binary.BigEndian.AppendUint32(bytes.Clone(file[:head]), wire.MaxMessageBytes+1)
	tests := map[string]struct {
		data []byte
		code fault.Code
	}{
		"nothing":          {nil, "file_foreign"},
		"a photo":          {bytes.Repeat([]byte{0xff, 0xd8}, 100), "file_foreign"},
		"a newer version":  {newer, "message_version_unknown"},
		"the head alone":   {file[:head], "file_damaged"},
		"a giant message":  {huge, "file_damaged"},
		"no end":           {file[:len(file)-33], "file_damaged"},
		"half an end":      {file[:len(file)-1], "file_damaged"},
		"next door's file": {packed(t, replica(t, mergetest.Found(t, "next door")), nil), "household_foreign"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			r := replica(t, h)
			_, _, err := exchange.Unpack(ctx, bytes.NewReader(test.data), r)
			require.Equal(t, test.code, fault.CodeOf(err), "%v", err)
			require.Empty(t, r.Vector())
		})
	}
}

func TestATroubledDiskEndsTheFile(t *testing.T) {
	h := history(t)
	file := packed(t, replica(t, h, h.Batches()...), nil)
	_, _, err := exchange.Unpack(ctx, bytes.NewReader(file), failing{memlog.NewReplica(h.ID)})
	require.ErrorIs(t, err, errDisk)
	_, _, err = exchange.Unpack(ctx, io.MultiReader(bytes.NewReader(file[:100]), iotest.ErrReader(errDisk)), memlog.NewReplica(h.ID))
	require.ErrorIs(t, err, errDisk)
}

// A second history under the same numbers is named, and holds nothing else up.
func TestAFileNamesWhatWasRefused(t *testing.T) {
	h := history(t)
	p := h.Pens[1]
	clone := twin(t, h, p)
	before := h.Batches()
	p.Fact(t, &model.Inspection{Plant: model.PlantID{1}})
	clone.Fact(t, &model.Inspection{Plant: model.PlantID{2}})
	clone.Fact(t, &model.Inspection{Plant: model.PlantID{3}})
	one, other := p.Seal(t), clone.Seal(t)
	a, b := replica(t, h, append(before, other)...), replica(t, h, append(before, one)...)
	_, refused, err := exchange.Unpack(ctx, bytes.NewReader(packed(t, a, nil)), b)
	require.NoError(t, err)
	require.Len(t, refused, 1)
	require.Equal(t, p.Device(), refused[0].Device)
	require.Equal(t, fault.Code("log_forked"), refused[0].Code)
}

func TestGoldenFile(t *testing.T) {
	h := mergetest.Found(t, "carried")
	now := packed(t, replica(t, h, h.Batches()...), nil)
	golden := mergetest.Golden(t, "hand-over.v1.leafturn", now)
	require.Equal(t, golden, now, "the form of a released version must not change")
	r := memlog.NewReplica(h.ID)
	unpack(t, r, golden)
	require.Equal(t, whole(t, h), digest(t, r))
}

// FuzzUnpack feeds hostile bytes to the reader of files: no panic, and what it takes
// in has passed the same checks as everything else.
func FuzzUnpack(f *testing.F) {
	h := history(f)
	file := packed(f, replica(f, h, h.Batches()...), nil)
	f.Add(file)
	f.Add(file[:len(file)/2])
	f.Add(packed(f, memlog.NewReplica(h.ID), nil))
	f.Fuzz(func(t *testing.T, data []byte) {
		r := memlog.NewReplica(h.ID)
		_, _, err := exchange.Unpack(ctx, bytes.NewReader(data), r)
		if err != nil {
			require.NotEmpty(t, fault.CodeOf(err), "%v", err)
		}
		st := merge.New(h.ID)
		require.Empty(t, st.Apply(all(t, r)...))
	})
}
