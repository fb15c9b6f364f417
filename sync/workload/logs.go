package workload

import (
	"encoding/binary"
	"fmt"
	"os"

	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Entry is an operation ready to be written: who writes it, when, and what.
type Entry struct {
	Device int
	Stamp  hlc.Stamp
	Record Record
}

// Entries is the whole stream of a generator.
func Entries(g *Generator) []Entry {
	var out []Entry
	for r, ok := g.Next(); ok; r, ok = g.Next() {
		out = append(out, Entry{Device: r.Device, Stamp: hlc.Of(r.At, 0), Record: r})
	}
	return out
}

// Author lets the crowd write entries, each device signing as soon as it has
// written so many operations, and what is left at the end. It gives the encoded
// batches, per device, without the starting state.
func (c *Crowd) Author(entries []Entry, batchOps int) ([Devices][][]byte, error) {
	var out [Devices][][]byte
	seal := func(d int) error {
		b, err := c.Authors[d].Seal()
		if err == nil {
			out[d] = append(out[d], b.Encode())
		}
		return err
	}
	for _, e := range entries {
		a := c.Authors[e.Device]
		body, err := c.Body(e.Record)
		if err != nil {
			return out, err
		}
		if _, err := a.Write(e.Stamp, body); err != nil {
			return out, fmt.Errorf("author record: %w", err)
		}
		if a.Open() >= batchOps {
			if err := seal(e.Device); err != nil {
				return out, err
			}
		}
	}
	for d, a := range c.Authors {
		if a.Open() > 0 {
			if err := seal(d); err != nil {
				return out, err
			}
		}
	}
	return out, nil
}

// WriteBatches keeps encoded batches in a file, each after its length.
func WriteBatches(name string, batches [][]byte) error {
	var out []byte
	for _, b := range batches {
		out = binary.AppendUvarint(out, uint64(len(b)))
		out = append(out, b...)
	}
	return os.WriteFile(name, out, 0o644)
}

// ReadBatches reads what WriteBatches wrote, decoded.
func ReadBatches(name string) ([]*oplog.Batch, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	var out []*oplog.Batch
	for len(data) > 0 {
		n, used := binary.Uvarint(data)
		if used <= 0 || n > uint64(len(data)-used) {
			return nil, fmt.Errorf("read batches: %s is cut short", name)
		}
		b, err := oplog.DecodeBatch(data[used : used+int(n)])
		if err != nil {
			return nil, fmt.Errorf("read batches: %w", err)
		}
		out, data = append(out, b), data[used+int(n):]
	}
	return out, nil
}
