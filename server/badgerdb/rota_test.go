package badgerdb_test

import (
	"context"
	"encoding/binary"
	"testing"

	"github.com/dgraph-io/badger/v4"
	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/server/badgerdb"
	"leafturn/server/store"
	"leafturn/server/store/storetest"
)

// waiting opens a store in which one household waits to be reminded at a moment.
func waiting(t *testing.T, at model.Instant) (*badgerdb.DB, model.HouseholdID) {
	t.Helper()
	db := fresh(t)
	h := storetest.Household("a")
	require.NoError(t, db.Subscribe(context.Background(), store.Phone{Household: h, Device: model.DeviceID{1}, Endpoint: "e"}, at))
	return db, h
}

func theRota(t *testing.T, db *badgerdb.DB) store.Rota {
	t.Helper()
	var all []store.Rota
	require.NoError(t, db.Rotas(context.Background(), func(r store.Rota) error { all = append(all, r); return nil }))
	require.Len(t, all, 1)
	return all[0]
}

// Badger can lose rows, or give back others. A household whose row is gone is not
// forgotten: it shows as one that sleeps, and whoever sees that wakes it.
func TestALostRowIsNoticed(t *testing.T) {
	ctx := context.Background()
	rota := func(h model.HouseholdID) []byte { return append([]byte{badgerdb.RowRota}, h[:]...) }
	due := func(h model.HouseholdID) []byte {
		return append(binary.BigEndian.AppendUint64([]byte{badgerdb.RowDue}, 1000), h[:]...)
	}
	for name, damage := range map[string]func(*badger.Txn, model.HouseholdID) error{
		"its rota":                  func(txn *badger.Txn, h model.HouseholdID) error { return txn.Delete(rota(h)) },
		"its place among those due": func(txn *badger.Txn, h model.HouseholdID) error { return txn.Delete(due(h)) },
		"what its rota says":        func(txn *badger.Txn, h model.HouseholdID) error { return txn.Set(rota(h), []byte("nonsense")) },
	} {
		t.Run(name, func(t *testing.T) {
			db, h := waiting(t, 1000)
			require.EqualValues(t, 1000, theRota(t, db).Next)
			require.NoError(t, db.Badger().Update(func(txn *badger.Txn) error { return damage(txn, h) }))
			r := theRota(t, db)
			require.Equal(t, h, r.Household)
			require.Zero(t, r.Next)

			require.NoError(t, db.Wake(ctx, h, 900))
			require.NotZero(t, theRota(t, db).Next)
			got, err := db.Claim(ctx, 1000, 3000, 5)
			require.NoError(t, err)
			require.Len(t, got, 1)
			require.NoError(t, db.Settle(ctx, got[0]))
		})
	}
}

// A rota that was damaged while it waits to be claimed is claimed all the same.
func TestADamagedRotaIsClaimed(t *testing.T) {
	ctx := context.Background()
	db, h := waiting(t, 1000)
	key := append([]byte{badgerdb.RowRota}, h[:]...)
	require.NoError(t, db.Badger().Update(func(txn *badger.Txn) error { return txn.Set(key, []byte("nonsense")) }))
	got, err := db.Claim(ctx, 1000, 2000, 1)
	require.NoError(t, err)
	require.Equal(t, []store.Rota{{Household: h, Next: 2000, Fence: 1}}, got)
}
