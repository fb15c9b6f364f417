package oplog_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// split cuts a CBOR sequence into its items.
func split(t *testing.T, data []byte) [][]byte {
	t.Helper()
	var out [][]byte
	for len(data) > 0 {
		var raw cbor.RawMessage
		rest, err := cbor.UnmarshalFirst(data, &raw)
		require.NoError(t, err)
		out, data = append(out, data[:len(data)-len(rest)]), rest
	}
	return out
}

// Every kind of operation has a golden file: the operation as the first of a log,
// after the define operation that it needs.
func TestGoldenOperations(t *testing.T) {
	for name, body := range bodies(newPen(1)) {
		t.Run(name, func(t *testing.T) {
			p := newPen(1)
			p.write(t, body)
			now := slices.Concat(p.open...)
			golden := mergetest.Golden(t, "op-"+strings.ReplaceAll(name, " ", "-")+".v1.cbor", now)
			require.Equal(t, golden, now, "the form of a released version must not change")

			reader := oplog.NewTail(p.household, p.tail.Device())
			var last *oplog.Op
			for _, op := range split(t, golden) {
				var err error
				last, err = reader.Replay(op)
				require.NoError(t, err)
			}
			require.Equal(t, p.tail.Head(), reader.Head())
			if want, ok := body.(*model.Fact); ok {
				full := *want
				full.ID, full.Stamp = last.ID, uint64(last.Stamp)
				body = &full
			}
			require.Equal(t, body, last.Body)
		})
	}
}

func TestGoldenDefine(t *testing.T) {
	p := newPen(1)
	p.write(t, bodies(p)["claim"])
	golden := mergetest.Golden(t, "op-define.v1.cbor", p.open[0])
	require.Equal(t, golden, p.open[0])
	op, err := oplog.NewTail(p.household, p.tail.Device()).Replay(golden)
	require.NoError(t, err)
	require.Len(t, op.Body.(*oplog.Define).IDs, 2, "the member and the subject of the task")
}

// Batches are packed by whatever the Go release makes of DEFLATE, so only a batch
// that is too small to be packed is compared byte for byte; of a packed one, what it
// holds.
func TestGoldenBatches(t *testing.T) {
	p := newPen(1)
	p.write(t, &oplog.Found{Key: p.public()})
	small := p.seal(t)
	for _, name := range []string{"inspection", "application", "plan", "withdrawn"} {
		p.write(t, bodies(p)[name])
	}
	large := p.seal(t)

	reader := oplog.NewTail(p.household, p.tail.Device())
	for _, want := range []struct {
		file  string
		batch *oplog.Batch
	}{{"batch-plain.v1.cbor", small}, {"batch-packed.v1.cbor", large}} {
		golden := mergetest.Golden(t, want.file, want.batch.Encode())
		if want.batch == small {
			require.Equal(t, golden, small.Encode())
		}
		got, err := oplog.DecodeBatch(golden)
		require.NoError(t, err)
		require.Equal(t, want.batch.Ops, got.Ops)
		require.Equal(t, want.batch.Prev, got.Prev)
		require.Equal(t, want.batch.Sig, got.Sig)
		_, next, err := reader.Read(p.public(), got)
		require.NoError(t, err)
		reader = next
	}
	require.Equal(t, p.tail.Head(), reader.Head())
}
