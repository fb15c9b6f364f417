package oplog_test

import (
	"bytes"
	"compress/flate"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// kinds gives the elements of each kind of operation, the kind itself first.
func (p page) kinds(t *testing.T) map[uint64][]string {
	out := map[uint64][]string{}
	for _, row := range p.rows(t, "kind | operation | elements after the kind") {
		kind, err := strconv.ParseUint(row[0], 10, 8)
		require.NoError(t, err)
		out[kind] = append([]string{"kind"}, elements(row[2])...)
	}
	return out
}

// operations reads a sequence of operations.
func (p page) operations(t *testing.T, data []byte) (ops []map[string]any, raw [][]byte) {
	t.Helper()
	kinds := p.kinds(t)
	items, raw := sequence(t, data)
	for _, item := range items {
		require.NotEmpty(t, item)
		require.Contains(t, kinds, item[0], "the page has no such kind")
		op := p.record(t, kinds[item[0].(uint64)], item)
		if packed, ok := op["numbers"]; ok {
			rest := &varints{t: t, data: packed.([]byte)}
			maps.Copy(op, p.numbers(t, rest))
			require.Empty(t, rest.data)
		}
		ops = append(ops, op)
	}
	return ops, raw
}

// varints reads LEB128, written anew from its rule: seven bits a byte, the lowest first.
type varints struct {
	t    *testing.T
	data []byte
}

func (r *varints) next() (v uint64) {
	for shift := 0; ; shift += 7 {
		require.NotEmpty(r.t, r.data)
		b := r.data[0]
		r.data = r.data[1:]
		v |= uint64(b&0x7f) << shift
		if b < 0x80 {
			return v
		}
	}
}

// signed undoes zig-zag: 0, -1, 1, -2, 2 …
func (r *varints) signed() int64 {
	v := r.next()
	return int64(v>>1) ^ -int64(v&1)
}

// numbers reads those of an inspection, row by row of the page.
func (p page) numbers(t *testing.T, r *varints) map[string]any {
	out := map[string]any{}
	for _, row := range p.rows(t, "varints | meaning") {
		names := elements(regexp.MustCompile(`^(if bit \d: )?([^;:]*)`).FindStringSubmatch(row[1])[2])
		switch row[0] {
		case "1":
			out[names[0]] = r.next()
		case "1, signed":
			out[names[0]] = r.signed()
		case "6 each":
			for i := range out["number of findings"].(uint64) {
				for _, name := range names {
					out[fmt.Sprint(name, " ", i+1)] = r.next()
				}
			}
		case "4":
			for _, name := range names {
				if out["what follows"].(uint64)&1 != 0 {
					out[name] = r.next()
				}
			}
		case "3 each, if bit 1":
			for _, which := range []string{"round", "completes"} {
				for _, name := range names {
					if out["what follows"].(uint64)&2 != 0 {
						out[which+": "+name] = r.next()
					}
				}
			}
		default:
			require.Fail(t, "no such row", "%q", row)
		}
	}
	return out
}

// What the golden operations say, where two elements could have changed places unseen.
var told = map[string]map[string]any{
	"op-application":    {"amount (ml)": uint64(900)},
	"op-card":           {"colour": uint64(2), "pest": uint64(1), "count": uint64(17), "counted (−1 if not measured)": uint64(15), "replaced (true or false)": true, "note": "by the window"},
	"op-uncounted-card": {"counted (−1 if not measured)": int64(-1), "photo (32 bytes or none)": []byte{}},
	"op-temperature":    {"coldest": int64(-12), "warmest (tenths of °C)": uint64(265)},
	"op-measurement": {"method": uint64(1), "damaged": uint64(412), "uncertain (ten-thousandths of the leaf)": uint64(90), "confidence (per cent)": uint64(80),
		"outline": []byte{0, 0, 0, 0, 0x27, 0x10, 0, 20, 1, 0xf4, 0x27, 0x0f}},
	"op-invite":  {"role (of a new member)": uint64(2), "expires (moment)": uint64(1_790_000_900_000)},
	"op-join":    {"number of its invite operation": uint64(12)},
	"op-appoint": {"role": uint64(3)},
	"op-claim":   {"until (moment)": uint64(1_790_010_000_000)},
	"op-put-off": {"until (day)": uint64(20801), "reason": uint64(2)},
	"op-course":  {"target (per mille)": uint64(950), "chance (per mille)": uint64(962), "seed": uint64(1 << 63), "isolate (true or false)": false},
	"op-inspection": {"damage": uint64(2), "number of findings": uint64(1), "young 1": uint64(7), "adults 1": uint64(2), "resting 1": uint64(0),
		"note": "pale flecks", "what follows": uint64(2), "round: ordinal": uint64(4), "completes: ordinal": uint64(1)},
	"op-close-look": {"what follows": uint64(3), "1 if clean new growth was seen else 0": uint64(1), "completes: ordinal": uint64(1)},
}

func TestThePageReadsTheGoldenOperations(t *testing.T) {
	p := readPage(t)
	unread := p.kinds(t)
	all := goldens(t, "op-*.v1.cbor")
	for name, data := range all {
		t.Run(name, func(t *testing.T) {
			ops, _ := p.operations(t, data)
			for _, op := range ops {
				delete(unread, op["kind"].(uint64))
			}
			last := ops[len(ops)-1]
			for element, want := range told[name] {
				require.Equal(t, want, last[element], element)
			}
		})
	}
	require.Empty(t, unread, "every kind has a golden file")
	for name := range told {
		require.Contains(t, all, name)
	}
}

// batch reads a batch and its operations.
func (p page) batch(t *testing.T, data []byte) (b map[string]any, ops []map[string]any, raw [][]byte) {
	t.Helper()
	items, _ := sequence(t, data)
	require.Len(t, items, 1)
	rows := p.rows(t, "element | type | meaning")
	require.Len(t, items[0], len(rows))
	b = map[string]any{}
	for i, row := range rows {
		form, _, _ := strings.Cut(row[1], ",")
		plain(t, row[0], form, items[0][i])
		b[row[0]] = items[0][i]
	}
	require.EqualValues(t, 1, b["version"])
	packed := b["operations"].([]byte)
	if b["packing"] == uint64(1) {
		var err error
		packed, err = io.ReadAll(flate.NewReader(bytes.NewReader(packed)))
		require.NoError(t, err)
	}
	require.EqualValues(t, b["size"], len(packed))
	ops, raw = p.operations(t, packed)
	require.EqualValues(t, b["count"], len(ops))
	return b, ops, raw
}

// begins is the text that something which is signed or hashed begins with, by the row of the page.
func (p page) begins(t *testing.T, what string) []byte {
	t.Helper()
	for _, row := range p.rows(t, "what | bytes") {
		if row[0] == what {
			return []byte(regexp.MustCompile("`([^`]+)` \\+ newline").FindStringSubmatch(row[1])[1] + "\n")
		}
	}
	require.Fail(t, "the page does not tell", what)
	return nil
}

// signed requires that a batch goes on from a hash, that its key signed it, and that its
// device is the key's, all as the page says. It gives the hash after it.
func (p page) signed(t *testing.T, household, key, before, data []byte) []byte {
	t.Helper()
	b, _, raw := p.batch(t, data)
	device := b["device"].([]byte)
	require.Equal(t, uuid8(sha256.Sum256(key)), device)
	if before == nil {
		origin := sha256.Sum256(slices.Concat(p.begins(t, "hash before operation 1"), household, device))
		before = origin[:]
	}
	require.Equal(t, before, b["previous"])
	for _, op := range raw {
		hash := sha256.Sum256(slices.Concat(before, op))
		before = hash[:]
	}
	last := binary.BigEndian.AppendUint64(nil, b["first"].(uint64)+b["count"].(uint64)-1)
	require.True(t, ed25519.Verify(key, slices.Concat(p.begins(t, "what a batch's signature covers"), household, device, last, before), b["signature"].([]byte)))
	return before
}

// founded is the id of a household, by its founder's key and nonce.
func (p page) founded(t *testing.T, key, nonce []byte) []byte {
	t.Helper()
	return uuid8(sha256.Sum256(slices.Concat(p.begins(t, "id of a household"), key, nonce)))
}

// uuid8 makes a UUID of version 8 (RFC 9562, section 5.8) from a hash.
func uuid8(sum [32]byte) []byte {
	id := slices.Clone(sum[:16])
	id[6], id[8] = id[6]&0x0f|0x80, id[8]&0x3f|0x80
	return id
}

func TestThePageReadsTheGoldenBatches(t *testing.T) {
	p := readPage(t)
	all := goldens(t, "batch-*.v1.cbor")
	_, ops, _ := p.batch(t, all["batch-plain"])
	key := ops[0]["key of the device"].([]byte)
	household := p.founded(t, key, append([]byte{1}, make([]byte, 15)...)) // whose log this is, newPen says
	p.signed(t, household, key, p.signed(t, household, key, nil, all["batch-plain"]), all["batch-packed"])
	packed, _, _ := p.batch(t, all["batch-packed"])
	require.EqualValues(t, 1, packed["packing"])
}

// message reads a message, and gives its batches. What the page does not name is only
// in the one that stands for a newer writer.
func (p page) message(t *testing.T, data []byte, seen map[uint64]bool) (household []byte, batches [][]byte) {
	t.Helper()
	var m map[uint64]any
	require.NoError(t, generic.Unmarshal(data, &m))
	for _, row := range p.rows(t, "key | type | meaning") {
		key, err := strconv.ParseUint(row[0], 10, 8)
		require.NoError(t, err)
		v, ok := m[key]
		if delete(m, key); !ok {
			continue
		}
		seen[key] = true
		list, of, _ := strings.Cut(row[1], " of ")
		switch {
		case row[1] == "array of byte strings":
			for _, b := range array(t, row[2], v) {
				batches = append(batches, b.([]byte))
			}
		case list == "array" && strings.HasPrefix(of, "["):
			for _, each := range array(t, row[2], v) {
				values := array(t, row[2], each)
				plain(t, row[2], "16 bytes", values[0])
				p.record(t, elements(strings.Trim(of, "[]"))[1:], values[1:])
			}
		case list == "array":
			p.record(t, elements(of), v)
		default:
			plain(t, row[2], row[1], v)
		}
		if key == 2 {
			household = v.([]byte)
		}
	}
	for key := range m {
		require.Contains(t, []uint64{8, 40, 1 << 33}, key, "the page does not name it")
	}
	return household, batches
}

func TestThePageReadsTheGoldenMessages(t *testing.T) {
	p := readPage(t)
	seen := map[uint64]bool{}
	for name, data := range goldens(t, "message*.v1.cbor") {
		t.Run(name, func(t *testing.T) {
			household, batches := p.message(t, data, seen)
			require.Len(t, household, 16)
			for _, b := range batches {
				p.batch(t, b)
			}
		})
	}
	require.Len(t, seen, len(p.rows(t, "key | type | meaning")), "every key is in a golden file")
}

// A hand-over file, from its first byte to the signature of the founder.
func TestThePageReadsTheGoldenFile(t *testing.T) {
	p := readPage(t)
	data := goldens(t, "hand-over.v1.leafturn")["hand-over"]
	rows := p.rows(t, "bytes | meaning")
	require.Len(t, rows, 4)
	head := []byte(regexp.MustCompile("`([^`]+)` \\+ newline").FindStringSubmatch(rows[0][1])[1] + "\n")
	require.True(t, bytes.HasPrefix(data, head))
	end := len(data) - sha256.Size
	sum := sha256.Sum256(data[:end])
	require.Equal(t, sum[:], data[end:])
	messages := 0
	for rest := data[len(head):end]; ; messages++ {
		size := binary.BigEndian.Uint32(rest)
		if rest = rest[4:]; size == 0 {
			require.Empty(t, rest)
			break
		}
		household, batches := p.message(t, rest[:size], map[uint64]bool{})
		for _, b := range batches {
			_, ops, _ := p.batch(t, b)
			key := ops[0]["key of the device"].([]byte)
			require.Equal(t, p.founded(t, key, ops[0]["nonce (16 bytes)"].([]byte)), household)
			p.signed(t, household, key, nil, b)
		}
		require.NotEmpty(t, batches)
		rest = rest[size:]
	}
	require.Equal(t, 1, messages)
}

func TestThePageReadsTheGoldenSnapshot(t *testing.T) {
	p := readPage(t)
	items, _ := sequence(t, goldens(t, "snapshot.v1.cbor")["snapshot"])
	require.Len(t, items, 1)
	var names []string
	for _, row := range p.rows(t, "element | meaning") {
		names = append(names, row[0])
	}
	s := p.record(t, names, items[0])
	require.EqualValues(t, 1, s["version"])
	require.Len(t, s["logs"], 2)
	for _, log := range s["logs"].([]any) {
		l := p.record(t, p.parts["log"], log)
		facts := p.record(t, p.parts["facts"], l["facts"])
		p.looks(t, facts)
		p.savedOps(t, facts["the other facts as operations"])
		p.savedOps(t, l["operations on membership (kinds 2 to 7 and 20)"])
	}
	require.NotEmpty(t, s["records"])
}

// looks reads the inspections of a log, whose photos and notes lie apart.
func (p page) looks(t *testing.T, facts map[string]any) {
	t.Helper()
	r := &varints{t: t, data: facts["looks"].([]byte)}
	looks, photos, notes := 0, uint64(0), uint64(0)
	for ; len(r.data) > 0; looks++ {
		require.Positive(t, r.next(), "numbers grow")
		p.numbers(t, r)
		photos += r.next()
		notes += r.next()
	}
	require.Equal(t, 3, looks)
	require.Len(t, facts["photos"], 32*int(photos))
	require.Len(t, facts["notes"], int(notes))
	require.NotZero(t, photos*notes)
}

// savedOps reads operations that are kept with their numbers.
func (p page) savedOps(t *testing.T, v any) {
	t.Helper()
	s := p.record(t, p.parts["operations"], v)
	ops, _ := p.operations(t, s["the operations as a CBOR sequence (with millis since 1970)"].([]byte))
	require.Len(t, s["their numbers"], len(ops))
	require.NotEmpty(t, ops)
	for _, op := range ops {
		require.Greater(t, op["millis"], uint64(1_700_000_000_000), "since 1970")
	}
}
