package badgerdb_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/dgraph-io/badger/v4"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/badgerdb"
	"leafturn/server/store"
	"leafturn/server/store/storetest"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// bulky is a batch of about size bytes that do not shrink when packed.
func bulky(t testing.TB, p *logtest.Pen, size int) *oplog.Batch {
	t.Helper()
	return p.Photos(t, size/32)
}

// found is what a damaged store says: each way to ask, until one notices.
func found(db *badgerdb.DB, p *logtest.Pen) error {
	ctx := context.Background()
	log := db.Log(p.Household)
	if _, err := log.Heads(ctx); err != nil {
		return err
	}
	_, err := log.Read(ctx, p.Device(), 0, oplog.MaxBatchBytes)
	return err
}

// change alters rows below the store's feet.
func change(t *testing.T, db *badgerdb.DB, f func(txn *badger.Txn) error) {
	t.Helper()
	require.NoError(t, db.Badger().Update(f))
}

// rows gives the keys of a kind.
func rows(t *testing.T, db *badgerdb.DB, kind byte) [][]byte {
	t.Helper()
	var keys [][]byte
	require.NoError(t, db.Badger().View(func(txn *badger.Txn) error {
		opt := badger.DefaultIteratorOptions
		opt.Prefix = []byte{kind}
		it := txn.NewIterator(opt)
		defer it.Close()
		for it.Rewind(); it.Valid(); it.Next() {
			keys = append(keys, it.Item().KeyCopy(nil))
		}
		return nil
	}))
	return keys
}

func value(txn *badger.Txn, key []byte) ([]byte, error) {
	item, err := txn.Get(key)
	if err != nil {
		return nil, err
	}
	return item.ValueCopy(nil)
}

// damagedStore holds one log of five batches, intact so far.
func damagedStore(t *testing.T) (*badgerdb.DB, *logtest.Pen) {
	db := fresh(t)
	p := logtest.NewPen(storetest.Household("a"), 1)
	for range 5 {
		require.NoError(t, db.Log(p.Household).Append(context.Background(), []*oplog.Batch{p.Batch(t, 2)}))
	}
	require.NoError(t, found(db, p))
	return db, p
}

func TestEveryFlippedBitOfARowIsFound(t *testing.T) {
	db, p := damagedStore(t)
	rnd := rand.New(rand.NewPCG(20260314, 1))
	for _, kind := range []byte{badgerdb.RowBatch, badgerdb.RowHead, badgerdb.RowTwin} {
		for _, key := range rows(t, db, kind) {
			for range 20 {
				var good []byte
				change(t, db, func(txn *badger.Txn) error {
					var err error
					if good, err = value(txn, key); err != nil {
						return err
					}
					bad := append([]byte{}, good...)
					bit := rnd.IntN(8 * len(bad))
					bad[bit/8] ^= 1 << (bit % 8)
					return txn.Set(key, bad)
				})
				require.ErrorIs(t, found(db, p), store.ErrDamaged, "row %q", kind)
				change(t, db, func(txn *badger.Txn) error { return txn.Set(key, good) })
				require.NoError(t, found(db, p))
			}
		}
	}
}

func TestRowsThatAreGoneOrOldAreFound(t *testing.T) {
	type keys struct{ batches, head, twin [][]byte }
	remove := func(key []byte) func(*badger.Txn) error {
		return func(txn *badger.Txn) error { return txn.Delete(key) }
	}
	cases := map[string]func(keys) func(*badger.Txn) error{
		"first batch":  func(k keys) func(*badger.Txn) error { return remove(k.batches[0]) },
		"middle batch": func(k keys) func(*badger.Txn) error { return remove(k.batches[2]) },
		"last batch":   func(k keys) func(*badger.Txn) error { return remove(k.batches[4]) },
		"head":         func(k keys) func(*badger.Txn) error { return remove(k.head[0]) },
		"twin":         func(k keys) func(*badger.Txn) error { return remove(k.twin[0]) },
		"empty values": func(k keys) func(*badger.Txn) error {
			return func(txn *badger.Txn) error { return txn.Set(k.batches[1], nil) }
		},
		"batches moved": func(k keys) func(*badger.Txn) error { return swap(k.batches[1], k.batches[2]) },
		"both heads": func(k keys) func(*badger.Txn) error {
			return func(txn *badger.Txn) error {
				if err := txn.Delete(k.head[0]); err != nil {
					return err
				}
				return txn.Delete(k.twin[0])
			}
		},
	}
	for name, harm := range cases {
		t.Run(name, func(t *testing.T) {
			db, p := damagedStore(t)
			change(t, db, harm(keys{rows(t, db, badgerdb.RowBatch), rows(t, db, badgerdb.RowHead), rows(t, db, badgerdb.RowTwin)}))
			require.ErrorIs(t, found(db, p), store.ErrDamaged)
		})
	}
}

