package main

import (
	"cmp"
	"fmt"
	"os"
	"runtime"
	"slices"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/workload"
)

// tailRecords is how many of the last operations a phone opens from its log and
// not from the snapshot.
const tailOps = 1000

// mergeAll is a fresh phone that gets everything: it reads the batches, checks
// chain, signatures and rules, and folds them. Afterwards it keeps a snapshot of
// all but the last operations of one device, for open.
func mergeAll(w world) error {
	g := workload.NewGenerator(workload.DefaultSeed, w.events)
	c, err := workload.NewCrowd(g)
	if err != nil {
		return err
	}
	records := len(workload.Entries(g))
	runtime.GC()
	before := cpu()
	s, _, err := w.replica(c.Household, "all")
	if err != nil {
		return err
	}
	print("merge-cpu-us-per-record", micros(cpu()-before, records), "us")
	print("peak-memory-mb", peak()/1e6, "MB")
	if s.Book().Len() != w.events {
		return fmt.Errorf("merged %d facts of %d", s.Book().Len(), w.events)
	}
	before = cpu()
	if _, err := s.Digest(); err != nil {
		return err
	}
	print("digest-cpu-ms", micros(cpu()-before, 1)/1e3, "ms")
	return w.keepSnapshot(c.Household, records)
}

func (w world) replica(h model.HouseholdID, name string) (*merge.State, []*oplog.Batch, error) {
	batches, err := workload.ReadBatches(w.file(name))
	if err != nil {
		return nil, nil, err
	}
	s := merge.New(h)
	if refused := s.Apply(batches...); len(refused) > 0 {
		return nil, nil, fmt.Errorf("merge: %w", refused[0].Err)
	}
	return s, batches, nil
}

// keepSnapshot leaves a snapshot of all batches but the last one, and that one.
func (w world) keepSnapshot(h model.HouseholdID, records int) error {
	batches, err := workload.ReadBatches(w.file("all"))
	if err != nil {
		return err
	}
	s := merge.New(h)
	last := len(batches) - 1
	if refused := s.Apply(batches[:last]...); len(refused) > 0 {
		return fmt.Errorf("merge: %w", refused[0].Err)
	}
	before := cpu()
	snapshot, err := s.Snapshot()
	if err != nil {
		return err
	}
	print("snapshot-cpu-ms", micros(cpu()-before, 1)/1e3, "ms")
	print("snapshot-bytes-per-record", float64(len(snapshot))/float64(records), "B")
	if err := os.WriteFile(w.file("snapshot"), snapshot, 0o644); err != nil {
		return err
	}
	return workload.WriteBatches(w.file("tail"), [][]byte{batches[last].Encode()})
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
	before := cpu()
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
	print("cold-open-ms-100k", micros(cpu()-before, 1)/1e3, "ms")
	print("start-to-main-cpu-ms", micros(before, 1)/1e3, "ms")
	print("open-peak-memory-mb", peak()/1e6, "MB")
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
