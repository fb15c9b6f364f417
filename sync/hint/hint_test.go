package hint_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/sync/hint"
	"leafturn/sync/oplog"
)

func heads() map[model.DeviceID]oplog.Head {
	return map[model.DeviceID]oplog.Head{{1}: {Seq: 5, Hash: oplog.Hash{7}}, {2}: {Seq: 9, Hash: oplog.Hash{8}}}
}

func TestMark(t *testing.T) {
	mark := hint.Of(heads())
	require.Regexp(t, "^[0-9a-f]{32}$", string(mark))
	require.Equal(t, mark, hint.Of(maps.Clone(heads())))
	cases := []struct {
		name   string
		change func(map[model.DeviceID]oplog.Head)
		same   bool
	}{
		{"a log that has grown", func(h map[model.DeviceID]oplog.Head) { h[model.DeviceID{1}] = oplog.Head{Seq: 6, Hash: oplog.Hash{7}} }, false},
		{"another history of the same length", func(h map[model.DeviceID]oplog.Head) { h[model.DeviceID{1}] = oplog.Head{Seq: 5, Hash: oplog.Hash{9}} }, false},
		{"a further log", func(h map[model.DeviceID]oplog.Head) { h[model.DeviceID{3}] = oplog.Head{Seq: 1} }, false},
		{"the log of another device", func(h map[model.DeviceID]oplog.Head) {
			h[model.DeviceID{3}] = h[model.DeviceID{2}]
			delete(h, model.DeviceID{2})
		}, false},
		{"a lost log", func(h map[model.DeviceID]oplog.Head) { delete(h, model.DeviceID{2}) }, false},
		{"a log of which nothing is known", func(h map[model.DeviceID]oplog.Head) { h[model.DeviceID{3}] = oplog.Head{Hash: oplog.Hash{4}} }, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			h := heads()
			c.change(h)
			require.Equal(t, c.same, hint.Of(h) == mark)
		})
	}
}

// A mark is what FORMAT.md says that it is.
func TestMarkByTheWrittenRule(t *testing.T) {
	said, all := []byte("leafturn mark v1\n"), heads()
	for _, d := range []model.DeviceID{{1}, {2}} {
		hash := all[d].Hash
		said = slices.Concat(said, d[:], binary.BigEndian.AppendUint64(nil, all[d].Seq), hash[:])
	}
	sum := sha256.Sum256(said)
	require.Equal(t, hex.EncodeToString(sum[:16]), string(hint.Of(all)))
}

func TestReader(t *testing.T) {
	cases := []struct {
		name, stream string
		want         []hint.Mark
	}{
		{"events and heartbeats", ":\n\nid: a\ndata: changed\n\n:\n\nid: b\ndata: changed\n\n", []hint.Mark{"a", "b"}},
		{"other line ends", "id: a\r\ndata: x\r\n\r\nid: b\rdata: x\r\r", []hint.Mark{"a", "b"}},
		{"an event without data is none", "id: a\n\n", nil},
		{"an event without an id repeats the last", "id: a\ndata\n\ndata\n\n", []hint.Mark{"a", "a"}},
		{"an event that is cut off is none", "id: a\ndata: changed\n", nil},
		{"unknown fields", "event: x\nretry: 5\nfoo\nid:a\ndata:y\n\n", []hint.Mark{"a"}},
		{"an id with a zero byte", "id: a\ndata: x\n\nid: b\x00\ndata: x\n\n", []hint.Mark{"a", "a"}},
		{"data that is longer than any line", "id: a\ndata: " + strings.Repeat("x", 2000) + "\n\ndata: x\n\n", []hint.Mark{"a"}},
		{"a line without end", "id: a\n" + strings.Repeat("data", 1000) + "\n\ndata: x\n\n", []hint.Mark{"a"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var r hint.Reader
			require.Equal(t, c.want, r.Take([]byte(c.stream)))
		})
	}
}

func TestReaderHearsWhenToComeBack(t *testing.T) {
	cases := map[string]time.Duration{
		string(hint.Retry(200 * time.Millisecond)): 200 * time.Millisecond,
		"retry: 1\nretry: 5\n":                     5 * time.Millisecond,
		"retry: 7\nretry: soon\n":                  7 * time.Millisecond,
		"retry: -5\n":                              0,
		"retry: 99999999999999999999\n":            0,
		"retry: 5":                                 0,
	}
	for stream, want := range cases {
		var r hint.Reader
		require.Empty(t, r.Take([]byte(stream)))
		require.Equal(t, want, r.Retry, "%q", stream)
	}
}

// However a stream is cut into pieces, the same events come out.
func TestReaderTakesAnyPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var stream []byte
		var want []hint.Mark
		for range rapid.IntRange(0, 8).Draw(t, "events") {
			if rapid.Bool().Draw(t, "heartbeat") {
				stream = append(stream, hint.Heartbeat()...)
				continue
			}
			m := hint.Of(map[model.DeviceID]oplog.Head{{1}: {Seq: rapid.Uint64Min(1).Draw(t, "seq")}})
			stream, want = append(stream, m.Event()...), append(want, m)
		}
		var r hint.Reader
		var got []hint.Mark
		for len(stream) > 0 {
			n := rapid.IntRange(1, len(stream)).Draw(t, "piece")
			got, stream = append(got, r.Take(stream[:n])...), stream[n:]
		}
		require.Equal(t, want, got)
	})
}

func FuzzReader(f *testing.F) {
	f.Add(hint.Mark("a").Event(), 3)
	f.Add([]byte("data\r\n\r\n:\n\n\nid"), 5)
	f.Fuzz(func(t *testing.T, stream []byte, cut int) {
		cut = min(max(cut, 0), len(stream))
		var whole, cuts hint.Reader
		want := whole.Take(stream)
		got := append(cuts.Take(stream[:cut]), cuts.Take(stream[cut:])...)
		require.Equal(t, want, got)
		require.LessOrEqual(t, len(want), bytes.Count(stream, []byte("data")))
	})
}
