//go:build js && wasm

package browser

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"syscall/js"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/sync/oplog"
)

var keyRange = js.Global().Get("IDBKeyRange")

func batchKey(d model.DeviceID, last uint64) []any { return []any{d.String(), float64(last)} }

func encodeHead(h oplog.Head) js.Value {
	return jsBytes(append(binary.BigEndian.AppendUint64(nil, h.Seq), h.Hash[:]...))
}

// decodeHead reads a head; one that is not kept is that of an empty log.
func decodeHead(v js.Value) (oplog.Head, error) {
	if v.IsUndefined() {
		return oplog.Head{}, nil
	}
	b := goBytes(v)
	if len(b) != 8+len(oplog.Hash{}) {
		return oplog.Head{}, oplog.ErrDamaged
	}
	return oplog.Head{Seq: binary.BigEndian.Uint64(b), Hash: oplog.Hash(b[8:])}, nil
}

// Append keeps signed batches.
func (v *Vault) Append(ctx context.Context, bs []*oplog.Batch) error {
	return v.append(ctx, bs, []string{identities, heads, batches}, func(tx) {})
}

// Seal appends this phone's own batch and drops what it holds from the pending.
func (v *Vault) Seal(ctx context.Context, b *oplog.Batch) error {
	return v.append(ctx, []*oplog.Batch{b}, []string{identities, heads, batches, pendings}, func(t tx) {
		t.store(pendings).Call("delete", keyRange.Call("upperBound", float64(b.Last())))
	})
}

func (v *Vault) append(ctx context.Context, bs []*oplog.Batch, stores []string, more func(tx)) error {
	var devices []model.DeviceID
	at := map[model.DeviceID]oplog.Head{}
	for _, b := range bs {
		if _, ok := at[b.Device]; !ok {
			at[b.Device] = oplog.Head{}
			devices = append(devices, b.Device)
		}
	}
	ask := func(t tx) []js.Value {
		requests := []js.Value{getOwner(t)}
		for _, d := range devices {
			requests = append(requests, t.store(heads).Call("get", d.String()))
		}
		return requests
	}
	return v.update(ctx, stores, ask, func(t tx, got []js.Value) error {
		o, err := readOwner(got[0])
		if err != nil {
			return err
		}
		for i, d := range devices {
			if at[d], err = decodeHead(got[1+i]); err != nil {
				return err
			}
		}
		more(t)
		return appendTo(t, o.Household, at, bs)
	})
}

// appendTo writes batches that continue the logs whose heads are given.
func appendTo(t tx, h model.HouseholdID, at map[model.DeviceID]oplog.Head, bs []*oplog.Batch) error {
	moved := map[model.DeviceID]bool{}
	for _, b := range bs {
		next, fresh, err := oplog.Continue(h, at[b.Device], b)
		if err != nil {
			return err
		}
		if !fresh {
			continue
		}
		t.store(batches).Call("add", jsBytes(b.Encode()), batchKey(b.Device, next.Seq))
		at[b.Device], moved[b.Device] = next, true
	}
	for d := range moved {
		t.store(heads).Call("put", encodeHead(at[d]), d.String())
	}
	return nil
}

// PutSegment keeps a batch in place of those that it was made of.
func (v *Vault) PutSegment(ctx context.Context, s *oplog.Batch) error {
	ask := func(t tx) []js.Value {
		kept := t.store(batches)
		return []js.Value{getOwner(t), kept.Call("getKey", batchKey(s.Device, s.First-1)), kept.Call("get", batchKey(s.Device, s.Last()))}
	}
	return v.update(ctx, []string{identities, batches}, ask, func(t tx, got []js.Value) error {
		if _, err := readOwner(got[0]); err != nil {
			return err
		}
		if got[1].IsUndefined() || got[2].IsUndefined() {
			return oplog.ErrGap
		}
		last, err := oplog.DecodeBatch(goBytes(got[2]))
		if err != nil {
			return err
		}
		if err := oplog.SameEnd(last, s); err != nil {
			return err
		}
		t.store(batches).Call("delete", keyRange.Call("bound", batchKey(s.Device, s.First), batchKey(s.Device, s.Last())))
		t.store(batches).Call("put", jsBytes(s.Encode()), batchKey(s.Device, s.Last()))
		return nil
	})
}

