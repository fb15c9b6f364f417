package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc64"
	"os"
	"slices"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/model"
	"leafturn/sync/exchange"
	"leafturn/sync/memlog"
	"leafturn/sync/oplog"
	"leafturn/sync/workload"
	"leafturn/sync/workload/meter"
)

const (
	sumBytes   = crc64.Size // before a snapshot, of what follows
	indexBytes = 64         // what a store keeps beside a batch: its key, its share of the head
	inTail     = 200        // batches that came after the snapshot
	beforeTail = 500        // batches that are taken in last before it is made
)

// live lets a phone take in ten years, as it would from files that others hand over, and
// leaves what its vault holds then.
func live(ctx context.Context, dir files, facts int) error {
	y, err := workload.NewYears(workload.DefaultSeed, facts)
	if err != nil {
		return err
	}
	var all []*oplog.Batch
	if err := y.Write(func(b *oplog.Batch) error { all = append(all, b); return nil }); err != nil {
		return err
	}
	if len(all) < inTail+beforeTail+100 {
		return fmt.Errorf("%d batches are too few", len(all))
	}
	meter.Print("ten-years-batches", float64(len(all)), "batches")
	meter.Print("ten-years-loose-disk-bytes", float64(weigh(all)), "B")
	me := y.Crowd().Authors[1]
	v := memvault.New()
	if err := v.Begin(ctx, replica.Beginning{Identity: replica.Identity{Household: y.Crowd().Household, Seed: me.Seed()}}); err != nil {
		return err
	}
	tail, last := len(all)-inTail, len(all)-inTail-beforeTail
	if err := v.Append(ctx, all[:last]); err != nil {
		return err
	}
	r, err := replica.Open(ctx, v, options())
	if err != nil {
		return err
	}
	if err := takeOver(ctx, r, y, all[:last], all[last:tail]); err != nil {
		return err
	}
	if err := v.Append(ctx, all[tail:]); err != nil {
		return err
	}
	return dir.leave(ctx, v, all[tail:])
}

func weigh(batches []*oplog.Batch) (bytes int) {
	for _, b := range batches {
		bytes += len(b.Encode()) + indexBytes
	}
	return bytes
}

// takeOver hands batches over, then nothing more until all that can be put into segments
// lies there.
func takeOver(ctx context.Context, r *replica.Replica, y *workload.Years, known, fresh []*oplog.Batch) error {
	other := memlog.NewReplica(y.Crowd().Household)
	if refused, err := other.Take(ctx, slices.Concat(known, fresh)); err != nil || len(refused) > 0 {
		return fmt.Errorf("hand over: %d refused: %w", len(refused), err)
	}
	theirs := r.Vector()
	for range len(known)/500 + 10 {
		var file bytes.Buffer
		if err := exchange.Pack(ctx, &file, other, theirs); err != nil {
			return err
		}
		if refused, err := r.TakeOver(ctx, &file); err != nil || len(refused) > 0 {
			return fmt.Errorf("take over: %d refused: %w", len(refused), err)
		}
		theirs = r.Vector()
	}
	return nil
}

// files are what a vault holds, one file for what a phone's disk finds by one key.
type files string

func (d files) snapshot() string               { return string(d) + "/snapshot" }
func (d files) tail() string                   { return string(d) + "/tail" }
func (d files) who() string                    { return string(d) + "/who" }
func (d files) heads() string                  { return string(d) + "/heads" }
func (d files) log(of model.DeviceID) string   { return string(d) + "/log-" + of.String() }
func (d files) endOf(of model.DeviceID) string { return string(d) + "/end-" + of.String() }

func (d files) leave(ctx context.Context, v *memvault.Vault, tail []*oplog.Batch) error {
	id, err := v.Identity(ctx)
	if err != nil {
		return err
	}
	snapshot, err := v.Snapshot(ctx)
	if err != nil {
		return err
	}
	heads, err := v.Heads(ctx)
	if err != nil {
		return err
	}
	disk := 0
	var ends []byte
	for dev, h := range heads {
		log, err := v.Read(ctx, dev, 0, 1<<30)
		if err != nil {
			return err
		}
		disk += weigh(log)
		ends = append(binary.BigEndian.AppendUint64(append(ends, dev[:]...), h.Seq), h.Hash[:]...)
		end := slices.DeleteFunc(slices.Clone(tail), func(b *oplog.Batch) bool { return b.Device != dev })
		if err := writeBatches(d.log(dev), log); err != nil {
			return err
		}
		if err := writeBatches(d.endOf(dev), end); err != nil {
			return err
		}
	}
	meter.Print("ten-years-disk-bytes", float64(disk), "B")
	meter.Print("ten-years-snapshot-bytes", float64(len(snapshot)), "B")
	if err := writeBatches(d.tail(), tail); err != nil {
		return err
	}
	for name, data := range map[string][]byte{d.snapshot(): snapshot, d.heads(): ends, d.who(): append(id.Household[:], id.Seed...)} {
		if err := os.WriteFile(name, data, 0o600); err != nil {
			return err
		}
	}
	return nil
}

func writeBatches(name string, batches []*oplog.Batch) error {
	var out [][]byte
	for _, b := range batches {
		out = append(out, b.Encode())
	}
	return workload.WriteBatches(name, out)
}
