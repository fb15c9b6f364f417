package main

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"leafturn/sync/workload"
)

// batchOps is how many operations a device signs together when it has that many
// waiting.
const batchOps = 1000

// indexBytes is what a store keeps beside a batch: its key (household, device,
// first number) and its share of the head.
const indexBytes = 64

func author(w world) error {
	c, entries, err := w.crowd()
	if err != nil {
		return err
	}
	before := cpu()
	logs, err := c.Author(entries, batchOps)
	if err != nil {
		return err
	}
	spent := cpu() - before
	print("author-cpu-us-per-record", micros(spent, len(entries)), "us")
	print("author-peak-memory-mb", peak()/1e6, "MB")

	base := [][]byte{}
	for _, b := range c.Base {
		base = append(base, b.Encode())
	}
	all := slices.Concat(base, slices.Concat(logs[:]...))
	bytes := 0
	for _, b := range all {
		bytes += len(b) + indexBytes
	}
	print("disk-bytes-per-record", float64(bytes)/float64(len(entries)), "B")
	print("records", float64(len(entries)), "records")
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
	c, entries, err := w.crowd()
	if err != nil {
		return err
	}
	before := cpu()
	logs, err := c.Author(entries, 1)
	if err != nil {
		return err
	}
	print("author-one-cpu-us", micros(cpu()-before, len(entries)), "us")
	bytes, count := 0, 0
	for _, log := range logs {
		for _, b := range log {
			bytes += len(b)
			count++
		}
	}
	if count > len(entries) {
		return fmt.Errorf("%d batches for %d records", count, len(entries))
	}
	print("one-record-batch-bytes", float64(bytes)/float64(len(entries)), "B")
	return nil
}

func micros(d time.Duration, n int) float64 { return float64(d.Nanoseconds()) / 1e3 / float64(n) }
