package identify

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"leafturn/model"
)

//go:embed signs.csv
var signsCSV string

//go:embed where.csv
var whereCSV string

// Cell is what the table says of a sign and a cause.
type Cell struct {
	Says   string  // yes, some, rare or no
	Chance float64 // that a careful look finds the sign where the cause is noticeable: judgement
	Source string  // of what it says, not of the chance
}

// tables are the cells, and their logarithms where they are added up.
type tables struct {
	cells        [NumSigns][Causes]Cell
	seen, absent [NumSigns][Causes]float64
	doubt        [NumSigns][Causes]float64 // entropy of a sign when the cause is known
	where        [Causes][9]float64        // logarithm of a part's weight, by model.Part
}

// load reads the embedded tables once. They are part of the program and tested, so
// a broken one is a broken build.
var load = sync.OnceValue(func() *tables {
	t, err := parse(signsCSV, whereCSV)
	if err != nil {
		panic(err)
	}
	return t
})

// CellOf is what the table says of a sign and a cause.
func CellOf(s Sign, c Cause) (Cell, error) {
	if s >= NumSigns || c >= Causes {
		return Cell{}, fmt.Errorf("cell: %w", ErrInput)
	}
	return load().cells[s][c], nil
}

func parse(signs, where string) (*tables, error) {
	t := &tables{}
	for _, line := range lines(signs) {
		if err := t.readSign(line); err != nil {
			return nil, fmt.Errorf("read signs, %q: %w", line, err)
		}
	}
	for s := range t.cells {
		for c, cell := range t.cells[s] {
			if !(cell.Chance > 0 && cell.Chance < 1) {
				return nil, fmt.Errorf("read signs: no chance for %v and %v", Sign(s), Cause(c))
			}
			t.seen[s][c], t.absent[s][c] = math.Log(cell.Chance), math.Log1p(-cell.Chance)
			t.doubt[s][c] = entropy(cell.Chance)
		}
	}
	for _, line := range lines(where) {
		if err := t.readWhere(line); err != nil {
			return nil, fmt.Errorf("read where, %q: %w", line, err)
		}
	}
	return t, nil
}

// lines are those after the head.
func lines(table string) []string { return strings.Split(strings.TrimSpace(table), "\n")[1:] }

func (t *tables) readSign(line string) error {
	f := strings.Split(line, ",")
	if len(f) != 5 {
		return ErrInput
	}
	s := slices.Index(signNames[:], f[0])
	chance, err := strconv.ParseFloat(f[3], 64)
	if err != nil || s < 0 {
		return ErrInput
	}
	cell := Cell{f[2], chance, f[4]}
	if f[1] == "*" { // every cause for which the table has no line of its own
		for c := range t.cells[s] {
			t.cells[s][c] = cell
		}
		return nil
	}
	c := slices.Index(causeNames[:], f[1])
	if c < 0 {
		return ErrInput
	}
	t.cells[s][c] = cell
	return nil
}

// partColumns is the order of parts in the table.
var partColumns = [8]model.Part{model.Underside, model.TopSide, model.Stem, model.NewGrowth, model.Soil, model.Flower, model.LeafJoint, model.LeafStalk}

func (t *tables) readWhere(line string) error {
	f := strings.Split(line, ",")
	c := slices.Index(causeNames[:], f[0])
	if c < 0 || len(f) != len(partColumns)+2 {
		return ErrInput
	}
	var weights [len(partColumns)]float64
	sum := 0.0
	for i := range weights {
		w, err := strconv.ParseFloat(f[i+1], 64)
		if err != nil || !(w > 0) {
			return ErrInput
		}
		weights[i] = w
		sum += w
	}
	for i, p := range partColumns {
		t.where[c][p] = math.Log(weights[i] / sum)
	}
	return nil
}
