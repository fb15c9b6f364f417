package main

import (
	"fmt"
	"slices"

	"leafturn/model"
	"leafturn/sync/merge"
	"leafturn/sync/oplog"
	"leafturn/sync/workload"
	"leafturn/sync/workload/meter"
)

// incrementalRecords is how many remote operations are taken in one by one.
const incrementalRecords = 500

// incremental is a phone that is open while somebody else works: a batch of one
// operation arrives, is checked and folded, and the plant it is about is read.
func incremental(w world) error {
	g := workload.NewGenerator(workload.DefaultSeed, w.events)
	c, err := workload.NewCrowd(g)
	if err != nil {
		return err
	}
	entries, err := c.Entries(g, 2*w.events)
	if err != nil {
		return err
	}
	split := len(entries) - incrementalRecords
	old, fresh := &workload.Logs{}, &workload.Logs{}
	if err := c.Author(entries[:split], batchOps, old); err != nil {
		return err
	}
	if err := c.Finish(old); err != nil {
		return err
	}
	if err := c.Author(entries[split:], 1, fresh); err != nil {
		return err
	}
	s := merge.New(c.Household)
	batches := c.Base
	for _, data := range slices.Concat(old[:]...) {
		b, err := oplog.DecodeBatch(data)
		if err != nil {
			return err
		}
		batches = append(batches, b)
	}
	if err := apply(s, batches); err != nil {
		return err
	}
	for id := range s.Book().Plants { // a screen has shown every plant before
		s.Book().PlantFacts(id)
	}
	before := meter.CPU()
	for _, data := range slices.Concat(fresh[:]...) {
		if err := takeOne(s, data); err != nil {
			return err
		}
	}
	meter.Print("incremental-cpu-us", meter.Micros(meter.CPU()-before, incrementalRecords), "us")
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
