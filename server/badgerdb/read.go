package badgerdb

import (
	"context"
	"encoding/binary"
	"maps"

	"github.com/dgraph-io/badger/v4"

	"leafturn/model"
	"leafturn/sync/oplog"
)

// household is the log of one household.
type household struct {
	db *DB
	id model.HouseholdID
}

// Read gives batches of a device. What it gives runs without a gap from the
// operation after seq on, and reaches the head unless the page is full.
func (l *household) Read(ctx context.Context, d model.DeviceID, after uint64, maxBytes int) ([]*oplog.Batch, error) {
	var out []*oplog.Batch
	err := l.db.view(ctx, func(txn *badger.Txn) error {
		head, err := readHead(txn, l.id, d)
		if err != nil {
			return err
		}
		p := page{log: l, device: d, at: after, room: maxBytes}
		if err := p.fill(txn); err != nil {
			return err
		}
		if !p.full && p.at < head.Seq {
			return damaged("log of %s ends at %d, its head says %d", d, p.at, head.Seq)
		}
		if p.at > head.Seq && len(p.batches) > 0 {
			return damaged("log of %s goes on to %d, its head says %d", d, p.at, head.Seq)
		}
		out = p.batches
		return nil
	})
	return out, err
}

// page is a run of batches being read.
type page struct {
	log    *household
	device model.DeviceID

	at      uint64 // the last operation read so far
	room    int    // bytes left
	full    bool
	batches []*oplog.Batch
}

func (p *page) fill(txn *badger.Txn) error {
	opt := badger.DefaultIteratorOptions
	opt.Prefix = batchKey(p.log.id, p.device, 0)[:headKeyLen]
	opt.PrefetchValues = false // a page ends by bytes, so nobody knows how many
	it := txn.NewIterator(opt)
	defer it.Close()
	for it.Seek(batchKey(p.log.id, p.device, p.at+1)); it.Valid(); it.Next() {
		b, size, err := p.batch(it.Item())
		if err != nil {
			return err
		}
		if p.room -= size; p.room < 0 && len(p.batches) > 0 {
			p.full = true
			return nil
		}
		p.batches = append(p.batches, b)
		p.at = b.Last()
	}
	return nil
}

// batch reads one row and checks that it continues what was read before.
func (p *page) batch(item *badger.Item) (*oplog.Batch, int, error) {
	key := item.Key()
	raw, err := opened(item)
	if err != nil {
		return nil, 0, err
	}
	b, err := oplog.DecodeBatch(raw)
	if err != nil {
		return nil, 0, damaged("row %x is not a batch: %w", key, err)
	}
	last := binary.BigEndian.Uint64(key[headKeyLen:])
	if b.Device != p.device || b.Last() != last {
		return nil, 0, damaged("row %x holds operations %d to %d of %s", key, b.First, b.Last(), b.Device)
	}
	if b.First > p.at+1 {
		return nil, 0, damaged("log of %s has nothing between %d and %d", p.device, p.at, b.First)
	}
	return b, len(raw), nil
}

// Heads says how far each device's log goes. It reads both heads of each, and looks
// for batches whose heads are gone.
func (l *household) Heads(ctx context.Context) (map[model.DeviceID]oplog.Head, error) {
	var heads map[model.DeviceID]oplog.Head
	err := l.db.view(ctx, func(txn *badger.Txn) error {
		var err error
		if heads, err = l.heads(txn, rowHead); err != nil {
			return err
		}
		twins, err := l.heads(txn, rowTwin)
		if err != nil {
			return err
		}
		if !maps.Equal(heads, twins) {
			return damaged("the heads of household %s do not agree with their twins", l.id)
		}
		return l.eachLog(txn, func(d model.DeviceID) error {
			if _, ok := heads[d]; !ok {
				return damaged("the heads of %s are gone", d)
			}
			return nil
		})
	})
	return heads, err
}

func (l *household) heads(txn *badger.Txn, kind byte) (map[model.DeviceID]oplog.Head, error) {
	opt := badger.DefaultIteratorOptions
	opt.Prefix = headKey(kind, l.id, model.DeviceID{})[:1+16]
	it := txn.NewIterator(opt)
	defer it.Close()
	out := map[model.DeviceID]oplog.Head{}
	for it.Rewind(); it.Valid(); it.Next() {
		_, d, err := splitHeadKey(it.Item().Key())
		if err != nil {
			return nil, err
		}
		if out[d], err = headOf(it.Item()); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// eachLog calls f for each device of which there are batches, with one seek each.
func (l *household) eachLog(txn *badger.Txn, f func(model.DeviceID) error) error {
	it := keysOf(txn, batchKey(l.id, model.DeviceID{}, 0)[:1+16])
	defer it.Close()
	for it.Rewind(); it.Valid(); {
		key := it.Item().Key()
		if len(key) != batchKeyLen {
			return damaged("row %x is not a batch", key)
		}
		d := model.DeviceID(key[17:33])
		if err := f(d); err != nil {
			return err
		}
		// No log goes that far, see oplog.DecodeBatch, so this is past its end.
		it.Seek(batchKey(l.id, d, 1<<63))
	}
	return nil
}