func swap(a, b []byte) func(*badger.Txn) error {
	return func(txn *badger.Txn) error {
		x, err := value(txn, a)
		if err != nil {
			return err
		}
		y, err := value(txn, b)
		if err != nil {
			return err
		}
		if err := txn.Set(a, y); err != nil {
			return err
		}
		return txn.Set(b, x)
	}
}

// An older value of a head is intact by itself; its twin gives it away. Nothing may
// be appended to such a log either.
func TestAnOldHeadIsFound(t *testing.T) {
	ctx := context.Background()
	for _, kind := range []byte{badgerdb.RowHead, badgerdb.RowTwin} {
		t.Run(fmt.Sprintf("%c", kind), func(t *testing.T) {
			dir := t.TempDir()
			db := open(t, dir, &gate{})
			p := logtest.NewPen(storetest.Household("a"), 1)
			require.NoError(t, db.Log(p.Household).Append(ctx, []*oplog.Batch{p.Batch(t, 1)}))
			key := rows(t, db, kind)[0]
			var old []byte
			change(t, db, func(txn *badger.Txn) (err error) { old, err = value(txn, key); return err })
			require.NoError(t, db.Log(p.Household).Append(ctx, []*oplog.Batch{p.Batch(t, 1)}))
			change(t, db, func(txn *badger.Txn) error { return txn.Set(key, old) })
			require.ErrorIs(t, found(db, p), store.ErrDamaged)

			require.NoError(t, db.Close())
			db = open(t, dir, &gate{})
			t.Cleanup(func() { require.NoError(t, db.Close()) })
			require.ErrorIs(t, found(db, p), store.ErrDamaged)
			require.ErrorIs(t, db.Log(p.Household).Append(ctx, []*oplog.Batch{p.Batch(t, 1)}), store.ErrDamaged)
		})
	}
}

// Damage to one household's log does not keep the others from theirs.
func TestDamageStaysInItsHousehold(t *testing.T) {
	ctx := context.Background()
	db, p := damagedStore(t)
	other := logtest.NewPen(storetest.Household("b"), 2)
	require.NoError(t, db.Log(other.Household).Append(ctx, []*oplog.Batch{other.Batch(t, 1)}))
	change(t, db, func(txn *badger.Txn) error {
		for _, key := range rows(t, db, badgerdb.RowBatch) {
			if model.HouseholdID(key[1:17]) == p.Household {
				return txn.Delete(key)
			}
		}
		return nil
	})
	require.ErrorIs(t, found(db, p), store.ErrDamaged)
	require.NoError(t, found(db, other))
	require.NoError(t, db.Log(other.Household).Append(ctx, []*oplog.Batch{other.Batch(t, 1)}))
}

func TestANewerFormatIsRefused(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir, &gate{})
	change(t, db, func(txn *badger.Txn) error {
		return txn.Set([]byte("v"), badgerdb.Sealed([]byte("v"), []byte{99}))
	})
	require.NoError(t, db.Close())
	_, err := badgerdb.Open(dir, badgerdb.Config{Gate: &gate{}, Log: quietLog})
	require.ErrorIs(t, err, store.ErrVersion)
}

func TestALostFormatVersionIsFound(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir, &gate{})
	p := logtest.NewPen(storetest.Household("a"), 1)
	require.NoError(t, db.Log(p.Household).Append(context.Background(), []*oplog.Batch{p.Batch(t, 1)}))
	change(t, db, func(txn *badger.Txn) error { return txn.Delete([]byte("v")) })
	require.NoError(t, db.Close())
	_, err := badgerdb.Open(dir, badgerdb.Config{Gate: &gate{}, Log: quietLog})
	require.ErrorIs(t, err, store.ErrDamaged)
}
