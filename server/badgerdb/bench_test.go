package badgerdb_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"sync/atomic"
	"testing"

	"github.com/dgraph-io/badger/v4"

	"leafturn/server/store/storetest"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// BenchmarkAppend compares acknowledged batches of one record each, by how many
// phones write at once: through the committer, and with one transaction for each
// as the floor. Both write the same rows.
func BenchmarkAppend(b *testing.B) {
	for _, writers := range []int{1, 16, 64} {
		b.Run(fmt.Sprintf("committer/writers=%d", writers), func(b *testing.B) {
			db := fresh(b)
			run(b, writers, func(p *logtest.Pen, batch *oplog.Batch) error {
				return db.Log(p.Household).Append(context.Background(), []*oplog.Batch{batch})
			})
		})
		b.Run(fmt.Sprintf("transactions/writers=%d", writers), func(b *testing.B) {
			db := fresh(b).Badger()
			run(b, writers, func(p *logtest.Pen, batch *oplog.Batch) error {
				return db.Update(func(txn *badger.Txn) error { return plainAppend(txn, p, batch) })
			})
		})
	}
}

func plainAppend(txn *badger.Txn, p *logtest.Pen, b *oplog.Batch) error {
	id := append(append([]byte{}, p.Household[:]...), b.Device[:]...)
	key := binary.BigEndian.AppendUint64(append([]byte("b"), id...), b.Last())
	if err := txn.Set(key, b.Encode()); err != nil {
		return err
	}
	for _, kind := range []string{"h", "t"} {
		if err := txn.Set(append([]byte(kind), id...), make([]byte, 44)); err != nil {
			return err
		}
	}
	return nil
}

// run spreads b.N appends over writers, each with its own household.
func run(b *testing.B, writers int, write func(*logtest.Pen, *oplog.Batch) error) {
	each := b.N/writers + 1
	pens, batches := make([]*logtest.Pen, writers), make([][]*oplog.Batch, writers)
	for w := range writers {
		pens[w] = logtest.NewPen(storetest.Household(fmt.Sprint(w)), byte(w+1))
		for range each {
			batches[w] = append(batches[w], pens[w].Batch(b, 1))
		}
	}
	var failed atomic.Pointer[error]
	done := make(chan struct{})
	b.ResetTimer()
	for w := range writers {
		go func() {
			for _, batch := range batches[w] {
				if err := write(pens[w], batch); err != nil {
					failed.Store(&err)
				}
			}
			done <- struct{}{}
		}()
	}
	for range writers {
		<-done
	}
	b.StopTimer()
	if err := failed.Load(); err != nil {
		b.Fatal(*err)
	}
	b.ReportMetric(float64(writers*each)/b.Elapsed().Seconds(), "acks/s")
}
