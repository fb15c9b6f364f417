package workload

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"os"

	"leafturn/sync/hlc"
	"leafturn/sync/oplog"
)

// Entry is an operation ready to be written: who writes it, when, and what.
type Entry struct {
	Device int
	Stamp  hlc.Stamp
	Body   any
}

// Entries takes up to n records from the stream.
func (c *Crowd) Entries(g *Generator, n int) ([]Entry, error) {
	var out []Entry
	for len(out) < n {
		r, ok := g.Next()
		if !ok {
			break
		}
		body, err := c.body(r)
		if err != nil {
			return nil, err
		}
		out = append(out, Entry{Device: r.Device, Stamp: hlc.Of(r.At, 0), Body: body})
	}
	return out, nil
}

// Logs are the encoded batches of each device, without the starting state.
type Logs [Devices][][]byte

// Author lets the crowd write entries. A device signs as soon as it has written so
// many operations; Finish signs what is left.
func (c *Crowd) Author(entries []Entry, batchOps int, logs *Logs) error {
	for _, e := range entries {
		a := c.Authors[e.Device]
		if s, ok := e.Body.(*oplog.Set); ok {
			s.Fields[0].Over = a.State.Current(s.Record, s.Fields[0].Key).By
		}
		if err := a.Write(e.Stamp, e.Body); err != nil {
			return fmt.Errorf("author record: %w", err)
		}
		if a.Open() >= batchOps {
			if err := c.seal(e.Device, logs); err != nil {
				return err
			}
		}
	}
	return nil
}

// Finish lets all devices sign what they have not signed yet.
func (c *Crowd) Finish(logs *Logs) error {
	for d, a := range c.Authors {
		if a.Open() == 0 {
			continue
		}
		if err := c.seal(d, logs); err != nil {
			return err
		}
	}
	return nil
}

func (c *Crowd) seal(d int, logs *Logs) error {
	b, err := c.Authors[d].Seal()
	if err == nil {
		logs[d] = append(logs[d], b.Encode())
	}
	return err
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
	return ReadPage(bytes.NewReader(data), len(data))
}

// Source is where batches are read from.
type Source interface {
	io.Reader
	io.ByteReader
}

// ReadPage reads batches until they have size bytes together, or the source ends.
func ReadPage(r Source, size int) ([]*oplog.Batch, error) {
	var out []*oplog.Batch
	for size > 0 {
		n, err := binary.ReadUvarint(r)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("read batches: %w", err)
		}
		data := make([]byte, n)
		if _, err := io.ReadFull(r, data); err != nil {
			return nil, fmt.Errorf("read batches: %w", err)
		}
		b, err := oplog.DecodeBatch(data)
		if err != nil {
			return nil, fmt.Errorf("read batches: %w", err)
		}
		out, size = append(out, b), size-len(data)
	}
	return out, nil
}
