package oplog_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"
)

// A second reader of the golden files. It knows nothing of this package: which elements
// a form has, and in which order, it takes from the tables of FORMAT.md. So the page
// cannot say anything else than what is written.

// page is FORMAT.md.
type page struct {
	text  string
	parts map[string][]string // the elements of the arrays that it describes beside operations
}

func readPage(t *testing.T) page {
	t.Helper()
	text, err := os.ReadFile("FORMAT.md")
	require.NoError(t, err)
	p := page{text: string(text), parts: map[string][]string{}}
	for _, head := range []string{"part | elements", "saved | elements"} {
		for _, row := range p.rows(t, head) {
			list := regexp.MustCompile(`.*?array(: | of )`).FindString(row[1])
			if list = row[1][len(list):]; len(list) == len(row[1]) {
				continue // no array
			}
			if _, each, nested := strings.Cut(row[1], "each an array of "); nested {
				list = each
			}
			require.NotContains(t, p.parts, row[0])
			p.parts[row[0]] = elements(regexp.MustCompile(`[;.]( |$)`).Split(list, 2)[0])
		}
	}
	return p
}

// rows are the cells of the table whose head begins so.
func (p page) rows(t *testing.T, head string) (out [][]string) {
	t.Helper()
	_, table, found := strings.Cut(p.text, "\n| "+head+" |")
	require.True(t, found, "the page has no table %q", head)
	for _, line := range strings.Split(table, "\n")[2:] {
		if !strings.HasPrefix(line, "|") {
			break
		}
		cells := strings.Split(strings.Trim(line, "|"), " | ")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		out = append(out, cells)
	}
	require.NotEmpty(t, out)
	return out
}

// elements splits a list at the commas that are not in brackets.
func elements(list string) (out []string) {
	depth, from := 0, 0
	for i, c := range list + "," {
		switch {
		case c == '(':
			depth++
		case c == ')':
			depth--
		case c == ',' && depth == 0:
			out, from = append(out, strings.TrimSpace(list[from:i])), i+1
		}
	}
	return out
}

// forms say what an element is, by what it is called on the page: "a fact" is an array
// that the page describes as fact, "many facts" an array of such arrays.
var forms = map[string]string{}

func init() {
	for form, names := range map[string]string{
		"unsigned": `counter, record kind, role, role (of a new member), number of its last operation that counts, number of its invite operation,
			number of that one's last operation that both have, what, basis, aim, target (per mille), chance (per mille), seed, reason, colour, pest, count, method,
			damaged, uncertain (ten-thousandths of the leaf), confidence (per cent), verdict, amount (ml), rule, ordinal, field, number of the operation, kind,
			because, wanted, hours, millis, by, product, outbreak, place, plan, plant, member, device, name of the record, name of the subject, name of the set's member or 0, name of the device,
			number of the last operation, its stamp, device (by name), number, stamp, type of the value, id (by name), device (by name) of the write it replaced, number of that write, first, age, store, version`,
		"number": "at, until (moment), until (day), expires (moment), coldest, warmest (tenths of °C), counted (−1 if not measured), day, days, tenths of °C, tenths of a degree-day, tenths of °C of the lower threshold, integer",
		"truth":  "isolate (true or false), replaced (true or false)",
		"text":   "note, text, group (text), notes, code, words",
		"bytes": `ids (one byte string, 16 bytes each, none zero), numbers, photos (one byte string, 32 bytes each), photo (32 bytes or none), outline,
			names (one byte string, 16 bytes each), looks, photos, the operations as a CBOR sequence (with millis since 1970)`,
		"ids":          "the ids that have names (an array)",
		"16 bytes":     "household (id), nonce (16 bytes), device that invited (id), device whose place it takes (id), member (id; zero invites a new member), device (id), id, set's member (id)",
		"32 bytes":     "key of the device, key of the invitation, photo (32 bytes), hash after it",
		"64 bytes":     "proof (64 bytes)",
		"any":          "value", // as the field wants it
		"0":            "0",
		"list":         "plants, parts, devices that stay (array of names, at most 256), their numbers",
		"a fact":       "fact, fact that was replaced",
		"a task":       "task",
		"many fact":    "seen",
		"many setting": "settings",
		"many steps":   "steps",
		"many whys":    "whys",
		"a tail":       "tail",
		"a operations": "operations on membership (kinds 2 to 7 and 20), the other facts as operations",
		"a facts":      "facts",
		"many field":   "fields",
		"many write":   "writes in order of stamp",
		"many log":     "logs", // of a snapshot, as what follows
		"many record":  "records",
	} {
		for _, name := range elements(names) {
			forms[name] = form
		}
	}
}

