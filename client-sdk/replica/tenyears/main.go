// Command tenyears measures what a phone needs that belongs to a household of ten years:
// the invented one of sync/workload.Years. Each measurement runs in a fresh process,
// natively and, built for js/wasm, under Node.
//
//	tenyears live  <dir> <facts>   a phone takes in ten years; leaves what its vault holds
//	tenyears open  <dir> <facts>   opens from those files and makes the first list
//	tenyears check <dir> <facts>   compares the snapshot with the log, as a phone does later
//	tenyears apply <dir> <facts>   takes in entries of others, one at a time
//
// The times are CPU times of the whole process, but for those called wall.
package main

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"time"

	"github.com/google/uuid"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/workload"
	"leafturn/sync/workload/meter"
)

var measurements = map[string]func(context.Context, files, int) error{"live": live, "open": open, "check": check, "apply": apply}

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "tenyears:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 3 || measurements[args[0]] == nil {
		return errors.New("usage: tenyears live|open|check|apply <dir> <facts>")
	}
	facts, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	dir := args[1] + "/ten-years" // other programs leave files beside it
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	return measurements[args[0]](context.Background(), files(dir), facts)
}

func options() replica.Options {
	wall := func() int64 { return time.Now().UnixMilli() }
	return replica.Options{Wall: wall, Random: rand.Reader, NewID: uuid.New}
}

// open is a phone that is started again.
func open(ctx context.Context, dir files, facts int) error {
	defer debug.SetGCPercent(debug.SetGCPercent(-1)) // as the phone app does while it opens
	began, before := time.Now(), meter.CPU()
	v := dir.vault()
	r, err := replica.Open(ctx, v, options())
	if err != nil {
		return err
	}
	var rows []row
	known := 0
	r.Read(func(b *model.Book) { rows, known = list(b), b.Len() })
	meter.Print("ten-years-open-ms", meter.Micros(meter.CPU()-before, 1)/1e3, "ms")
	meter.Print("ten-years-open-wall-ms", meter.Micros(time.Since(began), 1)/1e3, "ms")
	meter.Print("ten-years-open-peak-memory-mb", meter.Peak()/1e6, "MB")
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	meter.Print("ten-years-open-own-memory-mb", float64(m.Sys)/1e6, "MB")
	if len(rows) != 200 || known != facts || v.whole > 0 {
		return fmt.Errorf("opened %d plants and %d facts, and read %d logs from their beginning", len(rows), known, v.whole)
	}
	return nil
}

// row is a line of the first list: a plant and the last look at it.
type row struct {
	name, place string
	last        model.Instant
	damage      uint8
}

func list(b *model.Book) []row {
	var rows []row
	for id, p := range b.Plants {
		r := row{name: p.Name, place: b.Places[p.Place].Name}
		for _, f := range slices.Backward(b.PlantFacts(id)) {
			if look, ok := f.Body.(*model.Inspection); ok && b.Stands(f.ID) {
				r.last, r.damage = f.At, look.Damage
				break
			}
		}
		rows = append(rows, r)
	}
	slices.SortFunc(rows, func(a, b row) int { return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(a.name, b.name)) })
	return rows
}

// check is what the phone does a while later, in small steps.
func check(ctx context.Context, dir files, _ int) error {
	v := dir.vault()
	r, err := replica.Open(ctx, v, options())
	if err != nil {
		return err
	}
	before := meter.CPU()
	if err := r.CheckSnapshot(ctx); err != nil {
		return err
	}
	if v.whole != workload.Devices {
		return fmt.Errorf("%d logs were read", v.whole)
	}
	meter.Print("ten-years-check-ms", meter.Micros(meter.CPU()-before, 1)/1e3, "ms")
	return nil
}

// apply is a phone that is open while others work.
func apply(_ context.Context, dir files, facts int) error {
	data, err := os.ReadFile(dir.snapshot())
	if err != nil {
		return err
	}
	s, err := merge.Restore(data[sumBytes:])
	if err != nil {
		return err
	}
	batches, err := workload.ReadBatches(dir.tail())
	if err != nil {
		return err
	}
	for id := range s.Book().Plants { // a screen has shown every plant before
		s.Book().PlantFacts(id)
	}
	before := meter.CPU()
	for _, b := range batches {
		if err := applyOne(s, b); err != nil {
			return err
		}
	}
	meter.Print("ten-years-apply-us", meter.Micros(meter.CPU()-before, len(batches)), "us")
	if n := s.Book().Len(); n != facts {
		return fmt.Errorf("applied %d facts of %d", n, facts)
	}
	return nil
}

// applyOne reads a batch from its bytes, checks and folds it, and reads its plant again.
func applyOne(s *merge.State, b *oplog.Batch) error {
	b, err := oplog.DecodeBatch(b.Encode())
	if err != nil {
		return err
	}
	if refused := s.Apply(b); len(refused) > 0 {
		return refused[0].Err
	}
	if f, ok := s.Book().Fact(model.FactID{Device: b.Device, Seq: b.Last()}); ok {
		if look, ok := f.Body.(*model.Inspection); ok && len(s.Book().PlantFacts(look.Plant)) == 0 {
			return errors.New("the plant does not show its fact")
		}
	}
	return nil
}
