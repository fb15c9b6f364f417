package evidence_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/evidence"
)

const tables = "../../testdata/published/"

// Rows of statistics.csv. Each is one figure; statistics.md says what the sources
// are and what each method is.
func TestPublishedStatistics(t *testing.T) { checkRows(t, "published", 175) }

// Figures worked out apart from this code, from a stated formula or by another
// program, and not printed by anybody.
func TestComputedStatistics(t *testing.T) { checkRows(t, "computed", 139) }

// Cells of a standard as remembered; its text was not seen.
func TestMemoryStatistics(t *testing.T) { checkRows(t, "memory", 104) }

func checkRows(t *testing.T, kind string, want int) {
	n := 0
	for _, r := range readTable(t, "statistics.csv") {
		if r[0] != kind {
			continue
		}
		n++
		source, method, result, expected := r[1], r[2], r[4], r[5]
		t.Run(strings.TrimSpace(source+"/"+method+" "+r[3]+" "+result), func(t *testing.T) {
			require.Contains(t, methods, method)
			got, err := methods[method](inputsOf(t, r[3]), result)
			if expected == "undefined" {
				require.ErrorIs(t, err, evidence.ErrNoChange)
				return
			}
			require.NoError(t, err)
			require.InDelta(t, number(t, expected), got, number(t, r[6])+1e-15)
		})
	}
	require.Equal(t, want, n)
}

func readTable(t *testing.T, name string) [][]string {
	t.Helper()
	file, err := os.Open(tables + name)
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return f
}

// inputs are the named figures of a row.
type inputs struct {
	t  *testing.T
	by map[string]string
}

func inputsOf(t *testing.T, s string) inputs {
	in := inputs{t, map[string]string{}}
	for part := range strings.SplitSeq(s, ";") {
		name, value, ok := strings.Cut(part, "=")
		require.True(t, ok, part)
		in.by[name] = value
	}
	return in
}

func (in inputs) text(name string) string {
	require.Contains(in.t, in.by, name)
	return in.by[name]
}

func (in inputs) float(name string) float64 { return number(in.t, in.text(name)) }

func (in inputs) floats(name string) []float64 {
	var all []float64
	for s := range strings.FieldsSeq(in.text(name)) {
		all = append(all, number(in.t, s))
	}
	return all
}

func (in inputs) whole(name string) int {
	if in.text(name) == "inf" {
		return evidence.Unbounded
	}
	n, err := strconv.Atoi(in.text(name))
	require.NoError(in.t, err)
	return n
}
