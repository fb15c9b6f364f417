package main

import (
	"fmt"
	"os"
	"runtime"
	"slices"
	"strconv"
	"time"

	"leafturn/sync/workload"
	"leafturn/sync/workload/meter"
)

// batchOps is how many operations a device signs together when it has that many
// waiting: as many as package client-sdk/replica does.
const batchOps = 2000

// indexBytes is what a store keeps beside a batch: its key (household, device,
// first number) and its share of the head.
const indexBytes = 64

// chunk is how many records are made at a time, so that the records waiting to be
// written do not burden the collector.
const chunk = 5000

// write lets a new crowd write the whole stream and gives its logs, the number of
// records, and the CPU time that writing took.
func (w world) write(batchOps int) (*workload.Crowd, *workload.Logs, int, time.Duration, error) {
	g := workload.NewGenerator(workload.DefaultSeed, w.events)
	c, err := workload.NewCrowd(g)
	if err != nil {
		return nil, nil, 0, 0, err
	}
	logs, records, spent := &workload.Logs{}, 0, time.Duration(0)
	for {
		entries, err := c.Entries(g, chunk)
		if err != nil {
			return nil, nil, 0, 0, err
		}
		runtime.GC() // the garbage of making records is not that of writing them
		before := meter.CPU()
		if len(entries) == 0 {
			err = c.Finish(logs)
		} else {
			err = c.Author(entries, batchOps, logs)
		}
		spent += meter.CPU() - before
		records += len(entries)
		if err != nil || len(entries) == 0 {
			return c, logs, records, spent, err
		}
	}
}

// author writes the stream as devices do that sign what waits together.
func author(w world) error {
	c, logs, records, spent, err := w.write(batchOps)
	if err != nil {
		return err
	}
	meter.Print("author-cpu-us-per-record", meter.Micros(spent, records), "us")
	meter.Print("author-peak-memory-mb", meter.Peak()/1e6, "MB")
	base := [][]byte{}
	for _, b := range c.Base {
		base = append(base, b.Encode())
	}
	all := slices.Concat(base, slices.Concat(logs[:]...))
	bytes := 0
	for _, b := range all {
		bytes += len(b) + indexBytes
	}
	meter.Print("disk-bytes-per-record", float64(bytes)/float64(records), "B")
	meter.Print("records", float64(records), "records")
	return w.keep(c, base, all, logs, records)
}

// keep leaves the logs for other measurements.
func (w world) keep(c *workload.Crowd, base, all [][]byte, logs *workload.Logs, records int) error {
	if err := os.WriteFile(w.file("household"), fmt.Appendf(nil, "%s %d", c.Household, records), 0o644); err != nil {
		return err
	}
	if err := workload.WriteBatches(w.file("base"), base); err != nil {
		return err
	}
	for d, log := range logs {
		if err := workload.WriteBatches(w.file("log-"+strconv.Itoa(d)), log); err != nil {
			return err
		}
	}
	return workload.WriteBatches(w.file("all"), all)
}

// single signs every operation alone, as a phone does that is online all the time.
func single(w world) error {
	_, logs, records, spent, err := w.write(1)
	if err != nil {
		return err
	}
	meter.Print("author-one-cpu-us", meter.Micros(spent, records), "us")
	bytes, count := 0, 0
	for _, b := range slices.Concat(logs[:]...) {
		bytes += len(b)
		count++
	}
	if count != records {
		return fmt.Errorf("%d batches for %d records", count, records)
	}
	meter.Print("one-record-batch-bytes", float64(bytes)/float64(records), "B")
	return nil
}
