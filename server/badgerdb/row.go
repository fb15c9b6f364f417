package badgerdb

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"

	"github.com/dgraph-io/badger/v4"

	"leafturn/model"
	"leafturn/server/store"
	"leafturn/sync/oplog"
)

// Kinds of rows, the first byte of a key. They are on disk: do not reorder or reuse
// them.
const (
	rowBatch   = 'b'
	rowHead    = 'h'
	rowTwin    = 't' // of the head
	rowVersion = 'v'
	rowEpoch   = 'e'
	rowPhone   = 's'
	rowRota    = 'r'
	rowDue     = 'w'
	rowFeed    = 'f'
	rowSecret  = 'm' // of a member's feed
)

// formatVersion is the version of the rows. A newer one is refused.
//
// 1 (2026-11): first.
const formatVersion = 1

const (
	headKeyLen  = 1 + 16 + 16
	batchKeyLen = headKeyLen + 8
	headLen     = 8 + 32
	sumLen      = 4
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// sealed is a row's value: the content and a checksum (CRC-32C) over key and
// content, so that a value which ended up under another key is found as well.
func sealed(key, content []byte) []byte {
	out := make([]byte, 0, len(content)+sumLen)
	out = append(out, content...)
	return binary.BigEndian.AppendUint32(out, sum(key, content))
}

func sum(key, content []byte) uint32 {
	return crc32.Update(crc32.Checksum(key, castagnoli), castagnoli, content)
}

// opened is the content of a row, copied out of Badger's memory.
func opened(item *badger.Item) ([]byte, error) {
	v, err := item.ValueCopy(nil)
	if err != nil {
		return nil, damaged("row %x cannot be read: %w", item.Key(), err)
	}
	at := len(v) - sumLen
	if at < 0 || sum(item.Key(), v[:at]) != binary.BigEndian.Uint32(v[at:]) {
		return nil, damaged("row %x has a wrong checksum", item.Key())
	}
	return v[:at:at], nil
}

func damaged(format string, args ...any) error {
	return store.ErrDamaged.Because(fmt.Errorf(format, args...))
}

func headKey(kind byte, h model.HouseholdID, d model.DeviceID) []byte {
	k := append(make([]byte, 0, headKeyLen), kind)
	k = append(k, h[:]...)
	return append(k, d[:]...)
}

func splitHeadKey(k []byte) (model.HouseholdID, model.DeviceID, error) {
	if len(k) != headKeyLen {
		return model.HouseholdID{}, model.DeviceID{}, damaged("row %x is not a head", k)
	}
	return model.HouseholdID(k[1:17]), model.DeviceID(k[17:33]), nil
}

func batchKey(h model.HouseholdID, d model.DeviceID, last uint64) []byte {
	k := append(make([]byte, 0, batchKeyLen), rowBatch)
	k = append(k, h[:]...)
	k = append(k, d[:]...)
	return binary.BigEndian.AppendUint64(k, last)
}

func headBytes(head oplog.Head) []byte {
	b := binary.BigEndian.AppendUint64(make([]byte, 0, headLen), head.Seq)
	return append(b, head.Hash[:]...)
}

func headOf(item *badger.Item) (oplog.Head, error) {
	b, err := opened(item)
	if err != nil {
		return oplog.Head{}, err
	}
	if len(b) != headLen {
		return oplog.Head{}, damaged("row %x is not a head", item.Key())
	}
	return oplog.Head{Seq: binary.BigEndian.Uint64(b), Hash: oplog.Hash(b[8:])}, nil
}

// readHead reads both heads of a device's log; the zero head if there is none.
func readHead(txn *badger.Txn, h model.HouseholdID, d model.DeviceID) (oplog.Head, error) {
	var heads [2]oplog.Head
	for i, kind := range []byte{rowHead, rowTwin} {
		item, err := txn.Get(headKey(kind, h, d))
		if errors.Is(err, badger.ErrKeyNotFound) {
			continue
		}
		if err != nil {
			return oplog.Head{}, damaged("read head of %s: %w", d, err)
		}
		if heads[i], err = headOf(item); err != nil {
			return oplog.Head{}, err
		}
	}
	if heads[0] != heads[1] {
		return oplog.Head{}, damaged("the two heads of %s say %d and %d", d, heads[0].Seq, heads[1].Seq)
	}
	return heads[0], nil
}

// checkVersion reads which version wrote the store, and marks an empty store with
// ours.
func checkVersion(db *badger.DB) error {
	key := []byte{rowVersion}
	return db.Update(func(txn *badger.Txn) error {
		item, err := txn.Get(key)
		if errors.Is(err, badger.ErrKeyNotFound) {
			return mark(txn, key)
		}
		if err != nil {
			return damaged("read format version: %w", err)
		}
		v, err := opened(item)
		if err != nil {
			return err
		}
		if len(v) != 1 || v[0] != formatVersion {
			return store.ErrVersion.Because(fmt.Errorf("format version %x", v))
		}
		return nil
	})
}

// mark writes the version into a store that is empty. A store that holds rows but
// no version has lost it.
func mark(txn *badger.Txn, key []byte) error {
	it := keysOf(txn, nil)
	defer it.Close()
	if it.Rewind(); it.Valid() {
		return damaged("there are rows but no format version")
	}
	return txn.Set(key, sealed(key, []byte{formatVersion}))
}

// keysOf walks keys without fetching values.
func keysOf(txn *badger.Txn, prefix []byte) *badger.Iterator {
	opt := badger.DefaultIteratorOptions
	opt.Prefix, opt.PrefetchValues = prefix, false
	return txn.NewIterator(opt)
}
