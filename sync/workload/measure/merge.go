package main

import (
	"bufio"
	"cmp"
	"fmt"
	"os"
	"runtime/debug"
	"slices"
	"time"

	"leafturn/model"
	"leafturn/sync/exchange"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/workload"
	"leafturn/sync/workload/meter"
)

// mergeAll is a fresh phone that gets everything: it reads the batches, checks
// chain, signatures and rules, and folds them. Then another one in the same process,
// whose code is compiled by then.
func mergeAll(w world) error {
	h, records, err := w.household()
	if err != nil {
		return err
	}
	for _, figure := range []string{"merge-cpu-us-per-record", "merge-warm-cpu-us-per-record"} {
		before := meter.CPU()
		s := merge.New(h)
		if err := w.pages(func(page []*oplog.Batch) error { return apply(s, page) }); err != nil {
			return err
		}
		meter.Print(figure, meter.Micros(meter.CPU()-before, records), "us")
		if figure == "merge-cpu-us-per-record" {
			meter.Print("peak-memory-mb", meter.Peak()/1e6, "MB")
		}
		if s.Book().Len() != w.events {
			return fmt.Errorf("merged %d facts of %d", s.Book().Len(), w.events)
		}
	}
	return nil
}

// pages hands over all batches in pages of the size in which they are exchanged.
func (w world) pages(take func([]*oplog.Batch) error) error {
	file, err := os.Open(w.file("all"))
	if err != nil {
		return err
	}
	defer file.Close()
	r := bufio.NewReaderSize(file, 4<<20) // all of it, so that reading costs nothing here
	for {
		page, err := workload.ReadPage(r, exchange.PageBytes)
		if err != nil || len(page) == 0 {
			return err
		}
		if err := take(page); err != nil {
			return err
		}
	}
}

func apply(s *merge.State, batches []*oplog.Batch) error {
	if refused := s.Apply(batches...); len(refused) > 0 {
		return fmt.Errorf("merge: %w", refused[0].Err)
	}
	return nil
}

// snapshot is a phone that puts its state away: it leaves a snapshot of all batches
// but the last one, and that one, for open.
func snapshot(w world) error {
	h, records, err := w.household()
	if err != nil {
		return err
	}
	s := merge.New(h)
	var last *oplog.Batch
	if err := w.pages(func(page []*oplog.Batch) error {
		if last != nil {
			page = slices.Insert(page, 0, last)
		}
		last = page[len(page)-1]
		return apply(s, page[:len(page)-1])
	}); err != nil {
		return err
	}
	before := meter.CPU()
	data, err := s.Snapshot()
	if err != nil {
		return err
	}
	meter.Print("snapshot-cpu-ms", meter.Micros(meter.CPU()-before, 1)/1e3, "ms")
	meter.Print("snapshot-bytes-per-record", float64(len(data))/float64(records), "B")
	if err := os.WriteFile(w.file("snapshot"), data, 0o644); err != nil {
		return err
	}
	return workload.WriteBatches(w.file("tail"), [][]byte{last.Encode()})
}

// row is a line of the first list: a plant and the last look at it.
type row struct {
	name, place string
	last        model.Instant
	damage      uint8
	counts      int
}

// open is a phone that was started again: it reads the snapshot and the tail of
// the log from the disk and makes the list of all plants with the last look at
// each, in the order of their places and names.
func open(w world) error {
	defer debug.SetGCPercent(debug.SetGCPercent(-1)) // as the phone app does while it opens
	began, before := time.Now(), meter.CPU()
	data, err := os.ReadFile(w.file("snapshot"))
	if err != nil {
		return err
	}
	s, err := merge.Restore(data)
	if err != nil {
		return err
	}
	tail, err := workload.ReadBatches(w.file("tail"))
	if err != nil {
		return err
	}
	if refused := s.Apply(tail...); len(refused) > 0 {
		return fmt.Errorf("open tail: %w", refused[0].Err)
	}
	rows := list(s.Book())
	meter.Print("cold-open-ms-100k", meter.Micros(meter.CPU()-before, 1)/1e3, "ms")
	meter.Print("cold-open-wall-ms-100k", meter.Micros(time.Since(began), 1)/1e3, "ms")
	meter.Print("start-to-main-cpu-ms", meter.Micros(before, 1)/1e3, "ms")
	meter.Print("open-peak-memory-mb", meter.Peak()/1e6, "MB")
	if len(rows) != 200 || s.Book().Len() != w.events {
		return fmt.Errorf("opened %d plants and %d facts", len(rows), s.Book().Len())
	}
	return nil
}

func list(b *model.Book) []row {
	var rows []row
	for id, p := range b.Plants {
		r := row{name: p.Name, place: b.Places[p.Place].Name}
		for _, f := range slices.Backward(b.PlantFacts(id)) {
			if look, ok := f.Body.(*model.Inspection); ok && b.Stands(f.ID) {
				r.last, r.damage = f.At, look.Damage
				for _, found := range look.Findings {
					r.counts += found.Counts.Total()
				}
				break
			}
		}
		rows = append(rows, r)
	}
	slices.SortFunc(rows, func(a, b row) int { return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(a.name, b.name)) })
	return rows
}
