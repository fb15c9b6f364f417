package lifecycle_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model/lifecycle"
	"leafturn/model/refdata"
)

// figure is one row of testdata/published/biology.csv: a printed figure and the
// way in which ours is held against it. biology.md beside it explains the columns.
type figure struct {
	kind, source, row string
	species           refdata.Species
	span              string
	celsius           float64
	printed           float64
	text              string // printed as it stands, for its number of decimals
	check             string
	args              map[string]string
	role, miss        string
}

func figures(t *testing.T, kind string) []figure {
	t.Helper()
	file, err := os.Open("../../testdata/published/biology.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var list []figure
	for _, r := range rows[1:] {
		if r[0] == kind {
			list = append(list, readFigure(t, r))
		}
	}
	require.NotEmpty(t, list)
	return list
}

func readFigure(t *testing.T, r []string) figure {
	t.Helper()
	f := figure{
		kind: r[0], source: r[1], row: r[2], species: refdata.Species(number(t, r[3])), span: r[4],
		printed: number(t, r[6]), text: r[6], check: r[8], args: map[string]string{}, role: r[10], miss: r[11],
	}
	if r[5] != "" {
		f.celsius = number(t, r[5])
	}
	for pair := range strings.SplitSeq(r[9], ";") {
		if name, value, ok := strings.Cut(pair, "="); ok {
			f.args[name] = value
		}
	}
	return f
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// TestPublished holds what we compute against figures that pages and papers print,
// one sub-test each. A row with a reason under miss is one that disagrees: it is
// kept, and fails when it agrees after all.
func TestPublished(t *testing.T) {
	for _, f := range figures(t, "published") {
		t.Run(f.source+"/"+f.row, func(t *testing.T) { f.hold(t) })
	}
}

// TestMemory does the same with figures remembered without a page.
func TestMemory(t *testing.T) {
	for _, f := range figures(t, "memory") {
		t.Run(f.row, func(t *testing.T) { f.hold(t) })
	}
}

func (f figure) hold(t *testing.T) {
	check, ok := checks[f.check]
	require.True(t, ok, "no check called %q", f.check)
	_, known := refdata.Find(f.source)
	require.True(t, known || f.kind != "published", "source %s is in refdata's list", f.source)
	v := check(t, f)
	if f.miss == "" {
		require.True(t, v.agrees, v.words)
		return
	}
	t.Log("listed as a miss:", f.miss, "-", v.words)
	require.False(t, v.agrees, "listed as a miss, but it agrees: %s", v.words)
}

// TestInputs holds refdata against the printed figures that are its inputs: those
// that stand in it as they are, and those that alone settle one of its values. This
// catches slips of copying and of arithmetic; it is no check of the models and is
// not counted as one.
func TestInputs(t *testing.T) {
	for _, f := range figures(t, "input") {
		t.Run(f.source+"/"+f.row, func(t *testing.T) {
			if f.check != "is" {
				f.hold(t)
				return
			}
			v := valueOf(t, f.species, f.args["of"])
			want := f.printed
			if v.Unit == refdata.Share {
				want /= 100
			}
			require.Contains(t, v.Sources(), f.source)
			ends := map[string]float64{"low": v.Low, "central": v.Central, "high": v.High}
			require.Contains(t, ends, f.args["end"])
			require.InDelta(t, want, ends[f.args["end"]], 1e-9)
		})
	}
}

// TestSomePapersAreForChecking keeps the table honest about what was fitted on
// what: every species with several papers has one that nothing was fitted on.
func TestSomePapersAreForChecking(t *testing.T) {
	fits, tests := map[refdata.Species]int{}, map[refdata.Species]int{}
	fitted := map[string]bool{}
	for _, f := range append(figures(t, "published"), figures(t, "input")...) {
		if f.kind == "input" || f.role == "fit" {
			fits[f.species]++
			fitted[f.source] = true
		}
	}
	for _, f := range figures(t, "published") {
		require.Contains(t, []string{"fit", "check"}, f.role, f.row)
		if !fitted[f.source] {
			tests[f.species]++
		}
	}
	for _, s := range []refdata.Species{
		refdata.WesternFlowerThrips, refdata.OnionThrips, refdata.TwoSpottedMite, refdata.GreenhouseWhitefly,
		refdata.GreenPeachAphid, refdata.MelonAphid, refdata.CitrusMealybug, refdata.HemisphericalScale,
	} {
		require.Positive(t, fits[s], s)
		require.Positive(t, tests[s], s)
	}
}

func valueOf(t *testing.T, s refdata.Species, name string) refdata.Value {
	t.Helper()
	p, err := refdata.Get(s)
	require.NoError(t, err)
	switch name {
	case "upper":
		return p.Upper
	case "lethal":
		return p.Lethal
	case "adult young":
		return p.Adult.Young
	case "adult female":
		return p.Adult.Female
	case "adult prelaying":
		return p.Adult.PreLaying
	case "adult laying":
		return p.Adult.Laying
	}
	i := strings.LastIndexByte(name, ' ')
	require.Positive(t, i, name)
	return stageValue(t, stageNamed(t, &p, name[:i]), name[i+1:])
}

func stageValue(t *testing.T, st *refdata.Stage, what string) refdata.Value {
	t.Helper()
	values := map[string]refdata.Value{"lower": st.Lower, "constant": st.Constant, "survival": st.Survival}
	require.Contains(t, values, what)
	return values[what]
}

func stageNamed(t *testing.T, p *refdata.Profile, name string) *refdata.Stage {
	t.Helper()
	return &append(p.Stages, p.Adult.Stage)[stageNumber(t, p, name)]
}

func stageNumber(t *testing.T, p *refdata.Profile, name string) int {
	t.Helper()
	if name == "adult" {
		return len(p.Stages)
	}
	for i := range p.Stages {
		if p.Stages[i].Name == name {
			return i
		}
	}
	require.Fail(t, "no stage called "+name)
	return 0
}

// days is the time of the figure's span for a life at a temperature.
func (f figure) days(t *testing.T, l *lifecycle.Life, celsius float64) float64 {
	t.Helper()
	if f.span == "generation" {
		d, err := l.Generation(celsius)
		require.NoError(t, err)
		return d
	}
	p, err := refdata.Get(f.species)
	require.NoError(t, err)
	first, last, ok := strings.Cut(f.span, "..")
	if !ok {
		last = first
	}
	d, err := l.Span(stageNumber(t, &p, first), stageNumber(t, &p, last), celsius)
	require.NoError(t, err)
	return d
}

func (f figure) life(t *testing.T) *lifecycle.Life {
	t.Helper()
	l, err := lifecycle.Of(f.species)
	require.NoError(t, err)
	return l
}

// numbers reads a list such as "20 25".
func (f figure) numbers(t *testing.T, name string) []float64 {
	t.Helper()
	var list []float64
	for word := range strings.FieldsSeq(f.args[name]) {
		list = append(list, number(t, word))
	}
	require.NotEmpty(t, list, name)
	return list
}

// pairs reads a list such as "15:34.2 20:19.2".
func (f figure) pairs(t *testing.T, name string) (xs, ys []float64) {
	t.Helper()
	for word := range strings.FieldsSeq(f.args[name]) {
		x, y, ok := strings.Cut(word, ":")
		require.True(t, ok)
		xs, ys = append(xs, number(t, x)), append(ys, number(t, y))
	}
	require.NotEmpty(t, xs)
	return xs, ys
}

// rooms is the range of temperatures in which a figure without one is taken to
// have been found, such as "t=20..30".
func (f figure) rooms(t *testing.T) (cool, warm float64) {
	t.Helper()
	low, high, ok := strings.Cut(f.args["t"], "..")
	require.True(t, ok)
	return number(t, low), number(t, high)
}

// half is half a unit of the last printed decimal.
func (f figure) half() float64 {
	_, decimals, _ := strings.Cut(f.text, ".")
	h := 0.5
	for range decimals {
		h /= 10
	}
	return h
}