// Read gives the batches of a device. The database has no limit by bytes, so how
// many batches to ask for is guessed from the sizes so far.
func (v *Vault) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	const most = 1000
	var out []*oplog.Batch
	size, ask := 0, 1
	for {
		page, err := v.readPage(ctx, d, after, ask)
		if err != nil {
			return nil, err
		}
		for _, data := range page {
			size += len(data)
			if len(out) > 0 && size > maxBytes {
				return out, nil
			}
			b, err := oplog.DecodeBatch(data)
			if err != nil {
				return nil, fmt.Errorf("read log of %s after %d: %w", d, after, err)
			}
			out, after = append(out, b), b.Last()
		}
		if len(page) < ask || size >= maxBytes {
			return out, nil
		}
		ask = min(most, 1+(maxBytes-size)*len(out)/size)
	}
}

func (v *Vault) readPage(ctx context.Context, d model.DeviceID, after uint64, count int) ([][]byte, error) {
	got, err := v.view(ctx, []string{identities, batches}, func(t tx) []js.Value {
		span := keyRange.Call("bound", batchKey(d, after+1), []any{d.String(), math.Inf(1)})
		return []js.Value{getOwner(t), t.store(batches).Call("getAll", span, count)}
	})
	if err != nil {
		return nil, err
	}
	if got[0].IsUndefined() {
		return nil, replica.ErrNobody
	}
	page := make([][]byte, got[1].Length())
	for i := range page {
		page[i] = goBytes(got[1].Index(i))
	}
	return page, nil
}

// Heads says how far each device's log goes.
func (v *Vault) Heads(ctx context.Context) (map[model.DeviceID]oplog.Head, error) {
	keys, values, err := v.all(ctx, heads)
	if err != nil {
		return nil, err
	}
	out := make(map[model.DeviceID]oplog.Head, keys.Length())
	for i := range keys.Length() {
		d, err := model.ParseID[model.Device](keys.Index(i).String())
		if err != nil {
			return nil, fmt.Errorf("read heads: %w", err)
		}
		if out[d], err = decodeHead(values.Index(i)); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// all gives everything in a store of a vault that is somebody's.
func (v *Vault) all(ctx context.Context, store string) (keys, values js.Value, err error) {
	got, err := v.view(ctx, []string{identities, store}, func(t tx) []js.Value {
		return []js.Value{getOwner(t), t.store(store).Call("getAllKeys"), t.store(store).Call("getAll")}
	})
	if err != nil {
		return keys, values, err
	}
	if got[0].IsUndefined() {
		return keys, values, replica.ErrNobody
	}
	return got[1], got[2], nil
}

// Pending gives the unsigned operations.
func (v *Vault) Pending(ctx context.Context) ([]replica.Pending, error) {
	keys, values, err := v.all(ctx, pendings)
	if err != nil {
		return nil, err
	}
	out := make([]replica.Pending, keys.Length())
	for i := range out {
		out[i] = replica.Pending{Seq: uint64(keys.Index(i).Float()), Op: goBytes(values.Index(i))}
	}
	return out, nil
}

// AddPending keeps unsigned operations.
func (v *Vault) AddPending(ctx context.Context, ops []replica.Pending) error {
	o, err := v.owner(ctx)
	if err != nil {
		return err
	}
	ask := func(t tx) []js.Value {
		return []js.Value{getOwner(t), t.store(heads).Call("get", o.device.String()), t.store(pendings).Call("openKeyCursor", js.Null(), "prev")}
	}
	return v.update(ctx, []string{identities, heads, pendings}, ask, func(t tx, got []js.Value) error {
		now, err := readOwner(got[0])
		if err != nil {
			return err
		}
		head, err := decodeHead(got[1])
		if err != nil {
			return err
		}
		next := head.Seq + 1
		if last := got[2]; last.Truthy() {
			next = uint64(last.Get("key").Float()) + 1
		}
		if now.device != o.device || !follow(ops, next) {
			return replica.ErrTwoWriters
		}
		addPending(t, ops)
		return nil
	})
}

// follow reports whether operations go on at next.
func follow(ops []replica.Pending, next uint64) bool {
	for i, op := range ops {
		if op.Seq != next+uint64(i) {
			return false
		}
	}
	return true
}

func addPending(t tx, ops []replica.Pending) {
	for _, op := range ops {
		t.store(pendings).Call("add", jsBytes(op.Op), float64(op.Seq))
	}
}
