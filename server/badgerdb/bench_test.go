package badgerdb_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"sync/atomic"
	"testing"

	"github.com/dgraph-io/badger/v4"

	"leafturn/model"
	"leafturn/server/badgerdb"
	"leafturn/server/store"
	"leafturn/server/store/storetest"
	"leafturn/sync/logtest"
	"leafturn/sync/oplog"
)

// BenchmarkAppend compares acknowledged batches of one record each, by how many
// phones write at once: through the committer; through a bare loop that gathers
// writes as well but checks nothing, which is as fast as this disk can be; and with
// one transaction for each. All three write the same rows.
func BenchmarkAppend(b *testing.B) {
	for _, writers := range []int{1, 16, 64} {
		b.Run(fmt.Sprintf("committer/writers=%d", writers), func(b *testing.B) {
			db := fresh(b)
			run(b, writers, func(p *logtest.Pen, batch *oplog.Batch) error {
				return db.Log(p.Household).Append(context.Background(), []*oplog.Batch{batch})
			})
		})
		b.Run(fmt.Sprintf("loop/writers=%d", writers), func(b *testing.B) {
			l := bareLoop{fresh(b).Badger(), make(chan bareWrite, badgerdb.QueueLength)}
			go l.run()
			defer close(l.queue)
			run(b, writers, func(p *logtest.Pen, batch *oplog.Batch) error {
				w := bareWrite{p, batch, make(chan error, 1)}
				l.queue <- w
				return <-w.done
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

type bareWrite struct {
	pen   *logtest.Pen
	batch *oplog.Batch
	done  chan error
}

// bareLoop gathers writes into transactions and does nothing else.
type bareLoop struct {
	db    *badger.DB
	queue chan bareWrite
}

func (l bareLoop) run() {
	for first := range l.queue {
		group := []bareWrite{first}
		for more := true; more && len(group) < 256; {
			select {
			case w, open := <-l.queue:
				if more = open; open {
					group = append(group, w)
				}
			default:
				more = false
			}
		}
		err := l.db.Update(func(txn *badger.Txn) error {
			for _, w := range group {
				if err := plainAppend(txn, w.pen, w.batch); err != nil {
					return err
				}
			}
			return nil
		})
		for _, w := range group {
			w.done <- err
		}
	}
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

// BenchmarkClaim claims and settles households that are all due at the same moment.
// What one costs must not depend on how many there are.
func BenchmarkClaim(b *testing.B) {
	for _, households := range []int{1_000, 8_000} {
		b.Run(fmt.Sprintf("households=%d", households), func(b *testing.B) {
			db := fresh(b)
			beside(b, 64, func(worker int) error { return subscribe(db, worker, 64, households) })
			at, rounds := model.Instant(0), 0
			for b.Loop() {
				at, rounds = at+1000, rounds+1
				beside(b, 16, func(int) error { return claimAll(db, at) })
			}
			b.ReportMetric(float64(households*rounds)/b.Elapsed().Seconds(), "claims/s")
		})
	}
}

// beside lets some workers do the same, and waits for them.
func beside(b *testing.B, workers int, do func(worker int) error) {
	b.Helper()
	errs := make(chan error, workers)
	for w := range workers {
		go func() { errs <- do(w) }()
	}
	for range workers {
		if err := <-errs; err != nil {
			b.Fatal(err)
		}
	}
}

// subscribe lets a worker's share of the households be due at the moment 1000.
func subscribe(db *badgerdb.DB, worker, workers, households int) error {
	for i := worker; i < households; i += workers {
		h := model.HouseholdID(binary.BigEndian.AppendUint64(make([]byte, 8, 16), uint64(i)))
		if err := db.Subscribe(context.Background(), store.Phone{Household: h, Device: model.DeviceID{1}, Endpoint: "e"}, 1000); err != nil {
			return err
		}
	}
	return nil
}

// claimAll claims what is due at a moment, and lets it be due a second later.
func claimAll(db *badgerdb.DB, at model.Instant) error {
	for {
		got, err := db.Claim(context.Background(), at, at+500, 4)
		if err != nil || len(got) == 0 {
			return err
		}
		for _, r := range got {
			r.Next = at + 1000
			if err := db.Settle(context.Background(), r); err != nil {
				return err
			}
		}
	}
}
