package badgerdb

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"fmt"

	"github.com/dgraph-io/badger/v4"

	"leafturn/sync/wire"
)

// epochLen is how long the row of the epoch is: store and age.
const epochLen = 4 + 4

// Epoch names what the store remembers.
func (d *DB) Epoch() wire.Epoch { return *d.epoch.Load() }

// Renew gives the store another age.
func (d *DB) Renew(ctx context.Context) error {
	e := d.Epoch()
	e.Age = randomOther(e.Age)
	err := d.write(ctx, func(*group) ([]row, func(), error) { return []row{epochRow(e)}, nil, nil })
	if err == nil {
		d.epoch.Store(&e)
	}
	return err
}

// openEpoch reads the store's epoch. A store that has none, because it is new or was
// made before stores had one, gets one; so does one whose row is damaged, because the
// worst that another epoch does is that phones ask again what they were told.
func openEpoch(db *badger.DB) (wire.Epoch, error) {
	var e wire.Epoch
	err := db.Update(func(txn *badger.Txn) error {
		if item, err := txn.Get([]byte{rowEpoch}); err == nil {
			if v, err := opened(item); err == nil && len(v) == epochLen {
				e = wire.Epoch{Store: binary.BigEndian.Uint32(v), Age: binary.BigEndian.Uint32(v[4:])}
				return nil
			}
		}
		e = wire.Epoch{Store: randomOther(0), Age: randomOther(0)}
		return epochRow(e).put(txn)
	})
	if err != nil {
		return e, fmt.Errorf("open epoch: %w", err)
	}
	return e, nil
}

func epochRow(e wire.Epoch) row {
	key := []byte{rowEpoch}
	v := binary.BigEndian.AppendUint32(make([]byte, 0, epochLen), e.Store)
	return row{key, sealed(key, binary.BigEndian.AppendUint32(v, e.Age))}
}

// randomOther is a random number, but not this one.
func randomOther(than uint32) uint32 {
	var b [4]byte
	for {
		_, _ = rand.Read(b[:]) // it never fails
		if n := binary.BigEndian.Uint32(b[:]); n != than {
			return n
		}
	}
}
