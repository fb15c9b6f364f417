package main

import (
	"fmt"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/workload"
)

// incrementalRecords is how many remote operations are taken in one by one.
const incrementalRecords = 500

// incremental is a phone that is open while somebody else works: a batch of one
// operation arrives, is checked and folded, and the plant it is about is read.
func incremental(w world) error {
	c, entries, err := w.crowd()
	if err != nil {
		return err
	}
	split := len(entries) - incrementalRecords
	old, err := c.Author(entries[:split], batchOps)
	if err != nil {
		return err
	}
	fresh, err := c.Author(entries[split:], 1)
	if err != nil {
		return err
	}
	s := merge.New(c.Household)
	batches := c.Base
	for _, log := range old {
		for _, data := range log {
			b, err := oplog.DecodeBatch(data)
			if err != nil {
				return err
			}
			batches = append(batches, b)
		}
	}
	if refused := s.Apply(batches...); len(refused) > 0 {
		return fmt.Errorf("merge: %w", refused[0].Err)
	}
	read(s.Book(), entries[:split])
	before := cpu()
	for _, log := range fresh {
		for _, data := range log {
			if err := takeOne(s, data); err != nil {
				return err
			}
		}
	}
	print("incremental-cpu-us", micros(cpu()-before, incrementalRecords), "us")
	if s.Book().Len() != w.events {
		return fmt.Errorf("%d facts of %d", s.Book().Len(), w.events)
	}
	return nil
}

func takeOne(s *merge.State, data []byte) error {
	b, err := oplog.DecodeBatch(data)
	if err != nil {
		return err
	}
	if refused := s.Apply(b); len(refused) > 0 {
		return refused[0].Err
	}
	f, ok := s.Book().Fact(model.FactID{Device: b.Device, Seq: b.Last()})
	if !ok {
		return nil // an edit: the record was changed when it was folded
	}
	about := s.Book().PlantFacts(f.Body.(*model.Inspection).Plant)
	if len(about) == 0 {
		return fmt.Errorf("the plant does not show its fact")
	}
	return nil
}

// read reads every plant once, as screens have done before.
func read(b *model.Book, _ []workload.Entry) {
	for id := range b.Plants {
		b.PlantFacts(id)
	}
}