// element requires that an element has the form that its name on the page stands for.
func (p page) element(t *testing.T, name string, v any) {
	t.Helper()
	form, known := forms[name]
	require.True(t, known, "the page names %q, which is %v here", name, v)
	if part, ok := strings.CutPrefix(form, "a "); ok {
		p.record(t, p.parts[part], v)
		return
	}
	if part, ok := strings.CutPrefix(form, "many "); ok {
		for _, each := range array(t, name, v) {
			p.record(t, p.parts[part], each)
		}
		return
	}
	plain(t, name, form, v)
}

func array(t *testing.T, name string, v any) []any {
	t.Helper()
	list, ok := v.([]any)
	require.True(t, ok, "%s is %T", name, v)
	return list
}

// plain requires that a value which holds no other is what its form says.
func plain(t *testing.T, name, form string, v any) {
	t.Helper()
	sizes := map[string]int{"16 bytes": 16, "32 bytes": 32, "hash": 32, "64 bytes": 64}
	switch form {
	case "unsigned":
		require.IsType(t, uint64(0), v, name)
	case "number", "moment":
		if _, positive := v.(uint64); !positive {
			require.IsType(t, int64(0), v, name)
		}
	case "truth", "true":
		require.IsType(t, true, v, name)
	case "text":
		require.IsType(t, "", v, name)
	case "bytes", "byte string":
		require.IsType(t, []byte{}, v, name)
	case "0":
		require.EqualValues(t, 0, v, name)
	case "any":
		require.NotNil(t, v, name)
	case "ids":
		for _, each := range array(t, name, v) {
			plain(t, name, "16 bytes", each)
		}
	case "list":
		for _, each := range array(t, name, v) {
			require.IsType(t, uint64(0), each, name)
		}
	default:
		require.Contains(t, sizes, form, name)
		require.IsType(t, []byte{}, v, name)
		require.Len(t, v, sizes[form], name)
	}
}

// record gives an array's elements by the names that the page has for them.
func (p page) record(t *testing.T, names []string, v any) map[string]any {
	t.Helper()
	values := array(t, strings.Join(names, ", "), v)
	require.Len(t, values, len(names), "the page names %q", names)
	r := map[string]any{}
	for i, name := range names {
		p.element(t, name, values[i])
		r[name] = values[i]
	}
	return r
}

// generic reads CBOR as whoever knows nothing of what it means.
var generic = func() cbor.DecMode {
	m, err := cbor.DecOptions{DupMapKey: cbor.DupMapKeyEnforcedAPF, IndefLength: cbor.IndefLengthForbidden, TagsMd: cbor.TagsForbidden}.DecMode()
	if err != nil {
		panic(err)
	}
	return m
}()

// sequence reads a CBOR sequence of arrays, with the bytes of each.
func sequence(t *testing.T, data []byte) (items [][]any, raw [][]byte) {
	t.Helper()
	for len(data) > 0 {
		var item []any
		rest, err := generic.UnmarshalFirst(data, &item)
		require.NoError(t, err)
		items, raw, data = append(items, item), append(raw, data[:len(data)-len(rest)]), rest
	}
	return items, raw
}

// goldens are the golden files with such a name, by name without the ending.
func goldens(t *testing.T, pattern string) map[string][]byte {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("..", "..", "testdata", "golden", pattern))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	out := map[string][]byte{}
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		short, _, _ := strings.Cut(filepath.Base(name), ".")
		out[short] = data
	}
	return out
}
