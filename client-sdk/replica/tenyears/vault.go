package main

import (
	"context"
	"encoding/binary"
	"os"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
	"leafturn/sync/workload"
)

// vault opens the files. It is enough of a replica.Vault for a phone that only reads:
// the other methods are not there.
func (d files) vault() *diskVault {
	return &diskVault{files: d, logs: map[model.DeviceID][]*oplog.Batch{}}
}

type diskVault struct {
	replica.Vault
	files files
	logs  map[model.DeviceID][]*oplog.Batch // those that were read
	whole int                               // how many of them from their beginning
}

func (v *diskVault) Identity(context.Context) (*replica.Identity, error) {
	data, err := os.ReadFile(v.files.who())
	if err != nil {
		return nil, err
	}
	return &replica.Identity{Household: model.HouseholdID(data[:16]), Seed: data[16:]}, nil
}

func (v *diskVault) Heads(context.Context) (map[model.DeviceID]oplog.Head, error) {
	data, err := os.ReadFile(v.files.heads())
	heads := map[model.DeviceID]oplog.Head{}
	for ; len(data) > 0; data = data[56:] {
		heads[model.DeviceID(data[:16])] = oplog.Head{Seq: binary.BigEndian.Uint64(data[16:]), Hash: oplog.Hash(data[24:56])}
	}
	return heads, err
}

func (v *diskVault) Snapshot(context.Context) ([]byte, error) { return os.ReadFile(v.files.snapshot()) }

// Read finds what comes after the snapshot in a file of its own, as a database finds it
// by its key.
func (v *diskVault) Read(_ context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	if v.logs[d] == nil || after < v.logs[d][0].First-1 {
		log, err := v.load(d, after)
		if err != nil {
			return nil, err
		}
		v.logs[d] = log
	}
	var out []*oplog.Batch
	for _, b := range v.logs[d] {
		if b.Last() <= after {
			continue
		}
		if maxBytes -= len(b.Encode()); len(out) > 0 && maxBytes < 0 {
			break
		}
		out = append(out, b)
	}
	return out, nil
}

func (v *diskVault) load(d model.DeviceID, after uint64) ([]*oplog.Batch, error) {
	end, err := workload.ReadBatches(v.files.endOf(d))
	if err != nil || len(end) > 0 && after >= end[0].First-1 {
		return end, err
	}
	v.whole++
	return workload.ReadBatches(v.files.log(d))
}

func (v *diskVault) Pending(context.Context) ([]replica.Pending, error) { return nil, nil }
func (v *diskVault) Kept(context.Context, string) ([]byte, error)       { return nil, nil }
func (v *diskVault) Keep(context.Context, string, []byte) error         { return nil }
