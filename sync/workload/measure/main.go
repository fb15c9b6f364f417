// Command measure takes one measurement of the sync core per run, in a fresh
// process, so that neither warm caches nor another measurement's garbage flatter
// it. It runs natively and, built for js/wasm, under Node.
//
//	measure <what> <dir> <events>
//
// Each measurement prints lines of "figure value unit". Times are CPU times of the
// process: user and system time of all its threads, the collector's and, under
// Node, the compiler's included.
package main

import (
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"

	"leafturn/model"
)

// world is what all measurements share.
type world struct {
	dir    string // where one measurement leaves files for another
	events int
}

// The measurements. Those above leave files for those below.
var measurements = map[string]func(world) error{
	"author":      author,      // writes, signs and packs the stream; leaves the batches
	"single":      single,      // the same with every operation signed alone
	"wire":        exchangeAll, // brings four devices and a hub together
	"merge":       mergeAll,    // a fresh replica takes all batches
	"snapshot":    snapshot,    // a replica is put away; leaves snapshot and tail
	"open":        open,        // opens from snapshot and tail
	"incremental": incremental, // takes one remote operation at a time
	"verify":      verify,      // checks one signature
}

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "measure:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 3 {
		return errors.New("usage: measure <what> <dir> <events>")
	}
	events, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	measure, ok := measurements[args[0]]
	if !ok {
		return fmt.Errorf("there is no measurement %q", args[0])
	}
	return measure(world{dir: args[1], events: events})
}

// household is the crowd's household and the number of records that were written.
func (w world) household() (model.HouseholdID, int, error) {
	text, err := os.ReadFile(w.file("household"))
	if err != nil {
		return model.HouseholdID{}, 0, err
	}
	id, count, _ := strings.Cut(string(text), " ")
	h, err := model.ParseID[model.Household](id)
	if err != nil {
		return h, 0, err
	}
	records, err := strconv.Atoi(count)
	return h, records, err
}

func (w world) file(name string) string { return w.dir + "/" + name }
